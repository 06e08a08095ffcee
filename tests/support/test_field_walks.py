"""The made-up days in the field do what they say: scatter, iron, slips, and nothing of the tool in them."""

from __future__ import annotations

import ast
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pacewright.core.log.remarks import At, BackReading
from pacewright.core.log.travel_log import Sighting
from pacewright.files.log_csv import read_log
from support.field_bound import area, way_back_covariance
from support.field_slips import BACK_KINDS, KINDS, LEG_KINDS, spoiled_day
from support.field_walks import (
    Outing,
    Person,
    Plan,
    as_written,
    draw_day,
    draw_plan,
    joined,
    read_off_map,
    walk,
    walk_instruction,
)

PERSON = Person()
TOWERS = {"Fire tower": (900.0, 1500.0), "Water tank": (-1200.0, 400.0), "Grey crag": (300.0, -1800.0)}
LINE = Outing(Plan((40, 130, 75), (300, 250, 400)), looks_back={1, 2, 3}, things=TOWERS)
KNOWN = ("Old ford", "Fire tower", "Water tank")


def turned(one, other):
    return (np.asarray(one, dtype=float) - other + 180.0) % 360.0 - 180.0


def days(outing, many, seed=1, person=PERSON):
    rng = np.random.default_rng(seed)
    return [walk(rng, draw_day(rng, person), outing) for _ in range(many)]


def full_outing(rng, legs=12):
    plan = draw_plan(rng, legs, "eight")
    sights = [(station, name) for station in (2, 5, 9) for name in TOWERS]
    names = {3: "Old ford", 8: "Split oak"}
    return Outing(plan, names, set(range(1, legs + 1)), TOWERS, sights)


def spoiled(kind, seed):
    rng = np.random.default_rng(seed)
    outing = full_outing(rng)
    return spoiled_day(rng, draw_day(rng), outing, kind, lambda one: read_off_map(rng, one, KNOWN))


def honest(kind, seed):
    """The same walk without what was done to its page."""
    made = spoiled(kind, seed)
    return made, replace(made.walked.page, known=made.page.known)


@pytest.mark.parametrize("name", ["field_walks.py", "field_slips.py", "field_bound.py"])
def test_nothing_of_the_tool_and_of_the_other_made_up_walkers_is_in_them(name):
    tree = ast.parse((Path(__file__).parent / name).read_text(encoding="utf-8"))
    taken = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module}
    taken |= {one.name for node in ast.walk(tree) if isinstance(node, ast.Import) for one in node.names}
    outside = {"__future__", "collections.abc", "dataclasses", "math", "typing", "numpy", "numpy.typing"}
    assert taken - outside <= {"support.field_walks"}


def test_the_tool_reads_every_number_the_pencil_wrote():
    rng = np.random.default_rng(5)
    walked = walk(rng, draw_day(rng), full_outing(rng))
    page = read_off_map(rng, walked, KNOWN)
    log = read_log(page.text.encode())
    assert log.heading.start == "Gate"
    assert [(leg.azimuth_deg, leg.count) for leg in log.legs] == [(r.azimuth, r.count) for r in page.rows]
    assert [leg.find(BackReading).azimuth_deg for leg in log.legs] == [row.back for row in page.rows]
    names = [leg.find(At).name if leg.find(At) else "" for leg in log.legs]
    assert names == ["", "", "Old ford", "", "", "Gate", "", "Split oak", "", "", "", "Gate"]
    assert [(station, one.name, one.azimuth_deg) for station, one in log.sightings()] == [
        (one.station, one.name, one.azimuth) for one in page.sights
    ]
    assert all(isinstance(one, Sighting) for _, one in log.sightings())
    assert {p.name: (*p.local_m, p.sd_m) for p in log.heading.known} == dict(page.known)


def test_the_line_walked_strays_by_compass_hand_and_holding():
    """4,000 days: a standard deviation is then known to 1.1 %."""
    off = np.array([turned(one.line_deg, np.array(LINE.plan.azimuth_deg)) for one in days(LINE, 4000)])
    expected = math.sqrt(2 * PERSON.habit_sd_deg**2 + PERSON.holding_sd_deg**2)
    assert np.std(off, axis=0) == pytest.approx([expected] * 3, rel=0.05)
    assert np.mean(off, axis=0) == pytest.approx([0.0] * 3, abs=0.2)
    # What the legs of one day share is what compass and hand are off.
    shared = np.mean(off[:, 0] * off[:, 1])
    assert shared == pytest.approx(2 * PERSON.habit_sd_deg**2, rel=0.12)


