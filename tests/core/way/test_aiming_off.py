"""Aiming off: walkers who follow the instruction until they meet the line, and which side they meet it on."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.answers.way import aim_off
from pacewright.core.compass import turn_deg
from pacewright.core.pace.walker import PaceClass
from pacewright.core.way.aiming_off import FLATTEST_CROSSING_DEG
from pacewright.exceptions import MissingComplaint, NoAnswerComplaint, ValueComplaint
from pacewright.files.log_csv import read_log
from support.logs import log_of, walker_like
from support.simulator import USUAL, Person, draw_routes, plain_route, walk, write_log_text

WALKS = 20_000
ONE_LEG = log_of((0, 600))
"""600 paces north of the target: the way back is south."""


def cross(first, second):
    return first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]


def vectors(azimuth_deg):
    azimuth_rad = np.radians(np.asarray(azimuth_deg, dtype=float))
    return np.stack([np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=-1)


def follow(rng, walked, aim, person=USUAL):
    """Walk the azimuth until the line through the start is met.

    Returns
    -------
    beside_m, counted
        Where the line is met, positive on the side aimed for, and the count then; both (walks,).
    """
    ends, walks = walked.places_m[:, -1], walked.scale.size
    ahead = vectors(aim.azimuth_deg + walked.bias_deg + person.azimuth_sd_deg * rng.standard_normal(walks))
    side = vectors(aim.offset_azimuth_deg)
    distance_m = -cross(ends, side) / cross(ahead, side)
    beside_m = cross(ends, ahead) / cross(side, ahead)
    paces = distance_m / (person.pace_m * walked.scale)
    counted = paces / (1 + person.count_sd * rng.standard_normal(walks))
    # Who walks away from the line never meets it.
    return np.where(distance_m > 0, beside_m, -np.inf), counted


def simulated(seed, route, line_deg, chance, toward_deg=None, person=USUAL):
    rng = np.random.default_rng(seed)
    walked = walk(rng, route, WALKS, person)
    log = read_log(write_log_text(walked.notes(0)).encode())
    aim = aim_off(log, walker_like(person), route.count.size, 0, line_deg, chance, toward_deg)
    return aim, *follow(rng, walked, aim, person)


def sampling(chance):
    return 4 * np.sqrt(chance * (1 - chance) / WALKS)


@pytest.mark.parametrize("chance", [0.02, 0.1])
@pytest.mark.parametrize("line_deg", [70, 90, 135, 200])
@pytest.mark.parametrize("toward_deg", [None, 250, 70], ids=["shorter", "west", "east"])
def test_at_most_the_stated_share_meets_the_line_on_the_wrong_side(chance, line_deg, toward_deg):
    """20,000 walkers, all with their own bias and stride; the way is 800 paces on azimuth 20."""
    route = plain_route([20, 20], [500, 300])
    try:
        aim, beside_m, _ = simulated(1, route, line_deg, chance, toward_deg)
    except NoAnswerComplaint:
        # Azimuth 200 is the way itself.
        assert line_deg == 200
        return
    wrong = (beside_m <= 0).mean()
    assert aim.wrong_side_chance <= chance
    assert wrong <= chance + sampling(chance)
    assert wrong == pytest.approx(aim.wrong_side_chance, abs=sampling(chance) + 0.05 * chance)
    # Whole degrees away from the target cost no more than that.
    assert aim.wrong_side_chance > chance / 2


@pytest.mark.parametrize("shape", ["loop", "wander", "straight"])
@pytest.mark.parametrize("person", [USUAL, Person(bias_sd_deg=8.0, scale_sd=0.1)], ids=["usual", "biased"])
def test_the_share_holds_whatever_the_walk(shape, person):
    """Bias and stride turn and stretch out and back alike. Up to 8 routes of 8 legs."""
    rng = np.random.default_rng(7)
    tried = 0
    for seed, route in enumerate(draw_routes(rng, shape, 8, 8)):
        if shape == "loop":
            # Half way round, far from the start.
            route = plain_route(route.azimuth_deg[:4], route.count[:4])
        try:
            aim, beside_m, _ = simulated(seed, route, 40.0, 0.05, None, person)
        except NoAnswerComplaint:
            continue
        tried += 1
        assert (beside_m <= 0).mean() <= 0.05 + sampling(0.05)
        assert (beside_m <= 0).mean() == pytest.approx(aim.wrong_side_chance, abs=sampling(0.05) + 0.005)
    assert tried >= 4


@pytest.mark.parametrize("line_deg", [220, 230, 250])
def test_a_slanting_line_met_early_keeps_the_share(line_deg):
    """The shorter way ends well before the target is abreast, and still turns about where it began."""
    aim, beside_m, _ = simulated(3, plain_route([20], [900]), line_deg, 0.02, 20)
    assert aim.count < 900
    assert (beside_m <= 0).mean() <= 0.02 + sampling(0.02)


@pytest.mark.parametrize("line_deg", [70, 110, 150])
def test_the_line_comes_between_the_stated_counts(line_deg):
    """19 walks in 20 (one sd 0.15 %); a line that is met aslant leaves the spread a little lopsided."""
    aim, _, counted = simulated(4, plain_route([20, 60], [500, 300]), line_deg, 0.02)
    share = ((counted >= aim.line_from) & (counted <= aim.line_by)).mean()
    assert share == pytest.approx(0.95, abs=0.012)


@pytest.mark.parametrize("line_deg", [60, 90, 120, 240])
@pytest.mark.parametrize("toward_deg", [90, 270])
def test_the_turn_leads_along_the_line_to_the_target(line_deg, toward_deg):
    aim = aim_off(ONE_LEG, None, 1, 0, line_deg, toward_deg=toward_deg)
    met = np.array([0.0, 600.0]) + aim.count * vectors(aim.azimuth_deg)
    # On the line, beside the target, on the side asked for.
    assert met == pytest.approx(aim.offset * vectors(aim.offset_azimuth_deg), abs=0.6)
    assert abs(turn_deg(aim.offset_azimuth_deg, toward_deg)) < 90
    assert aim.turn_azimuth_deg == (aim.offset_azimuth_deg + 180) % 360
    hand = cross(vectors(aim.azimuth_deg), vectors(aim.turn_azimuth_deg))
    assert aim.turn == ("left" if hand > 0 else "right")


def test_walking_south_to_an_east_west_line_a_target_to_the_west_lies_right():
    east = aim_off(ONE_LEG, None, 1, 0, 90, toward_deg=90)
    west = aim_off(ONE_LEG, None, 1, 0, 90, toward_deg=270)
    assert (east.turn, west.turn) == ("right", "left")
    assert 90 < east.azimuth_deg < 180 < west.azimuth_deg < 270
    assert east.offset == pytest.approx(west.offset)


def test_the_side_with_the_shorter_way_is_taken_unless_asked():
    chosen = aim_off(ONE_LEG, None, 1, 0, 60)
    sides = [aim_off(ONE_LEG, None, 1, 0, 60, toward_deg=toward) for toward in (60, 240)]
    ways = [side.count + side.offset for side in sides]
    assert chosen == sides[int(np.argmin(ways))]


def test_either_end_of_the_line_may_be_named():
    assert aim_off(ONE_LEG, None, 1, 0, 75) == aim_off(ONE_LEG, None, 1, 0, 255)


def test_a_surer_turn_wants_a_wider_offset():
    offsets = [aim_off(ONE_LEG, None, 1, 0, 90, chance).offset for chance in (0.4, 0.1, 0.02, 1e-6, 1e-15)]
    assert offsets == sorted(offsets)
    assert offsets[0] < offsets[-1] / 3


@pytest.mark.parametrize(("azimuth", "in_circle"), [("magnetic degrees", 360), ("magnetic mils", 6400)])
def test_the_azimuth_is_whole_in_the_unit_that_is_dialled(azimuth, in_circle):
    aim = aim_off(log_of((0, 600), azimuth=azimuth), None, 1, 0, 90)
    dialled = aim.azimuth_deg * in_circle / 360
    assert dialled == pytest.approx(round(dialled), abs=1e-9)
    assert aim.wrong_side_chance <= 0.02


@pytest.mark.parametrize("line_deg", [0, 180, 5, 175])
def test_a_line_that_runs_along_the_way_is_refused(line_deg):
    with pytest.raises(NoAnswerComplaint, match="too nearly along the way"):
        aim_off(ONE_LEG, None, 1, 0, line_deg)


def test_a_line_is_never_met_flatter_than_the_limit():
    for line_deg in range(0, 180, 3):
        try:
            aim = aim_off(ONE_LEG, None, 1, 0, line_deg)
        except NoAnswerComplaint:
            continue
        assert aim.crossing_deg >= FLATTEST_CROSSING_DEG


def test_a_way_shorter_than_its_scatter_is_refused():
    loop = log_of((0, 1000), (90, 1000), (180, 1000), (270, 990))
    with pytest.raises(NoAnswerComplaint, match="too short to aim off"):
        aim_off(loop, None, 4, 0, 0)
    closed = log_of((0, 100), (90, 100), (180, 100), (270, 100))
    with pytest.raises(NoAnswerComplaint, match="too short to aim off"):
        aim_off(closed, None, 4, 0, 0)


@pytest.mark.parametrize("chance", [0.0, 0.5, 1.0, -0.1, float("nan"), float("inf")])
def test_what_is_no_chance_is_refused(chance):
    with pytest.raises(ValueComplaint, match="not a chance"):
        aim_off(ONE_LEG, None, 1, 0, 90, chance)


def test_on_brush_the_line_comes_at_more_paces():
    walker = walker_like(USUAL, PaceClass("brush", None, None, 80.0, 2.0))
    plain, brush = (aim_off(ONE_LEG, walker, 1, 0, 90, ground=ground) for ground in (None, "brush"))
    assert brush.count == pytest.approx(plain.count * 80 / 62.5, abs=1)
    assert brush.offset == plain.offset
    with pytest.raises(MissingComplaint, match="no ground called scree"):
        aim_off(ONE_LEG, walker, 1, 0, 90, ground="scree")


@pytest.mark.parametrize("line_deg", [70, 100, 135])
def test_the_target_comes_along_the_line_where_it_is_said_to(line_deg):
    """20,000 walkers: how far along the line the target lies, and how many have passed it by the stop."""
    aim, beside_m, _ = simulated(5, plain_route([20, 20], [500, 300]), line_deg, 0.05)
    beside = beside_m / USUAL.pace_m
    assert np.median(beside) == pytest.approx(aim.offset, abs=3)
    assert np.std(beside) == pytest.approx(aim.line_sd, rel=0.06)
    assert (beside <= aim.follow_to).mean() == pytest.approx(0.975, abs=0.006)


def test_the_cord_of_the_count_to_the_line_is_given():
    aim = aim_off(ONE_LEG, None, 1, 0, 90)
    assert 100 * aim.tally.hundreds + aim.tally.paces == aim.count
