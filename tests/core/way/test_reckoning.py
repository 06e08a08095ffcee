"""Reckoning: places, and covariances against a separate brute-force propagation.

The printed traverses are in test_reckoning_authorities.py, coverage by simulation in test_coverage.py.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.way.frames import map_frame, walker_frame
from pacewright.core.way.reckoning import reckon
from pacewright.exceptions import MissingComplaint
from support.logs import log_of, walker_like
from support.simulator import USUAL

BRUSH = PaceClass("brush", None, None, 80.0, per_100_m_sd=2.0)
WALKER = walker_like()
ON_BRUSH = walker_like(USUAL, BRUSH)
MIXED = (
    (40, 300, "[ground brush]"),
    (95, 120, "[box right 60] [box left 25]"),
    (210, 450, "[est 15%] [at Oak]"),
    ("SW", 80, "[ground brush] [box left 30]"),
    (333, 12),
)


def on_map(log, walker=WALKER):
    return reckon(log, walker, map_frame(log.heading, walker))


def in_paces(log, walker=WALKER):
    return reckon(log, walker, walker_frame(log.heading, walker))


def brute_force(walker, bias_sd_deg, scale_sd, metres_per_pace):
    """Cov(P_j, P_k) of MIXED, shape (n + 1, n + 1, 2, 2), by numerical slopes of every unknown.

    Unknowns: the bias, the scale, the brush's pace count; for every leg its azimuth and its count;
    for every box the azimuth and count out and back. Written from the model, not from the tool.
    """
    legs = [
        # azimuth, count, on brush, sd of the count (None: counted), step of the dial, boxes (side, offset)
        (40.0, 300.0, True, None, 1.0, []),
        (95.0, 120.0, False, None, 1.0, [(1, 60.0), (-1, 25.0)]),
        (210.0, 450.0, False, 0.15 * 450.0, 1.0, []),
        (225.0, 80.0, True, None, 22.5, [(-1, 30.0)]),
        (333.0, 12.0, False, None, 1.0, []),
    ]
    ratio = walker.per_100_m / BRUSH.per_100_m
    sds = [math.radians(bias_sd_deg), scale_sd, BRUSH.per_100_m_sd / BRUSH.per_100_m]
    parts = []  # leg, azimuth, count

    def count_sd(count, brush):
        # The floor is one ordinary pace, so more of the short ones.
        return math.hypot(max(0.05 * count, 1.0 / (ratio if brush else 1.0)), 1 / math.sqrt(12))

    for i, (azimuth, count, brush, sd, dial, boxes) in enumerate(legs):
        parts.append((i, azimuth, count))
        sds += [
            math.radians(math.hypot(2.5, dial / math.sqrt(12))),
            count_sd(count, brush) if sd is None else math.hypot(sd, 1 / math.sqrt(12)),
        ]
        for side, offset in boxes:
            for turn in (90.0 * side, -90.0 * side):
                parts.append((i, azimuth + turn, offset))
                # The dial is read once more for every side of a box.
                # Its offset is rounded to an ordinary pace, whatever the ground.
                rounded = (1.0 / ratio**2 - 1.0) / 12 if brush else 0.0
                sds += [
                    math.radians(math.hypot(2.5, 1 / math.sqrt(12))),
                    math.hypot(count_sd(offset, brush), math.sqrt(rounded)),
                ]

    def places(unknowns):
        bias, scale, brush_error = unknowns[:3]
        stations = np.zeros((len(legs) + 1, 2))
        for n, (i, azimuth, count) in enumerate(parts):
            turned, counted = unknowns[3 + 2 * n : 5 + 2 * n]
            length = (count + counted) * metres_per_pace * (1 + scale)
            length *= ratio * (1 + brush_error) if legs[i][2] else 1.0
            angle = math.radians(azimuth) + bias + turned
            stations[i + 1 :] += length * np.array([math.sin(angle), math.cos(angle)])
        return stations.ravel()

    step = 1e-5
    slopes = np.stack(
        [(places(row) - places(-row)) / (2 * step) for row in step * np.eye(len(sds))], axis=1
    ) * np.array(sds)
    n = len(legs) + 1
    return places(np.zeros(len(sds))).reshape(n, 2), (slopes @ slopes.T).reshape(n, 2, n, 2).swapaxes(1, 2)


@pytest.mark.parametrize(
    ("frame", "bias_sd_deg", "scale_sd", "metres"),
    [(on_map, 1.5, 0.03, 1.6), (in_paces, 0.0, 0.0, 1.0)],
    ids=["map", "walker"],
)
def test_covariances_are_those_of_a_brute_force_propagation(frame, bias_sd_deg, scale_sd, metres):
    reckoning = frame(log_of(*MIXED), ON_BRUSH)
    place, joint = brute_force(ON_BRUSH, bias_sd_deg, scale_sd, metres)
    assert reckoning.place == pytest.approx(place, abs=1e-9)
    for j in range(6):
        for k in range(6):
            assert reckoning.joint_covariance(j, k) == pytest.approx(joint[j, k], rel=1e-6, abs=1e-6)
            seen = joint[j, j] + joint[k, k] - joint[j, k] - joint[k, j]
            assert reckoning.relative_covariance(j, k) == pytest.approx(seen, rel=1e-6, abs=1e-6)
        assert reckoning.covariance(j) == pytest.approx(reckoning.covariances()[j], rel=1e-12)


def test_a_square_walk_closes():
    reckoning = in_paces(log_of((17, 250), (107, 250), (197, 250), (287, 250)))
    assert reckoning.place[4] == pytest.approx([0, 0], abs=1e-10)
    # Opposite sides scatter alike: the ellipse of a square is round.
    covariance = reckoning.covariance(4)
    assert covariance == pytest.approx(covariance[0, 0] * np.eye(2), abs=1e-9)


def test_bias_and_scale_leave_no_mark_where_a_loop_closes():
    square = log_of((17, 250), (107, 250), (197, 250), (287, 250))
    assert on_map(square).covariance(4) == pytest.approx(1.6**2 * in_paces(square).covariance(4), rel=1e-9)
    assert np.trace(on_map(square).covariance(2)) > 1.3 * 1.6**2 * np.trace(in_paces(square).covariance(2))


def term_of(reckoning, name):
    return next(term for term in reckoning.shared if term.name == name)


def test_a_bias_turns_the_whole_figure():
    def turned(by_deg):
        return on_map(
            log_of(*((azimuth + by_deg, count) for azimuth, count in ((30, 400), (100, 250), (5, 70))))
        )

    slope = (turned(0.001).place - turned(0).place) / math.radians(0.001)
    assert term_of(turned(0), "compass bias").lever == pytest.approx(slope, rel=1e-4)


def test_a_scale_stretches_the_whole_figure():
    reckoning = on_map(log_of((30, 400), (100, 250), (5, 70)))
    assert np.array_equal(term_of(reckoning, "pace scale").lever, reckoning.place)


def test_neither_bias_nor_scale_is_in_the_walkers_frame():
    log = log_of((30, 400), (100, 250))
    sure, unsure = (
        in_paces(log, walker_like(person))
        for person in (
            type(USUAL)(bias_sd_deg=0.0, scale_sd=0.0),
            type(USUAL)(bias_sd_deg=20.0, scale_sd=0.3),
        )
    )
    assert unsure.shared == ()
    assert np.array_equal(sure.covariances(), unsure.covariances())


@pytest.mark.parametrize(("first", "last"), [(0, 3), (1, 4), (2, 5), (1, 5)])
@pytest.mark.parametrize("frame", [on_map, in_paces])
def test_a_part_of_a_log_is_as_sure_as_that_part_alone(frame, first, last):
    whole, part = frame(log_of(*MIXED), ON_BRUSH), frame(log_of(*MIXED[first:last]), ON_BRUSH)
    expected = pytest.approx(part.covariance(last - first), rel=1e-9, abs=1e-9)
    assert whole.relative_covariance(first, last) == expected
    assert whole.relative_covariance(last, first) == expected


def test_no_station_is_unsure_of_itself():
    assert not on_map(log_of(*MIXED), ON_BRUSH).relative_covariance(3, 3).any()


def test_paces_steps_and_metres_give_the_same_figure():
    paces = on_map(log_of((40, 300, "[box right 60]"), (95, 120)))
    steps = on_map(log_of((40, 600, "[box right 120]"), (95, 240), count="steps"))
    metres = on_map(log_of((40, 480, "[box right 96]"), (95, 192), count="metres"))
    for other in (steps, metres):
        assert other.place == pytest.approx(paces.place, abs=1e-9)
        # They differ only in what rounding to a whole step, pace or metre adds.
        assert other.covariances() == pytest.approx(paces.covariances(), abs=2.0)


@pytest.mark.parametrize(("azimuth", "north"), [("magnetic mils", 1600), ("magnetic gon", 100)])
def test_mils_and_gon_are_the_degrees_they_stand_for(azimuth, north):
    assert in_paces(log_of((north, 100), azimuth=azimuth)).place[1] == pytest.approx([100, 0], abs=1e-12)


def test_a_declination_turns_the_map_frame_and_not_the_walkers():
    log = log_of((350, 100), (80, 50), more=["declination: 12 E"])
    reckoning = on_map(log)
    assert reckoning.azimuth_deg == pytest.approx([2.0, 92.0])
    assert reckoning.frame.azimuth_reference == "true"
    assert in_paces(log).azimuth_deg == pytest.approx([350.0, 80.0])


def test_a_declination_never_turns_an_azimuth_into_the_full_circle():
    azimuths = on_map(log_of((355, 100), (5, 100), more=["declination: 5 E"])).azimuth_deg
    assert azimuths == pytest.approx([0.0, 10.0])


def test_paces_on_brush_are_shorter():
    reckoning = in_paces(log_of((0, 80, "[ground brush]"), (90, 80)), ON_BRUSH)
    assert reckoning.place[2] == pytest.approx([80.0, 62.5])


def test_what_the_pace_count_of_brush_is_off_is_shared_by_all_legs_on_brush():
    rows = [(0, 800, "[ground brush]"), (0, 625)] * 2
    term = term_of(in_paces(log_of(*rows), ON_BRUSH), "ground brush")
    assert term.variance == pytest.approx((2.0 / 80.0) ** 2)
    assert term.lever[:, 1] == pytest.approx([0, 625, 625, 1250, 1250])


def test_a_ground_that_the_pace_table_lacks_is_refused():
    with pytest.raises(MissingComplaint, match="no ground called scree"):
        in_paces(log_of((0, 80, "[ground scree]")), ON_BRUSH)


def test_without_a_pace_table_the_ground_is_said_to_be_taken_as_ordinary():
    (remark,) = in_paces(log_of((0, 80, "[ground scree]")), Walker()).remarks
    assert "scree" in remark
    assert in_paces(log_of((0, 80)), Walker()).remarks == ()


def test_an_estimate_is_as_unsure_as_it_says():
    """Twenty per cent where nothing is said: common practice for eye estimates."""
    for notes, part in (("[est]", 0.20), ("[est 35%]", 0.35)):
        along = in_paces(log_of((0, 200, notes))).covariance(1)[1, 1]
        assert along == pytest.approx((part * 200) ** 2 + 1 / 12)


def test_a_short_leg_is_never_surer_than_a_pace():
    assert in_paces(log_of((0, 2))).covariance(1)[1, 1] == pytest.approx(1 + 1 / 12)


def test_a_leg_of_no_count_goes_nowhere_and_adds_no_more_than_rounding():
    reckoning = in_paces(log_of((45, 0), (45, 100)))
    assert not reckoning.place[1].any()
    assert np.trace(reckoning.covariance(1)) == pytest.approx(1 / 12)


def test_a_point_of_the_compass_is_coarser_than_a_number():
    point, number = (in_paces(log_of((azimuth, 400))).covariance(1) for azimuth in ("NE", "45"))
    across = np.array([1, -1]) / math.sqrt(2)
    added = across @ (point - number) @ across
    assert added == pytest.approx((400 * math.radians(1)) ** 2 * (22.5**2 - 1) / 12, rel=1e-9)


def test_a_long_log_stays_finite():
    reckoning = on_map(log_of(*[(i % 360, 1_000_000) for i in range(2000)]))
    assert np.isfinite(reckoning.covariances()).all()
