"""The made-up walkers behave as the formulas for their mean and covariance say."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.files.log_csv import read_log
from support.made_mistakes import KINDS, entries_after, spoil
from support.simulator import (
    USUAL,
    Person,
    Sighting,
    draw_route,
    in_walkers_paces,
    plain_route,
    sight,
    walk,
    walk_instruction,
    write_log_text,
)

WALKS = 100_000


def moments_of_the_end(route, person):
    """The exact mean and covariance of the end, east and north in metres.

    Each leg is a complex number, north + i east, turned by normal angles and stretched by normal
    factors; the characteristic function of the normal law gives E z, E |z|^2 and E z^2.
    """
    azimuth = np.radians(route.azimuth_deg)
    counted_sd = np.maximum(person.count_sd * route.count, person.count_floor)
    count_sd = np.where(route.estimate_sd > 0, route.estimate_sd * route.count, counted_sd)
    factor_var = (count_sd**2 + 1 / 12) / route.count**2
    turn_var = np.full(azimuth.shape, np.radians(person.azimuth_sd_deg) ** 2 + np.radians(1.0) ** 2 / 12)
    length = route.count * person.pace_m
    for i in np.flatnonzero(route.boxed):
        offset = abs(route.boxed[i])
        for turn in (np.pi / 2, -np.pi / 2):
            azimuth = np.append(azimuth, azimuth[i] + turn)
            length = np.append(length, offset * person.pace_m)
            turn_var = np.append(turn_var, np.radians(person.azimuth_sd_deg) ** 2)
            factor_var = np.append(
                factor_var, (max(person.count_sd * offset, person.count_floor) / offset) ** 2
            )
    w = length * np.exp(1j * azimuth)
    shrink = np.exp(-turn_var / 2)
    bias_var, scale_var = np.radians(person.bias_sd_deg) ** 2, person.scale_sd**2
    mean = np.exp(scale_var / 2 - bias_var / 2) * np.sum(shrink * w)
    total = np.sum(shrink * w)
    square = np.exp(2 * scale_var) * (
        abs(total) ** 2 - np.sum(shrink**2 * abs(w) ** 2) + np.sum((1 + factor_var) * abs(w) ** 2)
    )
    double = np.exp(2 * scale_var - 2 * bias_var) * (
        total**2 - np.sum(shrink**2 * w**2) + np.sum(shrink**4 * (1 + factor_var) * w**2)
    )
    north_var = (square + double.real) / 2 - mean.real**2
    east_var = (square - double.real) / 2 - mean.imag**2
    both = double.imag / 2 - mean.real * mean.imag
    return np.array([mean.imag, mean.real]), np.array([[east_var, both], [both, north_var]])


def boxed_and_estimated(route):
    boxed, estimated = route.boxed.copy(), route.estimate_sd.copy()
    boxed[1], boxed[3] = 40, -60
    estimated[2] = 0.15
    return replace(route, boxed=boxed, estimate_sd=estimated)


@pytest.mark.parametrize("shape", ["loop", "wander", "straight"])
@pytest.mark.parametrize("n_legs", [5, 20])
@pytest.mark.parametrize("change", [lambda route: route, boxed_and_estimated])
def test_ends_scatter_as_the_exact_moments_say(shape, n_legs, change):
    rng = np.random.default_rng(20260514)
    route = change(draw_route(rng, shape, n_legs))
    ends = walk(rng, route, WALKS).places_m[:, -1]
    mean, covariance = moments_of_the_end(route, USUAL)
    sd = np.sqrt(np.diag(covariance))
    assert np.all(abs(ends.mean(axis=0) - mean) < 4 * sd / np.sqrt(WALKS))
    # A covariance of normal variables, divided by both sds, has a standard error under sqrt(2 / n).
    difference = (np.cov(ends.T) - covariance) / np.outer(sd, sd)
    assert np.all(abs(difference) < 4.5 * np.sqrt(2 / WALKS))


def test_a_large_compass_bias_scatters_as_the_exact_moments_say():
    rng = np.random.default_rng(1)
    person = Person(bias_sd_deg=10.0)
    route = draw_route(rng, "wander", 20)
    ends = walk(rng, route, WALKS, person).places_m[:, -1]
    mean, covariance = moments_of_the_end(route, person)
    sd = np.sqrt(np.diag(covariance))
    assert np.all(abs(ends.mean(axis=0) - mean) < 4 * sd / np.sqrt(WALKS))
    assert np.all(abs((np.cov(ends.T) - covariance) / np.outer(sd, sd)) < 0.03)


def test_a_planned_loop_closes():
    rng = np.random.default_rng(2)
    for _ in range(10):
        route = draw_route(rng, "loop", 10)
        azimuth = np.radians(route.azimuth_deg)
        gap = np.hypot(np.sum(route.count * np.sin(azimuth)), np.sum(route.count * np.cos(azimuth)))
        # Whole degrees and whole paces leave about half a degree on every leg, no more.
        assert gap < 0.02 * route.count.sum()


def test_a_closing_walk_ends_where_it_began_and_its_notes_need_not():
    rng = np.random.default_rng(3)
    walked = walk(rng, draw_route(rng, "loop", 8), 200, closes=True)
    assert np.allclose(walked.places_m[:, -1], 0, atol=1e-6)
    azimuth = np.radians(walked.azimuth_deg)
    east = np.sum(walked.count * np.sin(azimuth), axis=1)
    assert np.std(east) > 5


def test_a_sure_walker_who_walks_an_instruction_back_stands_at_the_start():
    rng = np.random.default_rng(4)
    sure = Person(azimuth_sd_deg=0.0, count_sd=0.0, count_floor=0.0)
    walked = walk(rng, plain_route([90], [1000]), 500, sure)
    back = walk_instruction(rng, 270, 1000, walked.bias_deg, walked.scale, sure)
    left = in_walkers_paces(walked.places_m[:, -1] + back, walked.bias_deg, walked.scale, sure)
    # Only the half degree and half pace that the notes leave out do not cancel.
    assert np.all(abs(left[:, 0]) <= 0.6)
    assert np.all(abs(left[:, 1]) <= 1000 * np.radians(0.5) + 0.1)
    assert np.ptp(walked.places_m[:, -1, 1]) > 100


def test_a_walkers_own_paces_undo_bias_and_scale():
    rng = np.random.default_rng(5)
    sure = Person(azimuth_sd_deg=0.0, count_sd=0.0, count_floor=0.0)
    walked = walk(rng, plain_route([0, 90], [500, 500]), 300, sure)
    own = in_walkers_paces(walked.places_m[:, -1], walked.bias_deg, walked.scale, sure)
    assert np.all(abs(own - 500) < 6)


def test_sightings_share_half_the_bias_variance():
    rng = np.random.default_rng(6)
    person = Person(sighting_sd_deg=0.0, bias_sd_deg=6.0)
    walked = walk(rng, plain_route([0], [100]), 50_000, person)
    written = sight(rng, walked, 0, (0.0, 1000.0), person)
    off = (written + 180) % 360 - 180
    assert np.std(off) == pytest.approx(6.0 / np.sqrt(2), rel=0.02)
    assert np.corrcoef(off, walked.bias_deg)[0, 1] == pytest.approx(-np.sqrt(0.5), abs=0.01)


def test_a_log_is_written_row_by_row():
    rng = np.random.default_rng(7)
    route = boxed_and_estimated(plain_route([305, 38, 52, 97], [240, 185, 330, 70]))
    notes = replace(
        walk(rng, route, 1).notes(0),
        marks={2: "Split oak", 4: "Gate"},
        sightings=(Sighting(0, "Fire tower", 12), Sighting(2, "Fire tower", 346)),
        known={"Fire tower": (120.0, -40.0, 10.0)},
        declination_deg=-5.5,
    )
    assert write_log_text(notes).splitlines() == [
        "# title: Made-up walk",
        "# walker: Ines Rowe",
        "# azimuth: magnetic degrees",
        "# count: paces",
        "# start: Gate",
        "# declination: 5.5 W",
        "# known: Fire tower = local 120.0 -40.0 +-10 m",
        "azimuth,count,notes",
        "12,,[see Fire tower]",
        "305,240,",
        "38,185,[box right 40] [at Split oak]",
        "346,,[see Fire tower]",
        "52,330,[est 15%]",
        "97,70,[box left 60] [at Gate]",
    ]


def test_the_tool_reads_a_made_up_log_as_it_was_meant():
    rng = np.random.default_rng(11)
    route = boxed_and_estimated(draw_route(rng, "loop", 8))
    walked = walk(rng, route, 2, closes=True)
    tower_m = (300.0, -450.0)
    notes = replace(
        walked.notes(1),
        marks={8: "Gate"},
        sightings=(Sighting(3, "Fire tower", int(sight(rng, walked, 3, tower_m)[1])),),
        known={"Fire tower": (*tower_m, 10.0)},
    )
    log = read_log(write_log_text(notes).encode())
    assert [(leg.azimuth_deg, leg.count) for leg in log.legs] == list(
        zip(notes.azimuth_deg.tolist(), notes.count.tolist(), strict=True)
    )
    assert [(box.side, box.offset) for leg in log.legs for box in leg.boxes] == [("right", 40), ("left", 60)]
    assert log.station_names() == ("Gate", *[None] * 7, "Gate")
    ((station, sighting),) = log.sightings()
    assert (station, sighting.name, sighting.azimuth_deg) == (3, "Fire tower", notes.sightings[0].azimuth_deg)
    assert log.heading.known[0].local_m == tower_m


@pytest.mark.parametrize("kind", KINDS)
def test_a_mistake_changes_the_notes_and_only_where_it_says(kind):
    rng = np.random.default_rng(8)
    route = draw_route(rng, "wander", 12, median_m=1600, detours=2)
    notes = replace(walk(rng, route, 1).notes(0), marks={5: "Split oak"})
    for _ in range(50):
        made = spoil(rng, notes, kind)
        assert made is not None
        spoiled, leg = made
        if kind == "leg_missing":
            assert spoiled.count.size == notes.count.size - 1
            assert np.array_equal(np.insert(spoiled.count, leg, notes.count[leg]), notes.count)
            continue
        changed = (spoiled.azimuth_deg != notes.azimuth_deg) | (spoiled.count != notes.count)
        struck = (np.flatnonzero(changed) + 1).tolist()
        if kind == "declination_mirrored":
            assert leg is None
            assert len(struck) == notes.count.size
        elif kind == "offset_mirrored":
            assert struck == [leg, leg + 2]
        else:
            assert struck == [leg]
        assert np.all((spoiled.azimuth_deg >= 0) & (spoiled.azimuth_deg < 360) & (spoiled.count > 0))


def test_the_ways_of_a_mistake_are_the_ones_a_pencil_can_make():
    assert entries_after("tally_lost", 305, 240) == [(305, 140)]
    assert entries_after("tally_lost", 305, 100) == []
    assert entries_after("thousand_lost", 305, 1240) == [(305, 240)]
    assert entries_after("azimuth_reversed", 305, 240) == [(125, 240)]
    assert entries_after("digit_misread", 305, 240) == [(315, 240), (205, 240)]
    assert entries_after("digits_swapped", 125, 240) == [(215, 240), (152, 240), (125, 420), (125, 204)]
    assert entries_after("steps_for_paces", 305, 240) == [(305, 480)]
    assert entries_after("paces_for_steps", 305, 240) == [(305, 120)]
    assert entries_after("quadrant_wrong", 305, 240) == [(35, 240), (215, 240)]


def test_a_mistake_that_cannot_happen_is_not_made():
    rng = np.random.default_rng(9)
    notes = walk(rng, plain_route([90, 180], [50, 60]), 1).notes(0)
    assert spoil(rng, notes, "thousand_lost") is None
    assert spoil(rng, notes, "offset_mirrored") is None


def test_a_missing_leg_keeps_the_names_of_the_stations_left():
    rng = np.random.default_rng(10)
    notes = replace(walk(rng, plain_route([0, 90, 180], [50, 60, 70]), 1).notes(0), marks={3: "Gate"})
    for _ in range(20):
        spoiled, _ = spoil(rng, notes, "leg_missing")
        assert spoiled.marks == {2: "Gate"}
