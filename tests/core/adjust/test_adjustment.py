"""Least squares against a dense solver, the compass rule of the books, and what a log cannot tell."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.core.adjust import information
from pacewright.core.adjust.adjustment import adjust, adjust_reckoning
from pacewright.core.adjust.traverse_rules import adjust_traverse
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.way.frames import map_frame, walker_frame
from pacewright.core.way.observations import MapPlaces, Observations, Tie
from pacewright.core.way.reckoning import reckon
from pacewright.exceptions import Complaint
from support.dense_least_squares import Dense
from support.logs import log_of, walker_like
from support.made_adjustments import draw_controlled
from support.simulator import USUAL

INES = walker_like()


def dense_of(adjustment, walker=INES) -> Dense:
    """The same observations, laid before the dense solver."""
    reckoning, found = adjustment.reckoning, adjustment.observations
    on_map = reckoning.frame.kind == "map"
    half = np.radians(walker.compass.bias_sd_deg) / np.sqrt(2)
    dense = Dense(
        np.diff(reckoning.place, axis=0),
        reckoning.own,
        half if on_map else 0.0,
        half,
        reckoning.frame.scale_sd,
        as_walked=not on_map,
    )
    dense.origin, dense.origin_sd = found.origin_station, found.origin_sd
    dense.ties = [(t.first, t.second, t.sd) for t in found.ties]
    dense.fixes = [(f.station, f.east, f.north, f.sd) for f in found.fixes]
    for b in found.bearings:
        if b.landmark is not None:
            dense.known[b.name] = b.landmark
        elif b.target_station is None and b.name not in dense.unknown:
            dense.unknown.append(b.name)
        target = b.name if b.target_station is None else b.target_station
        dense.bearings.append((b.station, target, np.radians(b.azimuth_deg), np.radians(b.sd_deg)))
    dense.backs = [(b.leg - 1, np.radians(b.azimuth_deg), np.radians(b.sd_deg)) for b in found.back_azimuths]
    for term in reckoning.shared:
        if term.name.startswith("ground"):
            on_it = np.hypot(*np.diff(term.lever, axis=0).T) > 0
            dense.grounds.append((on_it.astype(float), np.sqrt(term.variance)))
    return dense


def there_and_back(rng, legs, rows=(), more=()):
    """A log that comes by every one of its markers again on the way back."""
    azimuth, count = rng.integers(0, 360, legs), rng.integers(50, 400, legs)
    out = [(a, c, f"[at P{k}]") for k, (a, c) in enumerate(zip(azimuth, count, strict=True))]
    back = [
        ((a + 181) % 360, c + 3, f"[at P{k - 1}]") for k, (a, c, _) in reversed(list(enumerate(out))) if k
    ]
    return log_of(*out, *back, *rows, more=more)


def check_against_dense(adjustment, walker=INES, relative=1e-9):
    solved = dense_of(adjustment, walker).solve(adjustment.landmarks)
    size = np.abs(solved.place).max()
    np.testing.assert_allclose(adjustment.place, solved.place, rtol=0, atol=relative * size)
    spread = np.abs(solved.covariance).max(axis=(1, 2), keepdims=True)[1:]
    np.testing.assert_allclose(
        adjustment.covariances()[1:] / spread, solved.covariance[1:] / spread, atol=1e-8
    )
    np.testing.assert_allclose(adjustment.solution.shared, solved.shared, rtol=0, atol=1e-9)
    assert adjustment.misfit2 == pytest.approx(solved.misfit2, rel=1e-8)
    for name, where in adjustment.landmarks.items():
        np.testing.assert_allclose(where, solved.landmarks[name], rtol=0, atol=relative * size)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("shape", ["loop", "wander"])
@pytest.mark.parametrize("tower", ["known", "unknown"])
def test_a_log_on_the_map_comes_out_as_by_the_dense_solver(seed, shape, tower):
    made = draw_controlled(np.random.default_rng(seed), shape, 18, known=("middle",), tower=tower, backs=3)
    adjustment = adjust(made.log, INES, map_frame(made.log.heading, INES))
    assert len(adjustment.observations.bearings) >= 3
    assert len(adjustment.observations.back_azimuths) == 3
    check_against_dense(adjustment)


@pytest.mark.parametrize("seed", range(3))
def test_places_counted_from_a_station_that_is_not_sure_come_out_as_by_the_dense_solver(seed):
    """A map knows two stations and not the start, and how far the first is off all its places share."""
    rng = np.random.default_rng(seed)
    log = there_and_back(rng, 6, more=["known: P2 = 48.1 16.2 +-30 m", "known: P4 = 48.2 16.2 +-8 m"])
    written = reckon(log, INES, map_frame(log.heading, INES))
    east, north = 1.04 * (written.place[5] - written.place[3]) + rng.normal(0, 8, 2)
    placed = MapPlaces({"P4": (east, north, 8.0)}, "P2", 30.0)
    adjustment = adjust(log, INES, map_frame(log.heading, INES), placed=placed)
    assert adjustment.observations.origin_station == 3
    check_against_dense(adjustment)
    solved = dense_of(adjustment).solve()
    # Every station as seen from the origin, with how far that is off itself.
    n = len(solved.place) - 1
    pick = np.zeros((n + 1, 2, solved.joint.shape[0]))
    for k in range(n + 1):
        pick[k, :, -2:] = np.eye(2)
        for station, sign in ((k, 1.0), (3, -1.0)):
            if station:
                pick[k, :, 2 * station - 2 : 2 * station] += sign * np.eye(2)
    expected = pick @ solved.joint @ np.swapaxes(pick, 1, 2)
    np.testing.assert_allclose(adjustment.covariances(3, with_doubt=True), expected, rtol=1e-6, atol=1e-6)


@pytest.mark.parametrize("seed", range(4))
def test_a_log_in_paces_comes_out_as_by_the_dense_solver(seed):
    made = draw_controlled(np.random.default_rng(seed), "loop", 18, tower="unknown", backs=3)
    adjustment = adjust(made.log, INES, walker_frame(made.log.heading, INES))
    assert len(adjustment.observations.bearings) >= 3
    check_against_dense(adjustment)


@pytest.mark.slow
def test_a_thousand_legs_with_bearings_come_out_as_by_the_dense_solver():
    made = draw_controlled(np.random.default_rng(5), "loop", 1000, known=("quarter", "middle"), tower="known")
    adjustment = adjust(made.log, INES, map_frame(made.log.heading, INES))
    assert adjustment.observations.bearings
    check_against_dense(adjustment)


def test_places_and_regions_come_out_as_by_a_factor_graph_library():
    # gtsam, a general library for such problems; there is none for Windows.
    gtsam = pytest.importorskip("gtsam")
    log = there_and_back(np.random.default_rng(9), 15)
    adjustment = adjust(log, INES, walker_frame(log.heading, INES))
    reckoning = adjustment.reckoning
    graph, values = gtsam.NonlinearFactorGraph(), gtsam.Values()
    graph.add(gtsam.PriorFactorPoint2(0, np.zeros(2), gtsam.noiseModel.Constrained.All(2)))
    for k, (step, own) in enumerate(zip(np.diff(reckoning.place, axis=0), reckoning.own, strict=True)):
        graph.add(gtsam.BetweenFactorPoint2(k, k + 1, step, gtsam.noiseModel.Gaussian.Covariance(own)))
    for tie in adjustment.observations.ties:
        noise = gtsam.noiseModel.Isotropic.Sigma(2, tie.sd)
        graph.add(gtsam.BetweenFactorPoint2(tie.first, tie.second, np.zeros(2), noise))
    for k, place in enumerate(reckoning.place):
        values.insert(k, place)
    solved = gtsam.GaussNewtonOptimizer(graph, values).optimize()
    marginals = gtsam.Marginals(graph, solved)
    theirs = np.array([solved.atPoint2(k) for k in range(len(reckoning.place))])
    np.testing.assert_allclose(adjustment.place, theirs, atol=1e-7)
    spread = np.array([marginals.marginalCovariance(k) for k in range(1, len(theirs))])
    np.testing.assert_allclose(adjustment.covariances()[1:], spread, rtol=1e-6, atol=1e-6)


def test_classes_of_ground_come_out_as_by_the_dense_solver():
    walker = walker_like(
        USUAL,
        PaceClass("brush", None, None, 70.0, per_100_m_sd=4.0),
        PaceClass("sand", None, None, 66.0, per_100_m_sd=3.0),
    )
    log = log_of(
        (0, 300, "[ground brush]"),
        (90, 200, "[at Oak]"),
        (180, 280, "[ground sand]"),
        (280, 100, "[ground brush]"),
        (265, 110, "[at Gate]"),
        more=["known: Oak = local 300 430 +-5 m"],
    )
    adjustment = adjust(log, walker, map_frame(log.heading, walker))
    assert {p.name for p in adjustment.parameters} >= {"ground brush", "ground sand"}
    check_against_dense(adjustment, walker)


def test_the_sparse_way_and_the_dense_way_agree(monkeypatch):
    tower = [(12, "", "[see Tower]")]
    log = there_and_back(np.random.default_rng(8), 40, tower, ["known: Tower = local 9000 9000 +-5 m"])
    frame = map_frame(log.heading, INES)
    dense = adjust(log, INES, frame)
    assert dense.redundancy > 70
    monkeypatch.setattr(information, "DENSE_UP_TO", 0)
    sparse = adjust(log, INES, frame)
    assert sparse.solution.factor.inverse is None
    np.testing.assert_allclose(sparse.place, dense.place, atol=1e-8)
    np.testing.assert_allclose(sparse.covariances(), dense.covariances(), rtol=1e-8, atol=1e-8)
    np.testing.assert_allclose(sparse.leg_redundancies(), dense.leg_redundancies(), atol=1e-9)


def test_the_compass_rule_is_least_squares_where_scatter_grows_with_length_alone():
    # A textbook result (Wolf & Ghilani, Elementary Surveying, from memory): equal scatter along and
    # across, its variance in proportion to the length, gives the compass rule.
    log = log_of((10, 310), (95, 120), (170, 290), (255, 55), (290, 130, "[at Gate]"))
    reckoning = reckon(log, INES, walker_frame(log.heading, INES))
    own = reckoning.length[:, None, None] * np.eye(2)
    own_sum = np.concatenate([np.zeros((1, 2, 2)), np.cumsum(own, axis=0)])
    plain = replace(reckoning, own=own, own_sum=own_sum)
    # The rule takes the marker as one exact place.
    exact = Observations((Tie(0, 5, 1e-6, "Gate"),), (), (), (), ())
    adjusted = adjust_reckoning(plain, exact, 1.5)
    by_hand = adjust_traverse(reckoning.azimuth_deg, reckoning.length, rule="compass")
    np.testing.assert_allclose(adjusted.place, np.stack([by_hand.east, by_hand.north], axis=1), atol=1e-6)


def test_a_loop_tells_neither_compass_bias_nor_pace_scale():
    made = draw_controlled(np.random.default_rng(2), "loop", 12)
    adjustment = adjust(made.log, INES, map_frame(made.log.heading, INES))
    for name, prior_sd in (("compass bias", 1.5), ("pace scale", 0.03)):
        parameter = adjustment.find_parameter(name)
        assert not parameter.observable
        assert parameter.value is None
        assert parameter.sd == pytest.approx(prior_sd, rel=1e-12)


def test_a_loop_turned_as_a_whole_is_adjusted_the_same():
    # A declination, like a bias, turns the figure and leaves no mark on what the loop closes by.
    made = draw_controlled(np.random.default_rng(3), "loop", 10)
    plain = adjust(made.log, INES, map_frame(made.log.heading, INES))
    turned_log = replace(made.log, heading=replace(made.log.heading, declination_deg=7.0))
    turned = adjust(turned_log, INES, map_frame(turned_log.heading, INES))
    assert turned.misfit2 == pytest.approx(plain.misfit2, rel=1e-9)
    np.testing.assert_allclose(np.hypot(*turned.place.T), np.hypot(*plain.place.T), rtol=1e-9, atol=1e-9)


def test_a_known_point_tells_bias_and_scale_as_far_as_it_does():
    # Straight north for 1600 m, then 28 m further east (1 degree) and 3 % further than counted.
    log = log_of(*[(0, 100)] * 9, (0, 100, "[at Oak]"), more=["known: Oak = local 28.76 1647.7 +-1 m"])
    adjustment = adjust(log, INES, map_frame(log.heading, INES))
    bias, scale = adjustment.find_parameter("compass bias"), adjustment.find_parameter("pace scale")
    assert bias.observable
    assert scale.observable
    assert 0.5 < bias.value < 1.0
    assert 1.01 < scale.value < 1.03
    # By hand: prior variance times legs' variance over their sum; ten legs of sd 2.517 deg, 5 % and a
    # dial and a count to the whole unit.
    legs_deg2 = (2.5**2 + 1 / 12) / 10
    assert bias.sd == pytest.approx((1 / (1 / 1.5**2 + 1 / (legs_deg2 + 0.0355**2))) ** 0.5, rel=0.01)


def test_nothing_observed_leaves_the_reckoning_as_it_is():
    log = log_of((38, 185), (346, 90), (52, 330))
    for frame in (map_frame(log.heading, INES), walker_frame(log.heading, INES)):
        adjustment = adjust(log, INES, frame)
        reckoning = reckon(log, INES, frame)
        assert adjustment.redundancy == 0
        assert adjustment.misfit2 == 0
        np.testing.assert_allclose(adjustment.place, reckoning.place, atol=1e-12)
        np.testing.assert_allclose(adjustment.covariances(), reckoning.covariances(), rtol=1e-12)
        assert not adjustment.residual.any()
        assert not adjustment.leg_redundancies().any()


def test_stations_after_the_last_closure_move_with_it():
    log = log_of((0, 100), (180, 90, "[at Gate]"), (90, 50), (90, 50))
    adjustment = adjust(log, INES, walker_frame(log.heading, INES))
    np.testing.assert_allclose(adjustment.place[4] - adjustment.place[2], [100, 0], atol=1e-9)
    assert adjustment.leg_redundancies()[2:].tolist() == [0, 0]


def test_the_legs_of_a_loop_share_what_it_checks():
    # Two numbers more than needed; the marker itself takes a little of them.
    made = draw_controlled(np.random.default_rng(4), "loop", 9)
    adjustment = adjust(made.log, INES, walker_frame(made.log.heading, INES))
    assert adjustment.redundancy == 2
    assert 1.99 < adjustment.leg_redundancies().sum() < 2


def test_the_residuals_carry_the_closure():
    log = log_of((0, 100), (90, 100), (180, 104), (270, 100, "[at Gate]"))
    adjustment = adjust(log, INES, walker_frame(log.heading, INES))
    along, across = adjustment.residual.T
    # Four paces too far south: the legs north and south take them along, the others across.
    assert along[0] - along[2] - across[1] + across[3] == pytest.approx(4, abs=0.05)
    assert along[0] > 0 > along[2]


def test_a_leg_of_no_length_is_borne():
    log = log_of((0, 100), (90, 0), (180, 95, "[at Gate]"))
    adjustment = adjust(log, INES, walker_frame(log.heading, INES))
    assert np.isfinite(adjustment.place).all()
    assert np.abs(adjustment.place[3]).max() < 1
    lone = log_of((0, 100, "[at Oak]"), (90, 0, "[at Oak]"))
    assert np.isfinite(adjust(lone, INES).covariances()).all()


def test_a_bearing_to_what_may_lie_on_either_side_is_left_out_and_said():
    log = log_of(
        *[(0, 1000)] * 5,
        (20, "", "[see Tower]"),
        (0, 100),
        more=["known: Tower = local 20 8050 +-5 m"],
    )
    adjustment = adjust(log, INES, map_frame(log.heading, INES))
    assert adjustment.observations.bearings == ()
    assert "on which side" in adjustment.observations.unused[0]
    np.testing.assert_allclose(adjustment.place, adjustment.reckoning.place, atol=1e-9)


def test_bearings_that_do_not_meet_are_left_out_and_said():
    rows = [(0, "", "[see Tower]")]
    for _ in range(3):
        rows += [(90, 300), (0, "", "[see Tower]")]
    log = log_of(*rows)
    adjustment = adjust(log, INES, walker_frame(log.heading, INES))
    assert adjustment.landmarks == {}
    assert "do not meet" in adjustment.observations.unused[0]


def test_a_walker_of_no_scatter_at_all_is_refused_in_a_sentence():
    sure = replace(
        INES, compass=replace(INES.compass, azimuth_sd_deg=1e-200, reading_interval_deg=0.0, bias_sd_deg=0.0)
    )
    log = log_of((0, 100, "[at Oak]"), (0, 100), (180, 195, "[at Gate]"))
    with pytest.raises(Complaint, match="too far apart"):
        adjust(log, sure, walker_frame(log.heading, sure))


@pytest.mark.statistical
@pytest.mark.parametrize(("case", "spoils"), [("leg", 1.5), ("bearing", 1.2)])
def test_a_robust_adjustment_is_not_led_far_astray_by_one_mistake(case, spoils):
    plain_off, robust_off, clean_off = [], [], []
    for seed in range(12):
        made = draw_controlled(
            np.random.default_rng(seed),
            "loop",
            20,
            known=("quarter", "middle", "last quarter"),
            tower="known",
        )
        spoiled = made.with_mistake(case)
        frame = map_frame(made.log.heading, INES)
        for off, log, robust in (
            (clean_off, made.log, False),
            (plain_off, spoiled, False),
            (robust_off, spoiled, True),
        ):
            off.append(np.hypot(*(adjust(log, INES, frame, robust=robust).place - made.places_m).T).mean())
    assert np.median(plain_off) > spoils * np.median(clean_off)
    # The mistaken leg itself is lost, so that the rest is a little less sure than a clean log.
    assert np.median(robust_off) < 1.4 * np.median(clean_off)


def test_a_robust_adjustment_trusts_the_leg_with_a_mistake_least():
    made = draw_controlled(
        np.random.default_rng(1), "loop", 20, known=("quarter", "middle", "last quarter"), tower="known"
    )
    adjustment = adjust(made.with_mistake("leg"), INES, map_frame(made.log.heading, INES), robust=True)
    assert int(np.argmin(adjustment.weights.legs)) == made.mistaken_leg - 1
    assert adjustment.weights.legs.min() < 0.1


def test_a_robust_adjustment_of_a_clean_log_is_nearly_the_plain_one():
    made = draw_controlled(np.random.default_rng(7), "loop", 20, known=("middle",))
    frame = map_frame(made.log.heading, INES)
    plain, robust = (adjust(made.log, INES, frame, robust=r) for r in (False, True))
    sd = np.sqrt(np.trace(plain.covariances(), axis1=1, axis2=2))[1:]
    assert (np.hypot(*(robust.place - plain.place).T)[1:] < 0.5 * sd).all()


def test_a_back_azimuth_far_off_is_trusted_less_when_robust():
    log = log_of((0, 300, "[back 220]"), (90, 200), (200, 320), (290, 90, "[at Gate]"))
    frame = walker_frame(log.heading, INES)
    assert adjust(log, INES, frame, robust=True).weights.back_azimuths[0] < 0.2


def test_a_walker_without_a_pace_count_is_adjusted_in_paces():
    log = log_of((0, 100), (180, 96, "[at Gate]"))
    adjustment = adjust(log, Walker())
    assert adjustment.frame.kind == "walker"
    assert adjustment.parameters == ()
