"""A made-up walker's figures are learnt from logs beside their tracks, as surely as stated.

Tracks scatter by 5 m in each coordinate and drift over a minute. The walker, unlike what is believed:
64.5 paces to 100 m and not 62.5, a compass that reads low by 2 degrees. Fixed seeds, a stated number
of runs.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest

from pacewright.core.learn.learning import learn
from pacewright.core.pace.walker import PaceClass
from pacewright.files.log_csv import read_log
from pacewright.ground.track import Track
from pacewright.ground.track_truth import compare
from support.logs import walker_like
from support.made_tracks import BEGAN_S, on_the_map, recorded
from support.simulator import USUAL, Person, draw_route, walk, write_log_text

pytestmark = pytest.mark.statistical

OFF_DEG = 2
INES_TRULY = Person(pace_m=1.55, bias_sd_deg=0.5, scale_sd=0.015, azimuth_sd_deg=3.5, count_sd=0.05)
BELIEVED = walker_like(USUAL, PaceClass("brush", None, None, 68.0, per_100_m_sd=3.4, runs=2))
BRUSH = 1.15
"""Brush truly takes so many times the paces of ordinary ground; believed is 68 / 62.5 = 1.09."""
SHAPES = ("loop", "wander")


def a_walk(seed, *, legs=14, brush=range(5, 12), more_paces=0, person=INES_TRULY):
    """A log and its track, and the walk; `more_paces` are written too many on the longest leg."""
    rng = np.random.default_rng(seed)
    route = draw_route(rng, SHAPES[seed % 2], legs, median_m=250.0, sigma=0.5, person=person)
    walked = walk(rng, route, 1, person)
    notes = walked.notes(0)
    count = np.where(np.isin(np.arange(legs), brush), np.rint(notes.count * BRUSH), notes.count).astype(int)
    count[int(np.argmax(count))] += more_paces
    text = write_log_text(replace(notes, azimuth_deg=(notes.azimuth_deg - OFF_DEG) % 360, count=count))
    rows = text.replace("magnetic degrees", "grid degrees").splitlines()
    for leg in brush:
        rows[leg - legs] += " [ground brush]"
    place_m, time_s = recorded(rng, walked.places_m[0], 5.0, 60.0)
    return read_log(("\n".join(rows) + "\n").encode()), Track(*on_the_map(place_m), time_s + BEGAN_S), walked


def told(seed, walker, **how):
    log, track, _ = a_walk(seed, **how)
    return compare(log, track, walker).told


def season(number, walker=BELIEVED, logs=6, spoiled=MappingProxyType({})):
    """Learn from one log after the other, compared with the walker of the day; `spoiled` says which has
    how many paces too many on a leg."""
    said = []
    for k in range(logs):
        learnt = learn(walker, told(100 * number + k, walker, more_paces=spoiled.get(k, 0)))
        walker = learnt.walker
        said += learnt.said
    return walker, said


@pytest.fixture(scope="module")
def seasons():
    return [season(number)[0] for number in range(1, 11)]


@pytest.fixture(scope="module")
def single():
    """What each of 40 walks told, and what was true of it."""
    found = []
    for seed in range(40):
        log, track, walked = a_walk(seed)
        one = compare(log, track, BELIEVED).told
        length = np.log(INES_TRULY.pace_m * walked.scale[0] / USUAL.pace_m)
        on_brush = length - np.log(BRUSH) + np.log(68.0 / 62.5)
        turn = np.radians(walked.bias_deg[0] + OFF_DEG)
        found.append((one, turn, length, on_brush))
    return found


def test_one_walk_tells_bias_pace_count_and_ground_as_surely_as_it_says(single):
    """40 walks: at least 36 within two stated standard deviations, of each figure, and not all within one."""
    off = np.array(
        [
            (
                (one.turn.value - turn) / np.sqrt(one.turn.variance),
                (one.length[0] - length) / np.sqrt(one.length_covariance[0, 0]),
                (one.length[1] - brush) / np.sqrt(one.length_covariance[1, 1]),
            )
            for one, turn, length, brush in single
        ]
    )
    assert ((np.abs(off) < 2).sum(axis=0) >= 36).all(), off
    assert ((np.abs(off) > 0.67).sum(axis=0) >= 8).all(), off


def test_a_receivers_scatter_is_not_taken_for_the_walkers(single):
    """40 walks each of a usual and a steady walker: pooled, scatter within a sixth of the true one."""
    steady = replace(INES_TRULY, azimuth_sd_deg=2.0, count_sd=0.03)
    of_steady = [told(seed, walker_like(steady), person=steady, brush=()) for seed in range(40)]
    for walks, azimuth, count in (([one for one, *_ in single], 3.5 / 2.5, 1.0), (of_steady, 1.0, 1.0)):
        assert pooled([one.azimuth for one in walks]) == pytest.approx(azimuth, rel=1 / 6)
        assert pooled([one.count for one in walks]) == pytest.approx(count, rel=1 / 6)


def pooled(logarithms):
    weight = np.array([1.0 / one.variance for one in logarithms])
    squares = np.array([np.exp(2.0 * one.value) for one in logarithms])
    return np.sqrt((weight * squares).sum() / weight.sum())


def test_a_season_of_tracks_brings_out_the_walker(seasons):
    """10 seasons of 6 logs: means near the truth, and spread as stated."""
    truth = 100 / INES_TRULY.pace_m
    found = np.array([w.per_100_m for w in seasons])
    assert found.mean() == pytest.approx(truth, abs=0.7)
    sd = np.array([w.count.scale_sd_pct / 100 * w.per_100_m for w in seasons])
    assert (np.abs(found - truth) < 2 * sd).sum() >= 9
    bias = np.array([w.compass.bias_deg for w in seasons])
    assert bias.mean() == pytest.approx(OFF_DEG, abs=0.6)
    assert (np.abs(bias - OFF_DEG) < 2 * np.array([w.compass.bias_sd_deg for w in seasons])).sum() >= 9
    brush = np.array([w.classes[0].per_100_m / w.per_100_m for w in seasons])
    brush_sd = np.array([w.classes[0].per_100_m_sd / w.per_100_m for w in seasons])
    assert brush.mean() == pytest.approx(BRUSH, abs=0.03)
    assert (np.abs(brush - BRUSH) < 2 * brush_sd).sum() >= 9
    assert (brush_sd < 0.03).all()
    assert {w.classes[0].runs for w in seasons} == {2}


def test_scatter_moves_to_the_walkers_own_within_its_doubt(seasons):
    for value, freedom, true in (
        (lambda w: w.compass.azimuth_sd_deg, lambda w: w.evidence.azimuth_freedom, 3.5),
        (lambda w: w.count.count_sd_pct, lambda w: w.evidence.count_freedom, 5.0),
    ):
        off = [np.log(value(w) / true) * np.sqrt(2 * freedom(w)) for w in seasons]
        assert (np.abs(off) < 2).sum() >= 8, off


@pytest.mark.parametrize("more_paces", [100, 1000])
def test_one_leg_with_a_tally_too_many_spoils_nothing(seasons, more_paces):
    clean = seasons[0]
    spoiled, _ = season(1, spoiled={3: more_paces})
    assert spoiled.per_100_m == pytest.approx(clean.per_100_m, rel=0.01)
    assert spoiled.compass.bias_deg == pytest.approx(clean.compass.bias_deg, abs=0.3)
    assert spoiled.compass.azimuth_sd_deg == pytest.approx(clean.compass.azimuth_sd_deg, rel=0.1)
    assert spoiled.count.count_sd_pct == pytest.approx(clean.count.count_sd_pct, rel=0.2)


def test_the_track_of_another_walk_is_set_aside():
    set_aside = 0
    for seed in range(20, 30):
        log, _, _ = a_walk(seed)
        _, track, _ = a_walk(seed + 51)
        learnt = learn(BELIEVED, compare(log, track, BELIEVED).told)
        set_aside += learnt.walker == BELIEVED and "set aside" in learnt.said[0]
    assert set_aside >= 9


def test_a_declination_left_out_is_set_aside_and_not_taken_for_the_compass():
    log, track, _ = a_walk(7)
    turned = replace(log, heading=replace(log.heading, azimuth_reference="magnetic", declination_deg=-14.0))
    learnt = learn(BELIEVED, compare(turned, track, BELIEVED).told)
    assert learnt.walker == BELIEVED
    assert "Look for a wrong declination" in learnt.said[0]
