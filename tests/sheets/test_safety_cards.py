"""Route, emergency, fix and field cards say what the commands say, and hold on paper."""

from __future__ import annotations

import datetime
import json
import math
import re

import pytest

from pacewright.core.compass import back_azimuth
from pacewright.core.pace.walker import Walker
from pacewright.files.known_places import open_estimate
from pacewright.ground.grid_text import parse_place
from pacewright.ground.mgrs_squares import format_mgrs
from pacewright.sheets.emergency_card import emergency_card
from pacewright.sheets.field_cards import angle_card, cord_card, lost_card, obstacle_card
from pacewright.sheets.fix_worksheet import fix_worksheet
from pacewright.sheets.leg_cards import card_legs
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.route_card import route_card
from pacewright.sheets.typesetting import typeset
from support.command import run
from support.logs import log_of
from support.made_sheets import BLANK, INES, LOGS, OF_A_LOG, made_log
from support.pdf_pages import words

PAPER = ("a4", "pocket")


def printed(made, name="a4"):
    return words(typeset([made], PAPERS[name]))


@pytest.mark.parametrize("name", PAPER)
def test_a_route_card_has_the_legs_with_their_times_and_what_to_do_when_overdue(name):
    estimate = open_estimate(made_log(4), INES)
    told = printed(route_card(estimate, PAPERS[name], datetime.time(9, 15)), name)
    at = datetime.datetime(2026, 5, 14, 9, 15)
    for leg in card_legs(estimate.log, INES):
        at += datetime.timedelta(minutes=leg.minutes)
        assert f"{leg.azimuth} {leg.count} {leg.minutes} {at:%H:%M}" in told
    assert "LATEST TIME BACK" in told and "If we are not back by the latest time" in told
    assert "Set out at 09:15" in told and "Local rules" in told


def test_a_route_card_without_a_pace_count_leaves_the_times_to_the_pencil():
    told = printed(route_card(open_estimate(made_log(4), Walker()), PAPERS["a4"]))
    assert "4 km in the hour" not in told


@pytest.mark.parametrize("name", PAPER)
def test_an_emergency_card_gives_the_place_in_every_form_as_the_command_does(tmp_path, name):
    page, walker = tmp_path / "walk.csv", tmp_path / "ines.toml"
    page.write_text(
        "# date: 2026-05-14\n# azimuth: magnetic degrees\n# count: paces\n# start: Gate\n"
        "# known: Gate = 37.4521 -119.2984 +-10 m\nazimuth,count,notes\n305,240,\n38,185,\n",
        encoding="utf-8",
    )
    walker.write_text('name = "Ines Rowe"\n[pace]\nper_100_m = 62.5\n', encoding="utf-8")
    out = tmp_path / "e.pdf"
    assert run("sheet", "emergency", page, "--walker", walker, "--paper", name, "--out", out).code == 0
    told = words(out.read_bytes())
    stands = run("reckon", page, "--walker", walker).out.split("You are ")[1].splitlines()[0]
    placed = json.loads(run("reckon", page, "--walker", walker, "--json").out)
    assert placed["frame"] and f"You are {stands.split(' (')[0]}" in told
    latitude, longitude = re.search(r"([\d.]+) N ([\d.]+) W", told).groups()
    square = re.search(r"MGRS (11S \w\w [\d ]+?) grid", told)[1]
    digits = len(square.replace(" ", "")[5:]) // 2
    near = format_mgrs(float(latitude), -float(longitude), digits, spaced=True)
    east, north = (int(part) for part in re.search(r"(\d+) E (\d+) N", told).groups())
    # The three forms name one place, as finely as it is sure.
    assert near[:6] == square[:6]
    there = parse_place(f"11N {east} {north}")
    off_m = math.hypot(
        (there.latitude_deg - float(latitude)) * 111_000,
        (there.longitude_deg + float(longitude)) * 111_000 * math.cos(math.radians(37.45)),
    )
    assert off_m < 150
    assert "What to say" in told and "let them read it back" in told


def test_an_emergency_card_of_an_unplaced_log_says_why_and_still_says_where_from_the_start():
    told = printed(emergency_card(open_estimate(log_of((305, 240), (38, 185)), INES), PAPERS["a4"]))
    assert "Not placed on the map" in told and "from Gate" in told


@pytest.mark.parametrize("name", PAPER)
def test_the_fix_worksheet_has_the_back_azimuths_of_the_bearings(name):
    log = log_of((305, 240), (38, "", "[see Fire tower]"), (200, "", "[see Mast]"))
    told = printed(fix_worksheet(PAPERS[name], open_estimate(log, INES)), name)
    for seen, read in (("Fire tower", 38), ("Mast", 200)):
        assert f"{seen} {read} {back_azimuth(read):.0f}" in told
    assert "Resection" in told and "Intersection" in told


@pytest.mark.parametrize("unit", ["degrees", "mils", "gon"])
def test_square_azimuths_are_a_quarter_turn_to_either_side(unit):
    full = {"degrees": 360, "mils": 6400, "gon": 400}[unit]
    told = printed(obstacle_card(PAPERS["pocket"], unit), "pocket").partition("Square to a leg")[2]
    rows = re.findall(r"(?<![\d.])(\d+) (\d+) (\d+)(?![\d.])", told)
    assert len(rows) == full // {"degrees": 10, "mils": 200, "gon": 10}[unit]
    for leg, right, left in (map(int, row) for row in rows):
        assert (right - leg) % full == full // 4 and (leg - left) % full == full // 4


def test_back_azimuths_are_half_a_turn_on():
    told = printed(angle_card(PAPERS["pocket"]), "pocket").partition("read from its other end")[2]
    rows = re.findall(r"(?<![\d.])(\d+) (\d+)(?![\d.])", told)
    pairs = {int(one): int(other) for one, other in rows if int(one) % 10 == 0}
    assert all((pairs[azimuth] - azimuth) % 360 == 180 for azimuth in range(0, 360, 10))


def test_the_cord_card_says_both_customs_and_the_walkers_own_count():
    """1480 is one thousand, four hundreds and 80: nine lower and four upper beads, common practice."""
    told = printed(cord_card(INES, PAPERS["a4"]))
    assert "1 upper bead, 4 lower beads, 80 paces" in told
    assert "A bead a hundred paces" in told and "A bead a hundred metres" in told
    assert "62.5 paces to 100 m" in told


@pytest.mark.parametrize("name", PAPER)
def test_every_card_bears_the_caution(name):
    cards = (obstacle_card, angle_card, lost_card, fix_worksheet, lambda on: cord_card(INES, on))
    for make in cards:
        assert "Local rules and what qualified instruction taught you" in printed(make(PAPERS[name]), name)


@pytest.mark.parametrize("kind", ["obstacle", "cord", "angles", "lost", "fix"])
def test_the_commands_print_the_cards(tmp_path, kind):
    out = tmp_path / "card.pdf"
    assert run("sheet", kind, "--paper", "a5", "--out", out).code == 0
    assert out.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("kind", sorted({*OF_A_LOG, *BLANK} - {"trials", "trials-blank"}))
def test_every_sheet_that_somebody_walks_by_defers_to_local_rules(kind):
    """All but the sheet of pace trials, which are walked along a tape."""
    on = PAPERS["a5"]
    made = OF_A_LOG[kind](LOGS["4 legs"](), on) if kind in OF_A_LOG else BLANK[kind](on)
    assert re.search(r"(L|l)ocal rules and (what )?qualified instruction", words(typeset([made], on)))
