"""pacewright read: a log is written only where nothing is in doubt, and what is in doubt is listed."""

from __future__ import annotations

import pytest

from pacewright.files.log_csv import read_log
from pacewright.reading.page_read import ReadNumber, ReadPage
from support.command import run
from support.stated_pages import number, photographed, row


@pytest.fixture
def photos(monkeypatch, tmp_path):
    """Photographs by name, each read as the page that is stated for it."""

    def made(**pages):
        return photographed(monkeypatch, tmp_path, pages)

    return made


def test_a_log_is_written_where_every_digit_is_sure(photos, tmp_path):
    out = tmp_path / "log.csv"
    rows = (
        row(1, "305", "240"),
        row(2, "38", "185", ticks=("at",), note=True),
        row(3, "346", "", ticks=("see",)),
        row(4, "52", "330", ticks=("box right", "est")),
    )
    said = run("read", *photos(one=ReadPage(1, rows)), "--out", out, "--start-name", "Gate")
    assert said.code == 0 and said.out.splitlines()[0] == "4 rows read, every digit sure."
    assert b"\n\n" not in out.read_bytes()
    log = read_log(out.read_bytes())
    assert [one.cells.azimuth for one in log.rows] == ["305", "38", "346", "52"]
    assert [one.cells.notes for one in log.rows] == [
        "",
        "[at row 2]; note on the page, not read",
        "[see row 3]",
        "[est]; boxed right, paces not read",
    ]
    assert log.heading.start == "Gate"
    assert "Notes are not read; type them for row 2." in said.out
    assert "Names are not read: write those of rows 2 and 3" in said.out


def test_a_doubtful_digit_keeps_the_log_from_being_written_until_unsure_is_said(photos, tmp_path):
    out = tmp_path / "log.csv"
    page = ReadPage(1, (row(1, "305", "240"), row(2, "38", number("183", sure=0.7))))
    (photo,) = photos(one=page)
    said = run("read", photo, "--out", out)
    assert said.code == 1 and not out.exists()
    assert said.out.splitlines()[0] == "1 of 2 rows must be looked at."
    assert "count 183, or 188 (30 %)" in said.out
    said = run("read", photo, "--out", out, "--unsure")
    assert said.code == 1
    first, second = read_log(out.read_bytes()).rows
    assert first.cells.notes == "" and second.cells.notes == "[or 188 count 30%]; to be checked: count 183"


def test_what_a_sure_digit_may_be_all_the_same_goes_into_the_log_with_its_chance(photos, tmp_path):
    out = tmp_path / "log.csv"
    page = ReadPage(
        1,
        (
            row(1, number("303", sure=0.95), number("183", sure=0.98)),
            row(2, number("353", sure=0.95), "20"),
            row(3, number("13", sure=0.95), "", ticks=("see",)),
        ),
    )
    assert run("read", *photos(one=page), "--out", out).code == 0
    notes = [one.cells.notes for one in read_log(out.read_bytes()).rows]
    assert notes == ["[or 308 5%] [or 188 count 2%]", "[or 358 5%]", "[see row 3]; [or 18 5%]"]


def test_what_no_log_could_hold_is_no_other_number(photos, tmp_path):
    out = tmp_path / "log.csv"
    page = ReadPage(1, (row(1, number("360", sure=0.95), "20"), row(2, "36", number("18", sure=0.999))))
    assert run("read", *photos(one=page), "--out", out).code == 0
    assert [one.cells.notes for one in read_log(out.read_bytes()).rows] == ["", ""]


