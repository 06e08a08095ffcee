"""The way back: who follows it stands where it says, from any station to any other."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.answers.way import way_back
from pacewright.core.compass import back_azimuth
from pacewright.core.pace.tally import Tally
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.files.log_csv import read_log
from support.logs import log_of, walker_like
from support.simulator import (
    USUAL,
    Person,
    draw_routes,
    in_walkers_paces,
    walk,
    walk_instruction,
    write_log_text,
)

BRUSH = PaceClass("brush", None, None, 80.0, per_100_m_sd=4.0)
ON_BRUSH = walker_like(USUAL, BRUSH)


@pytest.mark.parametrize("shape", ["loop", "wander", "straight"])
def test_from_any_station_to_any_other_the_walker_stands_in_the_region(shape):
    """8 routes of 12 legs, 4 pairs of stations each, 2,000 walks: one sd 0.1 %, of 50 % 0.2 %."""
    rng = np.random.default_rng(12)
    person = Person(bias_sd_deg=6.0, scale_sd=0.1)
    inside = {0.5: [], 0.95: []}
    for route in draw_routes(rng, shape, 12, 8):
        walked = walk(rng, route, 2_000, person)
        log = read_log(write_log_text(walked.notes(0)).encode())
        for _ in range(4):
            here, there = rng.choice(13, 2, replace=False).tolist()
            for probability, shares in inside.items():
                way = way_back(
                    log, walker_like(person), from_station=here, to_station=there, probability=probability
                )
                back = walk_instruction(
                    rng, round(way.azimuth_deg) % 360, way.count, walked.bias_deg, walked.scale, person
                )
                beside = walked.places_m[:, here] + back - walked.places_m[:, there]
                own = in_walkers_paces(beside, walked.bias_deg, walked.scale, person)
                shares.append(way.region.contains(own + way.region.center).mean())
    assert np.mean(inside[0.5]) == pytest.approx(0.5, abs=0.02)
    assert np.mean(inside[0.95]) == pytest.approx(0.95, abs=0.01)


@pytest.mark.parametrize("shape", ["wander", "straight"])
def test_who_holds_an_azimuth_badly_still_stands_in_the_region(shape):
    """10 degrees: what runners keep over 500 m. 8 routes of 5 legs, 5,000 walks; one sd 0.1 %."""
    rng = np.random.default_rng(13)
    person = Person(azimuth_sd_deg=10.0)
    inside = []
    for route in draw_routes(rng, shape, 5, 8):
        walked = walk(rng, route, 5_000, person)
        log = read_log(write_log_text(walked.notes(0)).encode())
        way = way_back(log, walker_like(person))
        back = walk_instruction(
            rng, round(way.azimuth_deg) % 360, way.count, walked.bias_deg, walked.scale, person
        )
        own = in_walkers_paces(walked.places_m[:, -1] + back, walked.bias_deg, walked.scale, person)
        inside.append(way.region.contains(own).mean())
    assert np.mean(inside) == pytest.approx(0.95, abs=0.01)


def test_the_way_back_over_one_leg_is_its_back_azimuth_and_its_count():
    way = way_back(log_of((305, 240)))
    assert (way.azimuth_deg, way.count) == (pytest.approx(back_azimuth(305)), 240)
    assert (way.unit, way.azimuth_reference) == ("pace", "magnetic")


def test_back_and_forth_are_opposite():
    log = log_of((30, 200), (110, 350), (64, 90))
    there, back = way_back(log, from_station=0, to_station=3), way_back(log, from_station=3, to_station=0)
    assert back.azimuth_deg == pytest.approx(back_azimuth(there.azimuth_deg))
    assert (back.count, back.along, back.across) == pytest.approx((there.count, there.along, there.across))


def test_a_right_angled_way_is_the_hypotenuse():
    way = way_back(log_of((0, 300), (90, 400)))
    assert way.count == 500
    assert way.azimuth_deg == pytest.approx(180 + math.degrees(math.atan2(400, 300)))


def test_bias_and_scale_do_not_touch_the_way_back():
    log = log_of((30, 200), (110, 350))
    sure, unsure = (
        way_back(log, walker_like(Person(bias_sd_deg=bias, scale_sd=scale)))
        for bias, scale in ((0.0, 0.0), (20.0, 0.3))
    )
    assert np.array_equal(sure.covariance, unsure.covariance)
    assert unsure.map_figure.across_m > 2 * sure.map_figure.across_m


def test_the_cord_shows_the_count():
    """Nine beads of a hundred, four of a thousand (common practice)."""
    assert way_back(log_of((0, 1480))).tally == Tally(1, 4, 80)


def test_a_cord_for_metres_is_set_by_the_walkers_own_pace_count():
    log = log_of((0, 1120), count="metres")
    assert way_back(log).tally is None
    assert way_back(log, Walker(per_100_m=62.5)).tally == Tally(1, 1, 12.5)


def test_a_log_in_steps_comes_back_in_paces():
    way = way_back(log_of((0, 600), count="steps"))
    assert (way.count, way.unit) == (300, "pace")


def test_the_map_figure_is_in_metres_and_on_the_maps_north():
    figure = way_back(log_of((350, 500), more=["declination: 8 E"]), Walker(per_100_m=62.5)).map_figure
    assert figure.length_m == pytest.approx(800)
    assert (figure.azimuth_deg, figure.azimuth_reference) == (pytest.approx(178), "true")
    assert way_back(log_of((350, 500))).map_figure is None


def test_a_marker_met_twice_is_left_and_reached_by_its_surest_visit():
    log = log_of((0, 900, "[at Oak]"), (90, 900), (180, 900), (270, 900, "[at Gate]"), (10, 50, "[at Pond]"))
    way = way_back(log, from_station=5, to_station=0)
    assert (way.from_station, way.to_station) == (5, 4)
    assert way.count == 50
    to_oak = way_back(log, from_station=5, to_station=1)
    assert to_oak.to_station == 1


def test_the_surest_visit_may_also_be_where_the_walker_stands():
    log = log_of((0, 100, "[at Oak]"), (90, 2000), (270, 2000, "[at Oak]"))
    assert way_back(log).from_station == 1


def test_back_at_a_named_start_there_is_no_way_whatever_the_legs_leave():
    way = way_back(log_of((0, 100), (90, 100), (180, 100), (270, 90, "[at Gate]")))
    assert way.is_there
    assert way.count == 0


def test_the_way_back_counts_on_the_ground_that_was_walked_out_on():
    bog = walker_like(USUAL, PaceClass("bog", None, None, 74.0, per_100_m_sd=2.0))
    log = log_of((100, 300, "[ground bog]"))
    way = way_back(log, bog)
    # The same pace count out and back: the count as pencilled.
    assert (way.count, way.ground) == (300, (("bog", 1.0),))
    assert dict(way.other_counts) == {"ordinary ground": round(300 * 62.5 / 74)}
    # What the bog's count is off cancels: no surer and no less sure than on ordinary ground.
    plain = way_back(log_of((100, 300)), bog)
    assert way.along * way.counts_per_unit == pytest.approx(plain.along, rel=0.02)


def test_over_mixed_ground_the_way_back_counts_by_the_mean_of_the_classes_walked():
    bog = walker_like(USUAL, PaceClass("bog", None, None, 125.0))
    way = way_back(log_of((0, 300), (0, 600, "[ground bog]")), bog)
    # 300 ordinary paces and 600 that are worth 300: half the way takes twice the count.
    assert way.distance == pytest.approx(600)
    assert way.count == 900
    assert dict(way.ground) == pytest.approx({"bog": 0.5, "ordinary ground": 0.5})


def test_up_out_is_down_back():
    hilly = walker_like(
        USUAL,
        PaceClass("", "up", None, 80.0),
        PaceClass("", "down", None, 64.0),
        PaceClass("", "level", None, 62.5),
    )
    assert way_back(log_of((0, 400, "[up]")), hilly).count == 320
    assert way_back(log_of((0, 400, "[up]")), hilly, slope="level").count == 313


def test_a_loop_that_closes_exactly_has_no_way_back():
    way = way_back(log_of((0, 100), (90, 100), (180, 100), (270, 100)))
    assert way.count == 0
    assert way.along > 0
    assert np.isfinite(way.covariance).all()


def test_unnamed_stations_are_not_one_place():
    log = log_of((0, 100), (90, 100), (180, 100), start="")
    assert not way_back(log).is_there


def test_a_way_from_a_station_to_itself_is_refused():
    with pytest.raises(ValueComplaint, match="both the start and the goal"):
        way_back(log_of((0, 100)), from_station=1, to_station=1)


def test_a_way_beyond_a_million_is_refused():
    with pytest.raises(ValueComplaint, match="too long"):
        way_back(log_of((0, 1_000_000), (0, 1_000_000)))


def test_on_brush_the_way_back_takes_more_paces():
    way = way_back(log_of((0, 625)), ON_BRUSH, ground="brush")
    assert way.count == 800
    assert way.distance == pytest.approx(625)


def test_a_ground_that_the_pace_table_lacks_is_refused():
    with pytest.raises(MissingComplaint, match="no ground called scree"):
        way_back(log_of((0, 625)), ON_BRUSH, ground="scree")


@pytest.mark.parametrize("out_on_brush", [0, 1, 2])
def test_what_the_pace_count_of_brush_is_off_cancels_as_far_as_the_way_out_crossed_it(out_on_brush):
    """40,000 walks of two legs out and one back, each walk with its own true pace on brush."""
    notes = ["[ground brush]" if i < out_on_brush else "" for i in range(2)]
    log = log_of((0, 800, notes[0]), (90, 800, notes[1]))
    way = way_back(log, ON_BRUSH, ground="brush")
    rng = np.random.default_rng(out_on_brush)
    brush_pace = 62.5 / 80.0 * (1 + 0.05 * rng.standard_normal(40_000))
    beside = np.zeros((40_000, 2))
    steps = [(0.0, 800.0, notes[0]), (90.0, 800.0, notes[1]), (way.azimuth_deg, float(way.count), "b")]
    for azimuth, count, ground in steps:
        angle = np.radians(azimuth + 2.5 * rng.standard_normal(40_000))
        length = count * (1 + 0.05 * rng.standard_normal(40_000)) * (brush_pace if ground else 1.0)
        beside += length[:, None] * np.stack([np.sin(angle), np.cos(angle)], axis=1)
    assert np.cov(beside.T) == pytest.approx(way.covariance, rel=0.05, abs=60)
    assert way.region.contains(beside).mean() == pytest.approx(0.95, abs=0.01)


def test_the_usual_walkers_way_back_is_less_sure_than_the_way_out():
    """Two legs of equal length, out and back, scatter by the root of two."""
    out_sd_across = 1000 * math.radians(math.hypot(2.5, 1 / math.sqrt(12)))
    way = way_back(log_of((0, 1000)), walker_like(USUAL))
    assert way.across == pytest.approx(math.sqrt(2) * math.sqrt(-2 * math.log(0.05)) * out_sd_across)
