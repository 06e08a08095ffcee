"""Books: logs looked through, copied, thrown away, brought in and handed out as the commands write them."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from pacewright.desk.books import importing
from pacewright.desk.models import KeptLog, Member
from pacewright.desk.notebook import keeping
from pacewright.desk.notebook.beginning import example_log
from pacewright.desk.notebook.keeping import keep_change
from pacewright.files.bundled import DEMO_LOG, DEMO_WALKER, bundled
from support.command import run

PLAIN = b"# title: Plain\n# start: Gate\nazimuth,count,notes\n305,240,\n38,185,[at Split oak] dry\n"
SEMICOLON = (
    b"\xef\xbb\xbf# title: From a spreadsheet;;\r\n# start: Gate;;\r\nazimuth;count;notes\r\n305;240;\r\n"
    b'38;185;"[at Split oak]; dry"\r\n'
)
TABS = b"# title: Tabs\nazimuth\tcount\tnotes\n305\t240\t\n\n# the pond was dry\n38\t185\tdry\n"
MOMENT = re.compile(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z")
"""When a GeoPackage was written (OGC 12-128r19, `last_change`): the one thing that is not of the log."""
STRUCK = b"# title: Struck\nazimuth,count,notes\n305,240,\n# struck 52 | 330 | pond%3A dry\n38,185,\n"


def handed(client: Client, *files: tuple[str, bytes]) -> tuple[int, str]:
    sent = [SimpleUploadedFile(name, data) for name, data in files]
    found = client.post("/books/import", {"files": sent}, follow=True)
    return found.status_code, found.content.decode()


def csv_of(client: Client, log: KeptLog) -> bytes:
    return client.get(f"/logs/{log.pk}/files/log").content


@pytest.mark.parametrize("data", [PLAIN, SEMICOLON, TABS, STRUCK, bundled(DEMO_LOG)])
def test_an_imported_log_is_handed_out_to_the_letter(owner: Client, data: bytes) -> None:
    assert handed(owner, ("walk.csv", data))[0] == 200
    assert csv_of(owner, KeptLog.objects.get()) == data


@pytest.mark.parametrize("data", [PLAIN, SEMICOLON, STRUCK])
def test_a_change_taken_back_gives_the_letter_again(owner: Client, data: bytes) -> None:
    handed(owner, ("walk.csv", data))
    log = KeptLog.objects.get()
    keep_change(log.pk, "change-one", {"kind": "strike", "id": "r0", "struck": True})
    assert csv_of(owner, log) != data
    keep_change(log.pk, "change-two", {"kind": "strike", "id": "r0", "struck": False})
    assert csv_of(owner, log) == data


@pytest.mark.parametrize("data", [PLAIN, SEMICOLON, STRUCK, bundled(DEMO_LOG)])
def test_a_changed_log_comes_back_with_its_struck_rows(owner: Client, tmp_path: Path, data: bytes) -> None:
    handed(owner, ("walk.csv", data))
    log = KeptLog.objects.get()
    keep_change(log.pk, "change-one", {"kind": "strike", "id": "r1", "struck": True})
    keep_change(
        log.pk, "change-two", {"kind": "put", "id": "x", "azimuth": "97", "count": "70", "notes": "a; b, c"}
    )
    out = csv_of(owner, log)
    assert out.startswith(b"\xef\xbb\xbf") == data.startswith(b"\xef\xbb\xbf")
    handed(owner, ("again.csv", out))
    again = KeptLog.objects.exclude(pk=log.pk).get()
    log.refresh_from_db()
    bare = [{**row, "id": ""} for row in log.rows]
    assert [{**row, "id": ""} for row in again.rows] == bare
    assert again.heading == log.heading and any(row["struck"] for row in again.rows)
    (tmp_path / "out.csv").write_bytes(out)
    assert run("reckon", tmp_path / "out.csv", "--json").code == 0


def test_a_bad_file_is_told_of_and_the_good_ones_are_kept(owner: Client) -> None:
    status, page = handed(
        owner, ("good.csv", PLAIN), ("bad.csv", b"a table,of its own\n"), ("none.csv", b"\xff\xfe\x00")
    )
    assert status == 422
    assert "bad.csv: line 1: a table,of its own is not the line that names the columns" in page
    assert "none.csv: this file is UTF-16 text" in page
    assert [log.title for log in KeptLog.objects.all()] == ["Plain"]


WRONG = PLAIN.replace(b"Plain", b"Wrong") + b"361,10,dry\n30,5,240\n38\n52,330,[bux]\n"


def test_a_file_with_wrong_cells_is_kept_and_its_page_marks_them(owner: Client) -> None:
    status, page = handed(owner, ("wrong.csv", WRONG))
    assert status == 200
    assert "is kept with cells that are not understood" in page
    assert "wrong.csv: line 6, column azimuth: 361 is not an azimuth in degrees" in page
    log = KeptLog.objects.get()
    rows = [(row["azimuth"], row["count"], row["notes"]) for row in log.rows]
    # What may be 30.5 and 240, or 30 and 5, is not guessed at: the whole line stands where it is no azimuth.
    assert rows[2:] == [("361", "10", "dry"), ("30,5,240", "", ""), ("38", "", ""), ("52", "330", "[bux]")]
    shown = owner.get(f"/logs/{log.pk}").content.decode()
    assert shown.count('aria-invalid="true"') == 4
    assert "Answered for the rows before row 3" in shown


def test_a_file_name_is_shown_and_opens_nothing(owner: Client) -> None:
    _, page = handed(owner, ("../../etc/<b>passwd", b"x"), ("x" * 500, b"x"))
    assert "<b>" not in page.replace("<body", "") and "../" not in page
    assert not KeptLog.objects.exists()


def test_a_file_larger_than_two_megabytes_is_refused(owner: Client) -> None:
    status, page = handed(owner, ("big.csv", PLAIN + b"305,240,\n" * 230_000))
    assert status == 422 and "big.csv: this file is larger than 2 MB" in page


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (PLAIN + b"305,240,\n" * 5_000, "a page holds at most 5000 rows"),
        (PLAIN + b"305,240," + b"x" * 2_001 + b"\n", "a cell of row 3 holds more than 2000 characters"),
    ],
)
def test_what_could_not_be_typed_is_not_imported(owner: Client, data: bytes, says: str) -> None:
    assert says in handed(owner, ("big.csv", data))[1]
    assert not KeptLog.objects.exists()


def test_more_files_than_fifty_are_told_of(owner: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importing, "MOST_FILES", 2)
    _, page = handed(owner, *[(f"{at}.csv", PLAIN) for at in range(3)])
    assert "2.csv: more than 2 files at once" in page and KeptLog.objects.count() == 2


def test_a_pasted_log_is_kept_and_a_wrong_one_stays_in_its_field(owner: Client) -> None:
    text = PLAIN.decode().replace("\n", "\r\n")
    assert owner.post("/books/paste", {"text": text}).status_code == 302
    assert csv_of(owner, KeptLog.objects.get()) == PLAIN
    wrong = owner.post("/books/paste", {"text": "# title: <i>\nan,other,table\n305,x,\n"})
    page = wrong.content.decode()
    assert wrong.status_code == 422 and "is not the line that names the columns" in page
    assert "# title: &lt;i&gt;" in page and KeptLog.objects.count() == 1
    cells = owner.post("/books/paste", {"text": WRONG.decode()}, follow=True).content.decode()
    assert "Kept, with cells that are not understood" in cells and KeptLog.objects.count() == 2


def test_an_imported_log_takes_the_one_walker_of_its_name(owner: Client, owner_member: Member) -> None:
    walker = example_log(owner_member).walker
    data = b"# walker: Ines Rowe\nazimuth,count,notes\n305,240,\n"
    handed(owner, ("walk.csv", data))
    assert KeptLog.objects.latest("made_at").walker == walker


@pytest.mark.parametrize("placed", [False, True])
@pytest.mark.parametrize("kind", ["stations", "geojson", "gpx", "gpkg", "svg", "png", "pdf"])
def test_a_file_is_the_one_that_the_command_writes(
    owner: Client, owner_member: Member, tmp_path: Path, kind: str, placed: bool
) -> None:
    log = example_log(owner_member)
    if not placed:
        KeptLog.objects.filter(pk=log.pk).update(start_place="")
    (tmp_path / "walk.csv").write_bytes(bundled(DEMO_LOG))
    (tmp_path / "ines.toml").write_bytes(bundled(DEMO_WALKER))
    start = ["--start", log.start_place, "--start-sd-m", "10"] if placed else []
    files = [tmp_path / "walk.csv", "--walker", tmp_path / "ines.toml"]
    if kind in ("svg", "png", "pdf"):
        out = tmp_path / f"out.{kind}"
        said = run("draw", *files, "--out", out)
    else:
        out = tmp_path / "out.file"
        said = run("export", *files, *start, "--as", "csv" if kind == "stations" else kind, "--out", out)
    found = owner.get(f"/logs/{log.pk}/files/{kind}")
    if said.code:
        assert found.status_code == 422 and not placed and kind in ("gpx", "gpkg")
        assert "No station of the log is at a known place" in found.content.decode()
    else:
        assert MOMENT.sub(b"", found.content) == MOMENT.sub(b"", out.read_bytes())


def test_a_page_with_a_wrong_row_is_handed_out_as_the_log_alone(
    owner: Client, owner_member: Member, make_log: Callable[..., KeptLog]
) -> None:
    log = make_log(owner_member, [("1", "2"), ("305", "240"), ("400", "3")])
    keep_change(log.pk, "change-one", {"kind": "strike", "id": "r0", "struck": True})
    assert b"400,3," in csv_of(owner, log)
    page = owner.get(f"/logs/{log.pk}/files/stations").content.decode()
    assert "Row 3 is not understood: 400 is not an azimuth in degrees" in page
    assert "Row 3 is not understood" in owner.get(f"/logs/{log.pk}/sheets").content.decode()


@pytest.mark.parametrize(
    ("title", "plain", "own"),
    [
        ("Fen", "fen.csv", "Fen.csv"),
        ("Première / traversée", "premiere-traversee.csv", "Premi%C3%A8re%20travers%C3%A9e.csv"),
        ("沼", "travel-log.csv", "%E6%B2%BC.csv"),
        ('../"x"\\..', "x.csv", "x.csv"),
        ("", "travel-log.csv", "travel-log.csv"),
        ("a\x07b\u202ec", "abc.csv", "abc.csv"),
    ],
)
def test_a_file_name_is_made_from_the_title(
    owner: Client, owner_member: Member, make_log: Callable[..., KeptLog], title: str, plain: str, own: str
) -> None:
    """RFC 6266: plain ASCII in `filename`, the title itself in `filename*`."""
    log = make_log(owner_member, [("305", "240")], heading=f"title: {title}")
    header = owner.get(f"/logs/{log.pk}/files/log")["Content-Disposition"]
    assert header == f"attachment; filename=\"{plain}\"; filename*=UTF-8''{own}"


def test_logs_are_found_by_all_their_words(
    owner: Client, owner_member: Member, make_log: Callable[..., KeptLog]
) -> None:
    make_log(owner_member, [("305", "240", "past the heron post")], heading="title: Cinder Fen")
    make_log(owner_member, [("305", "240", "dry")], heading="title: Écluse, nord")
    gone = make_log(owner_member, [("305", "240", "heron")], heading="title: Thrown")
    owner.post(f"/logs/{gone.pk}/throw", {"do": "throw"})

    def titles(**asked: str) -> list[str]:
        return re.findall(r'class="title"[^>]*><strong>([^<]*)', owner.get("/books", asked).content.decode())

    assert titles(q="HERON fen") == ["Cinder Fen"]
    assert titles(q="heron nord") == []
    assert titles(q="écluse") == ["Écluse, nord"]
    assert titles(q="%") == []
    assert titles(order="title") == ["Cinder Fen", "Écluse, nord"]
    assert titles(order="; drop", page="99") == ["Écluse, nord", "Cinder Fen"]


def test_logs_stand_fifty_to_a_page(
    owner: Client, owner_member: Member, make_log: Callable[..., KeptLog]
) -> None:
    for at in range(51):
        make_log(owner_member, [("305", "240")], heading=f"title: walk {at:02d}")
    first, second = (owner.get("/books", {"order": "title", "page": at}).content.decode() for at in (1, 2))
    assert "walk 49" in first and "walk 50" not in first and "Page 1 of 2" in first
    assert "walk 50" in second and "walk 49" not in second


def test_a_copy_says_so_and_is_its_own(owner: Client, owner_member: Member) -> None:
    log = example_log(owner_member)
    owner.post(f"/logs/{log.pk}/copy")
    copy = KeptLog.objects.exclude(pk=log.pk).get()
    assert copy.title == "Cinder Fen, first crossing (copy)"
    assert (copy.rows, copy.walker, copy.ground) == (log.rows, log.walker, log.ground)
    assert copy.start_place == log.start_place
    keep_change(copy.pk, "change-one", {"kind": "strike", "id": "r0", "struck": True})
    log.refresh_from_db()
    assert not log.rows[0]["struck"]


def test_a_log_goes_to_the_bin_comes_back_and_is_deleted_only_from_there(
    owner: Client, owner_member: Member, make_log: Callable[..., KeptLog]
) -> None:
    log = make_log(owner_member, [("305", "240")])
    throw = f"/logs/{log.pk}/throw"
    owner.post(throw, {"do": "delete"})
    assert KeptLog.objects.filter(pk=log.pk, thrown_at=None).exists()
    owner.post(throw, {"do": "throw"})
    assert "Crossing" in owner.get("/books/bin").content.decode()
    owner.post(throw, {"do": "back"})
    assert KeptLog.objects.filter(pk=log.pk, thrown_at=None).exists()
    owner.post(throw, {"do": "throw"})
    owner.post(throw, {"do": "delete"})
    assert not KeptLog.objects.exists()


def test_a_guest_keeps_no_more_logs_than_a_guest_may(
    guest: Client, owner: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(keeping, "MOST_GUEST_LOGS", 2)
    _, page = handed(guest, *[(f"{at}.csv", PLAIN) for at in range(3)])
    assert "2.csv: a guest of this desk keeps at most 2 logs" in page
    handed(owner, *[(f"{at}.csv", PLAIN) for at in range(3)])
    assert KeptLog.objects.count() == 5
