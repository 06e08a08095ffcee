"""Where to stop, and the expanding square: published sides, and the share of targets that come into sight."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.answers.way import aim_off, way_back
from pacewright.core.pace.walker import PaceClass
from pacewright.core.way.search_pattern import (
    MOST_LEGS,
    SPACING_IN_SIGHTINGS,
    expanding_square,
    line_search,
    overshoot,
)
from pacewright.exceptions import NoAnswerComplaint, ValueComplaint
from pacewright.files.log_csv import read_log
from support.authorities import printed, read_authority
from support.logs import log_of, walker_like
from support.simulator import USUAL, draw_routes, walk, write_log_text

WAY = way_back(log_of((305, 400), (38, 500), (90, 300)))
"""95 times in 100 within about 140 paces along and 140 across."""


def test_sides_and_totals_are_the_published_ones():
    square = expanding_square(WAY, 12.0)
    published = read_authority("expanding_square_iamsar.csv")
    assert len(square.legs) >= len(published)
    for leg, row in zip(square.legs, published, strict=False):
        assert leg.length / square.spacing == pytest.approx(printed(row["length_in_spacings"]))
        assert leg.total / square.spacing == pytest.approx(printed(row["total_in_spacings"]))
        turned = (leg.azimuth_deg - WAY.azimuth_deg) % 360
        assert turned == pytest.approx(printed(row["turned_deg"]), abs=1e-9)


def test_sides_lie_so_far_apart_that_little_between_them_is_missed():
    """A sweep is worth 1.6 detection ranges (Koester et al., 2014), so the spacing is a little less."""
    assert expanding_square(WAY, 30.0).spacing == pytest.approx(SPACING_IN_SIGHTINGS * 30.0)
    assert SPACING_IN_SIGHTINGS < 1.6


def nearest_passage(targets, square):
    """How near the search passes each target by the end of each side, (sides, targets)."""
    spot, passed, sofar = np.zeros(2), [], np.full(len(targets), np.inf)
    for leg in square.legs:
        ahead = np.array([math.sin(math.radians(leg.azimuth_deg)), math.cos(math.radians(leg.azimuth_deg))])
        along = (targets - spot) @ ahead
        held = np.minimum(np.maximum(along, 0), leg.length)
        sofar = np.minimum(sofar, np.linalg.norm(targets - spot - held[:, None] * ahead, axis=1))
        passed.append(sofar)
        spot = spot + leg.length * ahead
    return np.array(passed)


@pytest.mark.parametrize("probability", [0.5, 0.95, 0.999])
@pytest.mark.parametrize("sighting", [15.0, 40.0])
def test_the_stated_share_of_targets_comes_into_sight(probability, sighting):
    """200,000 targets drawn from the region: one sd 0.11 % at most."""
    way = way_back(log_of((305, 400), (38, 500), (90, 300)), probability=probability)
    square = expanding_square(way, sighting)
    targets = np.random.default_rng(2).multivariate_normal([0, 0], way.covariance, 200_000)
    seen = (nearest_passage(targets, square) <= sighting).mean(axis=1)
    assert [leg.seen_share for leg in square.legs] == pytest.approx(seen, abs=0.006)
    assert seen[-1] >= probability - 0.002
    assert len(square.legs) == 1 or square.legs[-2].seen_share < probability


def test_a_long_narrow_region_is_searched_to_its_share():
    way = way_back(log_of((0, 900), (0, "900", "[est 60%]")))
    square = expanding_square(way, 60.0)
    targets = np.random.default_rng(3).multivariate_normal([0, 0], way.covariance, 200_000)
    assert (nearest_passage(targets, square)[-1] <= 60.0).mean() >= 0.948


def test_a_region_in_sight_at_once_takes_one_side():
    assert len(expanding_square(WAY, 1000.0).legs) == 1


@pytest.mark.parametrize("sighting", [15.0, 60.0, 200.0])
def test_the_share_in_sight_before_the_first_step_is_told(sighting):
    """200,000 targets drawn from the region: one sd 0.11 % at most."""
    targets = np.random.default_rng(4).multivariate_normal([0, 0], WAY.covariance, 200_000)
    at_once = (np.hypot(*targets.T) <= sighting).mean()
    assert expanding_square(WAY, sighting).seen_at_once == pytest.approx(at_once, abs=0.006)


@pytest.mark.parametrize("wrong_side", [0.02, 0.2])
@pytest.mark.parametrize("probability", [0.5, 0.95])
@pytest.mark.parametrize("sighting", [5.0, 40.0])
def test_a_search_along_the_line_brings_its_share_into_sight(wrong_side, probability, sighting):
    """200,000 targets on the line, as far from where it is met as the aim says."""
    aim = aim_off(log_of((0, 600)), None, 1, 0, 80, wrong_side)
    search = line_search(aim, sighting, probability)
    lies = np.random.default_rng(6).normal(aim.offset, aim.line_sd, 200_000)
    first, *more = search.legs
    assert first.azimuth_deg == aim.turn_azimuth_deg
    ends = [0.0, first.length, *(first.length - leg.length for leg in more)]
    seen = [
        ((lies >= min(ends[: k + 1]) - sighting) & (lies <= max(ends[: k + 1]) + sighting)).mean()
        for k in range(len(ends))
    ]
    assert [search.seen_at_once, *(leg.seen_share for leg in search.legs)] == pytest.approx(seen, abs=0.004)
    assert seen[-1] >= probability - 0.004
    assert all(leg.azimuth_deg == aim.offset_azimuth_deg for leg in more)


def test_a_search_along_the_line_goes_back_where_the_wrong_side_is_likely():
    aims = [aim_off(log_of((0, 600)), None, 1, 0, 80, chance) for chance in (0.01, 0.2)]
    assert [len(line_search(aim, 5.0).legs) for aim in aims] == [1, 2]


@pytest.mark.parametrize("sighting", [0.0, -5.0, math.nan, math.inf, 1e6])
def test_what_is_no_sighting_distance_is_refused_along_a_line_too(sighting):
    with pytest.raises(ValueComplaint, match="not a sighting distance"):
        line_search(aim_off(log_of((0, 600)), None, 1, 0, 80), sighting)


def test_a_smaller_share_takes_a_shorter_search():
    assert len(expanding_square(WAY, 15.0, 0.5).legs) < len(expanding_square(WAY, 15.0, 0.95).legs)


@pytest.mark.parametrize("sighting", [0.0, -5.0, math.nan, math.inf, 1e6])
def test_what_is_no_sighting_distance_is_refused(sighting):
    with pytest.raises(ValueComplaint, match="not a sighting distance"):
        expanding_square(WAY, sighting)


@pytest.mark.parametrize("sighting", [1e-9, 0.5])
def test_a_search_without_end_is_refused(sighting):
    with pytest.raises(NoAnswerComplaint, match=f"after {MOST_LEGS} sides"):
        expanding_square(WAY, sighting)


def test_a_search_where_nothing_was_walked_ends_at_once():
    assert len(expanding_square(way_back(log_of((0, 0))), 5.0).legs) == 1


@pytest.mark.parametrize("probability", [0.5, 0.95])
@pytest.mark.parametrize("shape", ["wander", "straight"])
def test_few_targets_lie_before_or_beyond_the_counts(shape, probability):
    """Along one line the reach of an ellipse leaves 1 - p of less than its share on both sides together.

    6 routes of 5,000 walks; one sd 0.3 %.
    """
    rng = np.random.default_rng(21)
    before, beyond = [], []
    for route in draw_routes(rng, shape, 6, 6):
        walked = walk(rng, route, 5_000)
        log = read_log(write_log_text(walked.notes(0)).encode())
        way = way_back(log, walker_like(), probability=probability)
        turn = overshoot(way)
        azimuth = np.radians(way.azimuth_deg + walked.bias_deg + 2.5 * rng.standard_normal(5_000))
        ahead = np.stack([np.sin(azimuth), np.cos(azimuth)], axis=1)
        abreast = (-walked.places_m[:, -1] * ahead).sum(axis=1) / (USUAL.pace_m * walked.scale)
        counted = abreast / (1 + 0.05 * rng.standard_normal(5_000))
        before.append((counted < turn.look_from).mean())
        beyond.append((counted > turn.stop_at).mean())
    assert np.mean(before) + np.mean(beyond) < 1 - probability
    # sqrt(-2 ln(1 - p)) sds: 1.2 % of a normal scatter lie outside at p = .95, 24 % at .5.
    one_side = 0.5 * math.erfc(math.sqrt(-math.log(1 - probability)))
    assert np.mean(beyond) == pytest.approx(one_side, abs=0.012)


def test_the_counts_lie_about_the_full_count():
    turn = overshoot(WAY)
    assert turn.expect_at == WAY.count
    assert turn.stop_at - WAY.count == pytest.approx(WAY.along, abs=1)
    assert WAY.count - turn.look_from == pytest.approx(WAY.along, abs=1)


def test_on_brush_all_three_counts_are_the_brushs():
    log, walker = log_of((0, 625)), walker_like(USUAL, PaceClass("brush", None, None, 80.0, 0.001))
    plain, brush = (overshoot(way_back(log, walker, ground=ground)) for ground in (None, "brush"))
    for one, other in zip(
        (plain.look_from, plain.expect_at, plain.stop_at),
        (brush.look_from, brush.expect_at, brush.stop_at),
        strict=True,
    ):
        assert other == pytest.approx(one * 80 / 62.5, abs=1.5)


def test_a_way_of_a_step_or_none_still_says_when_to_stop():
    for log in (log_of((0, 100), (180, 100)), log_of((0, 100.3), (180, 100))):
        way = way_back(log)
        assert overshoot(way).look_from == 0
        assert overshoot(way).stop_at == pytest.approx(way.count + way.along, abs=1)