def test_a_look_back_reads_the_line_as_walked():
    walks = days(LINE, 4000)
    back = np.array([[row.back for row in one.page.rows] for one in walks])
    line = np.array([one.line_deg for one in walks])
    off_line = turned(back, line + 180.0)
    rounded = 1 / 12
    assert np.var(off_line) == pytest.approx(
        PERSON.reading_sd_deg**2 + PERSON.instrument_sd_deg**2 + rounded, rel=0.06
    )
    off_azimuth = turned(back, np.array(LINE.plan.azimuth_deg) + 180.0)
    assert np.std(off_azimuth) == pytest.approx(PERSON.look_back_sd_deg(), rel=0.03)
    # The compass's own share drops out between a leg and its look back.
    instrument = np.array([one.day.instrument_deg for one in walks])
    assert abs(np.corrcoef(off_azimuth[:, 0], instrument)[0, 1]) < 0.06
    # And it tells of the line: what the leg strayed shows in it.
    held = turned(line, np.array(LINE.plan.azimuth_deg)) - np.array([[one.day.turn_deg] for one in walks])
    assert np.corrcoef(off_azimuth[:, 1], held[:, 1])[0, 1] > 0.6


def test_paces_are_as_long_as_they_are_that_day():
    long = Outing(Plan((0,) * 40, (200,) * 40))
    length = np.array([one.places_m[-1, 1] for one in days(long, 1500, person=Person(holding_sd_deg=0.1))])
    assert length.mean() / (8000 * PERSON.pace_m) == pytest.approx(1.0, abs=0.005)
    expected = math.hypot(PERSON.pace_sd, PERSON.count_sd / math.sqrt(40))
    assert np.std(length / length.mean()) == pytest.approx(expected, rel=0.06)


def test_iron_turns_all_that_is_read_on_the_spot_and_nothing_else():
    calm = Person(pace_m=1.6, holding_sd_deg=0.01, reading_sd_deg=0.01, instrument_sd_deg=0, habit_sd_deg=0)
    sights = [(station, "Fire tower") for station in range(4)]
    plain, pulled = (
        days(replace(LINE, sights=sights, iron=iron), 1, person=calm)[0] for iron in ({}, {1: 20.0})
    )
    lines = turned(pulled.line_deg, plain.line_deg)
    assert lines == pytest.approx([0, -20, 0], abs=0.5)
    backs = [
        turned(row.back, line + 180) for row, line in zip(pulled.page.rows, pulled.line_deg, strict=True)
    ]
    assert backs == pytest.approx([20, 0, 0], abs=1.0)
    for station, one in enumerate(pulled.page.sights):
        step = np.array(TOWERS["Fire tower"]) - pulled.places_m[station]
        truth = math.degrees(math.atan2(*step))
        assert turned(one.azimuth, truth) == pytest.approx(20 if station == 1 else 0, abs=1.0)


def test_a_loop_ends_at_its_marker_and_its_last_row_says_what_was_held():
    rng = np.random.default_rng(3)
    ends, off = [], []
    for _ in range(400):
        day, plan = draw_day(rng), draw_plan(rng, 8, "loop")
        walked = walk(rng, day, Outing(plan))
        ends.append(walked.places_m[-1])
        off.append(turned(walked.page.rows[-1].azimuth, walked.line_deg[-1] - day.turn_deg))
        assert walked.page.rows[-1].at == "Gate"
    assert np.std(ends) == pytest.approx(PERSON.stands_within_m, rel=0.1)
    assert np.std(off) == pytest.approx(PERSON.holding_sd_deg, rel=0.1)


def test_a_count_is_lost_only_by_who_loses_counts():
    careless = days(LINE, 300, person=Person(loses_count=0.2))
    assert np.mean([len(one.lost) for one in careless]) == pytest.approx(0.6, abs=0.15)
    assert not any(one.lost for one in days(LINE, 100))
    longer = [
        np.hypot(*np.diff(one.places_m, axis=0)[leg - 1]) / one.day.pace_m - one.page.rows[leg - 1].count
        for one in careless
        for leg in one.lost
    ]
    assert np.mean(longer) == pytest.approx(100.0, abs=6.0)


def test_who_walks_an_instruction_has_the_same_compass_hand_and_pace():
    rng = np.random.default_rng(9)
    day = draw_day(rng, Person(pace_sd=0.2, instrument_sd_deg=8.0, habit_sd_deg=8.0))
    ends = as_written(day, walk_instruction(rng, day, 63.3, 500, 4000))
    assert ends.mean(axis=0) == pytest.approx(500 * np.array([math.sin(1.0996), math.cos(1.0996)]), abs=1.5)


@pytest.mark.parametrize("kind", KINDS)
def test_a_slip_strikes_what_it_says(kind):
    """What differs from the honest page is the number that was struck; on the ground the page is honest."""
    struck = 0
    for seed in range(30):
        made = spoiled(kind, seed)
        if made is None:
            continue
        struck += 1
        slip, page, clean = made.slip, made.page, made.walked.page
        assert slip.kind == kind
        assert slip.size_sd > 0
        rows = [
            leg for leg, pair in enumerate(zip(page.rows, clean.rows, strict=False), 1) if pair[0] != pair[1]
        ]
        sights = [(a.station, a.name) for a, b in zip(page.sights, clean.sights, strict=True) if a != b]
        if kind in LEG_KINDS and slip.struck.what == "leg":
            leg = slip.struck.leg
            assert (rows, sights) == ([leg], [])
            assert page.rows[leg - 1].back == clean.rows[leg - 1].back
        elif kind in BACK_KINDS:
            assert (rows, sights) == ([slip.struck.leg], [])
            row = clean.rows[slip.struck.leg - 1]
            assert replace(page.rows[slip.struck.leg - 1], back=row.back) == row
        elif slip.struck.what == "bearing":
            assert (rows, sights) == ([], [(slip.struck.station, slip.struck.name)])
        elif slip.struck.what in ("place", "station", "marker"):
            assert (rows, sights) == ([], [])
        elif kind == "leg_missing":
            assert len(page.rows) == len(clean.rows) - 1
        else:
            assert len(rows) == len(page.rows)
    # A thousand is dropped only where one was walked.
    assert struck >= (5 if kind == "thousand_lost" else 25)


