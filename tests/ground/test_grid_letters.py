"""The letters of the British grid: against printed references and what they stand for."""

from __future__ import annotations

import warnings

import pytest

from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.ground import grid_letters
from pacewright.ground.any_grid import on_grid
from pacewright.ground.grid_letters import find_letters, parse_letters
from pacewright.ground.grid_text import parse_place
from support.command import run

PRINTED = [
    # Ordnance Survey, A guide to coordinate systems in Great Britain, worked example (from memory).
    ("TG 51409 13177", 651409, 313177, 1),
    # M. Behrend, Simplified formulae for British Ordnance Survey maps (notes of 1977), Coordinate system.
    ("ST 512 386", 351200, 138600, 100),
    ("ST 5122 3862", 351220, 138620, 10),
    ("ST 51219 38616", 351219, 138616, 1),
    # J. B. Harley, Ordnance Survey Maps: A Descriptive Manual, 1975, from a secondary page.
    ("SP3683", 436000, 283000, 1000),
    # Geo::Coordinates::OSGB::Grid 2.20, manual page, format_grid: 438710.908 114792.248 is SU 387 147.
    ("SU 387 147", 438700, 114700, 100),
]


@pytest.fixture
def library():
    return pytest.importorskip("osbng")


@pytest.mark.parametrize(("text", "east_m", "north_m", "side_m"), PRINTED)
def test_a_printed_reference_is_the_square_it_stands_for(library, text, east_m, north_m, side_m):
    """The place of a square is its middle, as with MGRS."""
    assert parse_letters(text) == (east_m + side_m / 2, north_m + side_m / 2, side_m)


def test_a_place_of_whole_metres_keeps_them(library):
    assert find_letters("EPSG:27700", 651409.903, 313177.270) == "TG 51409 13177"
    assert find_letters("EPSG:27700", 351219 - 1e-9, 138616) == "ST 51219 38616"


def test_where_the_letters_do_not_reach_there_are_none(library):
    assert find_letters("EPSG:27700", 700000, 100000) is None
    assert find_letters("EPSG:32630", 438710, 114792) is None


def test_the_survey_s_water_tower_by_its_letters(library):
    """The same worked example on ETRS89: 52°39'28.8282"N 1°42'57.8663"E; good to 5 m with no table."""
    tower = parse_place("tg5140913177")
    assert (tower.form, tower.precision_m) == ("letters", 1)
    assert (tower.latitude_deg, tower.longitude_deg) == pytest.approx((52.6580078, 1.7160740), abs=5e-5)
    assert on_grid("EPSG:27700", tower.latitude_deg, tower.longitude_deg).letters == "TG 51409 13177"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("TQ 300 80", "the digits of TQ 300 80 are not two equal halves"),
        ("TQ 300", "not two equal halves"),
        ("TQ 30 0 4", "not two equal halves"),
        ("TQ 300401 800412", "not two equal halves"),
        ("ZZ 300 800", "ZZ is no square of the British grid"),
    ],
)
def test_what_is_no_reference_is_refused(library, text, says):
    with pytest.raises(ValueComplaint, match=says):
        parse_place(text)


def test_without_its_library_letters_name_what_to_install(monkeypatch):
    monkeypatch.setattr(grid_letters, "_library", lambda: None)
    with pytest.raises(
        MissingComplaint, match=r'pip install "pacewright\[grids\]".*pip install "\.\[grids\]"'
    ):
        parse_place("TQ 3004 8041")
    assert on_grid("EPSG:27700", 52.658, 1.716).letters is None


def test_the_library_leaves_the_warnings_of_the_process_alone(library):
    before = list(warnings.filters)
    parse_letters("TQ 3004 8041")
    assert list(warnings.filters) == before


def test_north_reads_letters_and_prints_them(library):
    done = run("north", "SU", "387", "147", "--grid", "EPSG:27700", "--date", "2026-05-14")
    assert "British National Grid: SU 38750 14750, EPSG:27700 438750 114750" in done.out.replace("\n", " ")
    wide = run("north", "SU", "38", "14", "--date", "2026-05-14").out
    assert "Note: the square is 1000 metres wide; this is its middle." in wide
