"""A made-up walker's figures are learnt from logs, as far as the logs tell them and no further.

Walks come from a simulator that shares no code with the tool; the true figures are those it was given.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.core.adjust.adjustment import adjust
from pacewright.core.learn.believed_figures import HALF_LIFE_LOGS
from pacewright.core.learn.evidence import LeftOut
from pacewright.core.learn.learning import learn
from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.core.pace.walker import Evidence, PaceClass, Walker
from pacewright.core.way.frames import map_frame, walker_frame
from pacewright.files.log_csv import read_log
from pacewright.files.walker_toml import read_walker, write_walker
from support.logs import log_of, walker_like
from support.made_adjustments import draw_controlled
from support.simulator import USUAL, Person, Sighting, write_log_text

OFF_DEG = 2.0
INES_TRULY = Person(
    pace_m=1.55, bias_sd_deg=0.5, scale_sd=0.015, azimuth_sd_deg=3.5, count_sd=0.07, sighting_sd_deg=1.2
)
"""Unlike what is believed of her: 64.5 paces to 100 m and not 62.5, and a compass that reads low by 2 deg."""

BELIEVED = walker_like()


def a_log(rng, *, known=("middle",), tower="known", spoiled=False, person=INES_TRULY):
    """A loop of 15 legs; every azimuth and bearing reads `OFF_DEG` low."""
    notes = draw_controlled(rng, "loop", 15, known=known, tower=tower, person=person).notes
    count = notes.count.copy()
    count[4] += 1000 * spoiled
    low = [Sighting(s.station, s.target, int(s.azimuth_deg - OFF_DEG) % 360) for s in notes.sightings]
    azimuth = (notes.azimuth_deg - int(OFF_DEG)) % 360
    return read_log(
        write_log_text(replace(notes, azimuth_deg=azimuth, count=count, sightings=tuple(low))).encode()
    )


def on_map(log, walker, **how):
    return adjust(log, walker, map_frame(log.heading, walker), **how)


def season(seed, logs, *, walker=BELIEVED, spoiled=(), **how):
    """Learn from one log after the other; give the walker at the end and what was said of each log."""
    rng, said = np.random.default_rng(seed), []
    for number in range(logs):
        learnt = learn(walker, on_map(a_log(rng, spoiled=number in spoiled, **how), walker))
        walker = learnt.walker
        said.append(learnt.said)
    return walker, said


@pytest.fixture(scope="module")
def seasons():
    return [season(seed, 15)[0] for seed in range(10)]


@pytest.mark.statistical
def test_known_points_bring_out_the_pace_count_and_its_uncertainty(seasons):
    found = np.array([w.per_100_m for w in seasons])
    # What is left after 15 logs is the day-to-day change, 1.5 %, over as many logs, and a little more.
    assert found.mean() == pytest.approx(100 / 1.55, abs=0.4)
    day = 0.015
    mean_sd = np.array([np.sqrt((w.count.scale_sd_pct / 100) ** 2 - day**2) * w.per_100_m for w in seasons])
    assert np.mean(((found - 100 / 1.55) / mean_sd) ** 2) < 2.5
    assert all(1.5 < w.count.scale_sd_pct < 2.0 for w in seasons)


def test_known_points_bring_out_the_compass_bias(seasons):
    bias = np.array([w.compass.bias_deg for w in seasons])
    standing = np.array([w.compass.sighting_bias_deg for w in seasons])
    assert bias.mean() == pytest.approx(OFF_DEG, abs=0.35)
    assert standing.mean() == pytest.approx(OFF_DEG, abs=0.35)
    assert all(0.5 < w.compass.bias_sd_deg < 0.8 for w in seasons)


def test_scatter_moves_towards_the_walkers_own(seasons):
    mean = np.mean(
        [(w.compass.azimuth_sd_deg, w.count.count_sd_pct, w.compass.sighting_sd_deg) for w in seasons], axis=0
    )
    believed, truly = np.array([2.5, 5.0, 2.0]), np.array([3.5, 7.0, 1.2])
    share = (mean - believed) / (truly - believed)
    # Half way at least, and not beyond by more than what chance makes of ten walkers.
    assert (share > 0.4).all()
    assert (share < 1.3).all()


def test_the_next_log_fits_better_after_learning(seasons):
    rng, before, after = np.random.default_rng(99), [], []
    for walker in seasons:
        log = a_log(rng, known=("middle",))
        for figures, off in ((BELIEVED, before), (walker, after)):
            off.append(on_map(log, figures).misfit2 / 9)
    assert abs(np.mean(after) - 1) < abs(np.mean(before) - 1)


def test_loops_alone_leave_pace_count_and_compass_bias_as_they_are():
    walker, said = season(1, 8, known=(), tower="")
    assert walker.per_100_m == BELIEVED.per_100_m
    assert walker.count.scale_sd_pct == BELIEVED.count.scale_sd_pct
    assert (walker.compass.bias_deg, walker.compass.bias_sd_deg) == (0.0, BELIEVED.compass.bias_sd_deg)
    assert all("neither pace count nor compass bias" in one for (one,) in said)
    assert walker.evidence.azimuth_freedom > 8


def test_one_bad_log_is_set_aside_and_spoils_nothing():
    log = a_log(np.random.default_rng(3), spoiled=True)
    learnt = learn(BELIEVED, on_map(log, BELIEVED))
    assert learnt.walker == BELIEVED
    assert learnt.changes == ()
    assert "set aside" in learnt.said[0]
    clean, _ = season(4, 10)
    with_a_bad_one, _ = season(4, 10, spoiled=(5,))
    assert with_a_bad_one.per_100_m == pytest.approx(clean.per_100_m, abs=0.7)
    assert with_a_bad_one.compass.bias_deg == pytest.approx(clean.compass.bias_deg, abs=0.7)


def test_an_odd_known_point_pulls_only_so_far():
    # 30 % further than counted fits the legs themselves (all are long by as much) but no walker.
    walker = replace(BELIEVED, count=CountScatter(scale_sd_pct=1.6, count_sd_pct=12.0))
    log = log_of(*[(0, 100)] * 9, (0, 100, "[at Oak]"), more=["known: Oak = local 0 1900 +-1 m"])
    learnt = learn(walker, on_map(log, walker))
    assert learnt.walker.per_100_m == pytest.approx(62.5, rel=0.02)


def test_a_log_with_nothing_to_check_it_teaches_nothing():
    learnt = learn(BELIEVED, on_map(log_of((0, 100), (90, 100)), BELIEVED))
    assert learnt.walker == BELIEVED
    assert "nothing that checks it" in learnt.said[0]


def test_old_evidence_counts_for_half_after_the_stated_number_of_logs():
    # Long-settled figures, and loops that say nothing of them: their weight beyond the default halves.
    settled = replace(
        BELIEVED,
        compass=CompassScatter(bias_deg=3.0, sighting_bias_deg=1.5, bias_sd_deg=0.6),
        evidence=Evidence(logs=20.0),
    )

    def weight(walker):
        return 1 / (walker.compass.bias_sd_deg**2 - 0.25)

    rng = np.random.default_rng(5)
    adjusted = [on_map(a_log(rng, known=(), tower="", person=USUAL), settled) for _ in range(10)]
    told = learn(settled, *adjusted, on_map(a_log(rng, person=USUAL), settled))
    assert HALF_LIFE_LOGS == 10
    # Ten loops and one log with a known point: the bias has faded eleven times and was told once.
    untold = weight(BELIEVED) + (weight(settled) - weight(BELIEVED)) * 0.5**1.1
    assert untold < weight(told.walker) < weight(settled)
    assert told.walker.evidence.logs == pytest.approx(
        20 * 0.5**1.1 + sum(0.5 ** (k / 10) for k in range(11)), abs=0.01
    )


def test_a_class_of_ground_is_learnt_where_it_shows():
    walker = walker_like(USUAL, PaceClass("brush", None, None, 70.0, per_100_m_sd=7.0))
    # 1000 m of ordinary ground as counted; then 1000 m of brush that took 800 paces: 80 to 100 m.
    log = log_of(
        *[(0, 125)] * 4,
        (0, 125, "[at Oak]"),
        *[(90, 160, "[ground brush]")] * 4,
        (90, 160, "[ground brush] [at Elm]"),
        more=["known: Oak = local 0 1000 +-2 m", "known: Elm = local 1000 1000 +-2 m"],
    )
    learnt = learn(walker, on_map(log, walker))
    (brush,) = learnt.walker.classes
    assert 75 < brush.per_100_m < 82
    assert brush.per_100_m_sd < 4
    assert learnt.walker.per_100_m == pytest.approx(62.5, rel=0.02)
    assert any(change.name == "pace count on brush" for change in learnt.changes)


def test_a_log_counted_in_metres_says_nothing_of_paces():
    log = log_of(
        *[(0, 160)] * 9, (0, 160, "[at Oak]"), count="metres", more=["known: Oak = local 0 1640 +-1 m"]
    )
    learnt = learn(BELIEVED, on_map(log, BELIEVED))
    assert learnt.walker.per_100_m == BELIEVED.per_100_m
    assert learnt.walker.compass.bias_sd_deg < BELIEVED.compass.bias_sd_deg


def test_paces_alone_teach_scatter():
    log = a_log(np.random.default_rng(8), known=(), tower="")
    learnt = learn(BELIEVED, adjust(log, BELIEVED, walker_frame(log.heading, BELIEVED)))
    assert {change.name for change in learnt.changes} == {"scatter of azimuths", "scatter of counts"}


def test_before_and_after_are_told_with_their_uncertainty():
    learnt = learn(BELIEVED, on_map(a_log(np.random.default_rng(1)), BELIEVED))
    pace = next(change for change in learnt.changes if change.name == "pace count")
    assert (pace.before, pace.before_sd) == (62.5, pytest.approx(1.875))
    assert pace.after == learnt.walker.per_100_m
    assert 0 < pace.after_sd < pace.before_sd


def test_where_a_figure_comes_from_is_written_beside_it():
    begun = replace(BELIEVED, origin={"pace.per_100_m": "6 runs on road, level"})
    walker, _ = season(1, 2, walker=begun)
    assert walker.origin["pace.per_100_m"].startswith(
        "own logs (1.9 logs' worth, half of it forgotten every 10"
    )
    assert walker.origin["pace.per_100_m"].endswith("; begun from: 6 runs on road, level")
    assert "pace.per_100_m_sd" not in walker.origin


def test_what_was_learnt_comes_back_from_its_file(seasons):
    for walker in seasons[:3]:
        assert read_walker(write_walker(walker)) == walker


def test_a_walker_never_measured_learns_scatter_in_paces():
    log = log_of((0, 300), (90, 200), (200, 320), (290, 120, "[at Gate]"))
    learnt = learn(Walker(), adjust(log, Walker()))
    assert learnt.walker.per_100_m is None
    assert learnt.walker.evidence.logs == 1


def test_a_log_left_out_teaches_nothing_and_is_named_with_its_reason():
    adjusted = on_map(a_log(np.random.default_rng(1)), BELIEVED)
    both = learn(BELIEVED, LeftOut("is left out: so it is."), adjusted, names=["one.csv", "two.csv"])
    assert both.said == ("one.csv is left out: so it is.",)
    assert both.walker == learn(BELIEVED, adjusted).walker
    alone = learn(BELIEVED, LeftOut("is left out: so it is."))
    assert (alone.walker, alone.changes, alone.said) == (BELIEVED, (), ("The log is left out: so it is.",))