def test_a_place_taken_for_the_marker_lies_aside_of_it_and_the_walk_goes_on_from_there():
    for seed in range(20):
        made = spoiled("marker_mistaken", seed)
        station = made.slip.struck.station
        off = np.hypot(*made.walked.places_m[station])
        assert off / PERSON.stands_within_m == pytest.approx(made.slip.size_sd, abs=4.0)
        assert made.page.rows[station - 1].at == "Gate"


def test_a_misread_known_place_is_off_by_whole_hundreds():
    for seed in range(20):
        made = spoiled("place_wrong", seed)
        spot = made.slip.struck.name
        truth = TOWERS.get(spot, made.walked.places_m[3])
        off = np.array(made.page.known[spot][:2]) - truth
        assert sorted(np.round(np.abs(off) / 100))[0] == 0
        assert np.hypot(*off) / 10.0 == pytest.approx(made.slip.size_sd, abs=5.0)


def test_plans_one_after_the_other_keep_their_markers():
    one = Plan((0, 90, 180), (1, 2, 3), {3: 0})
    both = joined(one, Plan((10,), (5,)), one)
    assert both.meets == {3: 0, 7: 4}
    assert both.spot(7) == 4
    assert joined(one, one).spot(6) == 0


def test_the_least_region_holds_what_a_dense_solution_leaves():
    """1,000 drawn days, solved day by day: the share inside 95 % is then known to 0.7 %."""
    rng = np.random.default_rng(11)
    # Small scatter, for the bound is linear.
    person = Person(
        pace_sd=0.006,
        count_sd=0.01,
        holding_sd_deg=0.5,
        instrument_sd_deg=0.2,
        habit_sd_deg=0.2,
        count_least=0,
    )
    plan = Plan((20, 70, 350, 40, 100, 10), (2000,) * 6)
    inside, wide = [], []
    for _ in range(1000):
        day = draw_day(rng, person)
        walked = walk(rng, day, Outing(plan, {2: "Old ford", 4: "Split oak"}))
        places = read_off_map(rng, walked, ["Old ford", "Split oak"], 5.0)
        covariance, best = _solved(places, person, {2: "Old ford", 4: "Split oak"})
        off = as_written(day, walked.places_m[-1:])[0] - best
        inside.append(off @ np.linalg.solve(covariance, off) < -2 * math.log(0.05))
        wide.append(area(covariance))
    assert np.mean(inside) == pytest.approx(0.95, abs=0.02)
    back = way_back_covariance(places, person, {2: 5.0, 4: 5.0})
    free = way_back_covariance(places, person, {})
    assert np.mean(wide) < area(back) < area(free)


def _solved(page, person, names):
    """Solve one page by stacked least squares, every unknown scaled to its standard deviation."""
    rows, legs = page.rows, len(page.rows)
    azimuth = np.radians([row.azimuth for row in rows])
    count = np.array([row.count for row in rows], dtype=float)
    scale = np.array(
        [math.radians(person.holding_sd_deg)] * legs
        + [person.count_sd] * legs
        + [math.radians(math.hypot(person.instrument_sd_deg, person.habit_sd_deg)), person.pace_sd]
    )

    def figure(unknown):
        u = unknown * scale
        turn, stretch = azimuth + u[:legs], count * (1 + u[legs : 2 * legs])
        own = np.cumsum(np.stack([stretch * np.sin(turn), stretch * np.cos(turn)], axis=1), axis=0)
        b, s = u[-2:]
        rotate = np.array([[math.cos(b), math.sin(b)], [-math.sin(b), math.cos(b)]])
        return own, person.pace_m * math.exp(s) * own @ rotate.T

    def residual(unknown):
        on_map = figure(unknown)[1]
        seen = [(np.array(page.known[name][:2]) - on_map[k - 1]) / 5.0 for k, name in names.items()]
        return np.concatenate([*seen, -unknown])

    at = np.zeros(2 * legs + 2)
    for _ in range(3):
        jacobian = np.stack(
            [(residual(at + h) - residual(at - h)) / 2e-5 for h in 1e-5 * np.eye(at.size)], axis=1
        )
        at = at - np.linalg.lstsq(jacobian, residual(at), rcond=None)[0]
    moved = np.stack(
        [(figure(at + h)[0][-1] - figure(at - h)[0][-1]) / 2e-5 for h in 1e-5 * np.eye(at.size)], axis=1
    )
    return moved @ np.linalg.inv(jacobian.T @ jacobian) @ moved.T, figure(at)[0][-1]