def test_check_says_what_a_digit_was_read_as_and_what_the_log_closes_with(photos, tmp_path):
    out = tmp_path / "log.csv"
    third = ReadNumber("803", ((0.0,) * 3 + (0.06,) + (0.0,) * 4 + (0.93, 0.0), *number("03").chances))
    page = ReadPage(1, (row(1, "0", "300"), row(2, "90", "303"), row(3, "180", third), row(4, "270", "300")))
    run("read", *photos(one=page), "--out", out, "--start-name", "Gate")
    closed = out.read_text().replace("270,300,", "270,300,[at Gate]")
    out.write_text(closed)
    said = run("check", out)
    assert said.code == 1
    assert "Leg 3 (line 8: 180,803): count read as 803, closes with 303" in said.out
    assert "Look at the page." in said.out
    assert "On the page, leg 3 is row 3 of " in said.out and "one.jpg." in said.out


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (row(1, "375", "20"), "375"),
        (row(1, "", "20"), "there is a count and no azimuth"),
        (row(1, "20", ""), "there is an azimuth and no count"),
        (row(1, "20", "30", ticks=("see",)), "a bearing has no count"),
        (row(1, number("20", doubt="joined"), "30"), "struck out, or digits run together"),
        (row(1, "20", number("30", doubt="gap")), "a box between its digits is blank"),
        (row(1, "20", "30", tick_doubt=True), "a box may be ticked or not"),
    ],
)
def test_a_row_that_no_log_may_hold_or_a_person_must_see_is_listed_and_nothing_of_it_is_lost(
    one, said, photos, tmp_path
):
    out = tmp_path / "log.csv"
    told = run("read", *photos(one=ReadPage(1, (one, row(2, "10", "20")))), "--out", out, "--unsure")
    assert told.code == 1 and said in told.out
    kept, _ = read_log(out.read_bytes()).rows
    assert "to be checked" in kept.cells.notes
    for text in (one.azimuth.text, one.count.text):
        assert text in " ".join((kept.cells.azimuth, kept.cells.count, kept.cells.notes))


def test_pages_are_put_in_order_by_their_own_numbers(photos):
    first, second = ReadPage(1, (row(1, "10", "20"),)), ReadPage(2, (row(24, "30", "40"),))
    said = run("read", *photos(late=second, early=first), "--json").json
    assert [one["row"] for one in said["rows"]] == [1, 24]
    same = run("read", *photos(b=first, a=first))
    assert "they are taken in the order given" in same.out


def test_what_is_no_photograph_is_said_in_one_sentence_each(tmp_path):
    (tmp_path / "log.csv").write_text("azimuth,count,notes\n1,2,\n", encoding="utf-8")
    (tmp_path / "scan.pdf").write_bytes(b"%PDF-1.7\n")
    said = run("read", tmp_path / "log.csv", tmp_path / "scan.pdf", tmp_path / "none.jpg")
    assert said.code == 2 and said.out == ""
    assert len(said.err.splitlines()) == 3
    assert "this is not a photograph" in said.err and "this PDF is cut off or damaged" in said.err


def test_a_photograph_that_cannot_be_read_keeps_no_other_from_being_read(photos, tmp_path):
    out, bad = tmp_path / "log.csv", tmp_path / "b.jpg"
    bad.write_bytes(b"no picture")
    (good,) = photos(a=ReadPage(1, (row(1, "305", "240"),)))
    said = run("read", bad, good, "--json")
    assert said.code == 2 and len(said.err.splitlines()) == 1 and "b.jpg" in said.err
    assert [one["azimuth"] for one in said.json["rows"]] == ["305"] and said.json["not_read"] == [str(bad)]
    said = run("read", good, bad, "--out", out)
    assert said.code == 2 and not out.exists()
    assert "no log is written that lacks rows" in " ".join(said.out.split())
    said = run("read", good, bad, "--out", out, "--unsure")
    assert said.code == 2 and "the log lacks those rows" in " ".join(said.out.split())
    assert len(read_log(out.read_bytes()).rows) == 1


def test_unsure_goes_with_out(photos):
    assert "--unsure goes with --out or --cards" in run("read", *photos(one=ReadPage(1, ())), "--unsure").err


def test_a_frame_is_given_whole_and_is_complained_of_in_one_sentence(tmp_path):
    photo = tmp_path / "page.png"
    photo.write_bytes(b"no picture")
    corners = ("--corners", "1,1", "9,1", "9,9", "1,9")
    for given, said in (
        (("--columns", "0.3,0.5"), "--columns and --rows go with --corners."),
        (corners, "--corners goes with --columns."),
        ((*corners, "--columns", "0.3"), "--columns: 0.3 is no pair of numbers such as 0.3,0.55."),
        ((*corners, "--columns", "0.3,0.5"), "this is not a photograph"),
    ):
        told = run("read", photo, *given)
        assert told.code == 2 and said in told.err
