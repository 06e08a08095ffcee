"""Photographs of a class's cards become one log a card and the table that grading takes."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.files.course_toml import write_course
from pacewright.files.log_csv import read_log
from pacewright.reading.page_read import ReadPage
from support.command import run
from support.stated_pages import number, photographed, row

FIRST = row(1, "305", "24")


@pytest.fixture
def photos(monkeypatch, tmp_path):
    """Photographs by name, each read as the page that is stated for it."""
    return lambda **pages: photographed(monkeypatch, tmp_path, pages)


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "handed in"


def test_it_is_said_whose_card_a_page_is(photos):
    said = run("read", *photos(one=ReadPage(1, (FIRST,), card=7)))
    assert "This is the log of card 7." in said.out
    keys = run("read", *photos(one=ReadPage(1, (FIRST,), card=7), two=ReadPage(1, (FIRST,))), "--json").json
    assert {page["card"] for page in keys["pages"]} == {7, None}
    assert any("No card number is on" in one and "two.jpg" in one for one in keys["sentences"])


def test_every_card_has_its_own_log_with_its_pages_in_order(photos, folder):
    pages = {
        "late": ReadPage(2, (row(24, "10", "20"),), card=7),
        "early": ReadPage(1, (FIRST,), card=7),
        "other": ReadPage(1, (row(1, "90", "33", ticks=("at",)),), card=12),
    }
    said = run("read", *photos(**pages), "--cards", folder)
    assert said.code == 0 and "The logs of cards 7 and 12 are in" in " ".join(said.out.split())
    assert "Card 12: Names are not read" in said.out
    seventh = read_log((folder / "card-7.csv").read_bytes())
    assert [one.cells.azimuth for one in seventh.rows] == ["305", "10"]
    assert seventh.heading.title == "card 7"
    assert (folder / "handed.csv").read_text().splitlines() == [
        "learner,card,log,finished_at,minutes,pace_count",
        "card 7,7,card-7.csv,,,",
        "card 12,12,card-12.csv,,,",
    ]


def test_a_card_with_a_doubt_keeps_no_other_from_being_written(photos, folder):
    pages = {
        "one": ReadPage(1, (FIRST,), card=1),
        "two": ReadPage(1, (row(1, "38", number("183", sure=0.7)),), card=2),
    }
    given = photos(**pages)
    said = run("read", *given, "--cards", folder)
    assert said.code == 1 and "No log is written of card 2" in said.out
    assert sorted(path.name for path in folder.iterdir()) == ["card-1.csv", "handed.csv"]
    assert "card 2,2,,,," in (folder / "handed.csv").read_text()
    said = run("read", *given, "--cards", folder, "--unsure", "--force")
    assert said.code == 1 and "to be checked" in (folder / "card-2.csv").read_text()


def test_a_page_photographed_twice_does_not_double_a_walk(photos, folder):
    given = photos(a=ReadPage(1, (FIRST,), card=3), b=ReadPage(1, (FIRST,), card=3))
    said = run("read", *given, "--cards", folder)
    assert said.code == 1 and not (folder / "card-3.csv").exists()
    assert "Pages with the same number" in said.out


def test_nothing_is_written_where_one_file_is_in_the_way(photos, folder):
    folder.mkdir()
    (folder / "card-1.csv").write_text("mine")
    said = run("read", *photos(one=ReadPage(1, (FIRST,), card=1)), "--cards", folder)
    assert said.code == 2 and "already there" in said.err
    assert [path.read_text() for path in folder.iterdir()] == ["mine"]


def test_the_walks_of_several_cards_are_never_one_log(photos, tmp_path):
    given = photos(one=ReadPage(1, (FIRST,), card=1), two=ReadPage(1, (FIRST,), card=2))
    said = run("read", *given, "--out", tmp_path / "log.csv")
    assert said.code == 2 and "give --cards FOLDER instead of --out" in said.err
    assert not (tmp_path / "log.csv").exists()


def test_a_photograph_that_cannot_be_read_keeps_no_card_from_its_log(photos, folder, tmp_path):
    bad = tmp_path / "blurred.jpg"
    bad.write_bytes(b"no picture")
    given = photos(one=ReadPage(1, (FIRST,), card=1), two=ReadPage(1, (FIRST,), card=2))
    said = run("read", given[0], bad, given[1], "--cards", folder)
    assert said.code == 2 and len(said.err.splitlines()) == 1
    assert sorted(path.name for path in folder.iterdir()) == ["card-1.csv", "card-2.csv", "handed.csv"]
    assert "blurred.jpg could not be read: what stands on it is not here" in " ".join(said.out.split())


def test_north_and_start_of_every_card_are_taken_from_the_course(photos, folder, tmp_path):
    course = set_field_course(FieldAsked(4, azimuth_reference="grid"), np.random.default_rng(3))
    file = tmp_path / "course.toml"
    file.write_bytes(write_course(course))
    pages = {f"of{card}": ReadPage(1, (FIRST,), card=card) for card in (2, 4, 99)}
    given = photos(**pages)
    said = run("read", *given, "--cards", folder, "--course", file)
    assert said.code == 2 and "the course has no card 99" in said.err and len(said.err.splitlines()) == 1
    assert not (folder / "card-99.csv").exists()
    for card in (2, 4):
        heading = read_log((folder / f"card-{card}.csv").read_bytes()).heading
        assert heading.start == course.card(card).start and heading.azimuth_reference == "grid"
    for more, words in (
        (("--out", tmp_path / "log.csv"), "--course goes with --cards."),
        (("--cards", folder, "--start-name", "Gate"), "leave --azimuth and --start-name out"),
    ):
        said = run("read", *given, "--course", file, *more)
        assert said.code == 2 and words in " ".join(said.err.split())


def test_what_was_read_is_graded_at_once(photos, folder, tmp_path):
    course = set_field_course(FieldAsked(4), np.random.default_rng(3))
    (tmp_path / "course.toml").write_bytes(write_course(course))
    pages = {}
    for card in course.cards:
        rows = [
            row(at, f"{leg.azimuth_deg:.0f}", f"{0.625 * leg.length_m:.0f}")
            for at, leg in enumerate(card.legs, start=1)
        ]
        pages[f"photo{card.number}"] = ReadPage(1, tuple(rows), card=card.number)
    assert run("read", *photos(**pages), "--cards", folder).code == 0
    said = run("course", "grade", tmp_path / "course.toml", folder / "handed.csv")
    assert said.code == 0, said.err
    for card in course.cards:
        assert f"card {card.number}:" in said.out
