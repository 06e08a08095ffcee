"""Own place from known things, against scipy's least squares, geometry and simulation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from pacewright.core.bearings.resection import off_danger_circle, resect
from pacewright.core.compass import direction_deg
from pacewright.exceptions import MissingComplaint, ValueComplaint


def towards(place, known):
    return np.array([direction_deg(*(one - place)) for one in known])


def turns(degrees):
    return (np.deg2rad(degrees) + np.pi) % (2 * np.pi) - np.pi


def around(chance, n):
    """Things all round, at 200 to 1500 metres."""
    angle = chance.uniform(0, 2 * np.pi, n)
    return chance.uniform(200, 1500, n)[:, None] * np.stack([np.sin(angle), np.cos(angle)], axis=1)


@pytest.mark.parametrize("seed", range(25))
def test_places_agree_with_scipy_whatever_the_geometry(seed):
    """The bias is one more unknown, its prior one more observation."""
    chance = np.random.default_rng(seed)
    n = int(chance.integers(3, 8))
    known, sd_deg, bias_sd_deg = around(chance, n), chance.uniform(0.5, 3, n), 2.0
    here = chance.uniform(-50, 50, 2)
    read = towards(here, known) + chance.normal(0, sd_deg) - 1.0

    def remains(unknowns):
        left = turns(towards(unknowns[:2], known) - read - unknowns[2])
        return np.append(left / np.deg2rad(sd_deg), unknowns[2] / bias_sd_deg)

    theirs = least_squares(remains, [*here, 0.0], x_scale=[100, 100, 1], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    covariance = np.linalg.inv(theirs.jac.T @ theirs.jac)
    ours = resect(known, read, sd_deg, bias_sd_deg=bias_sd_deg)
    assert ours.place == pytest.approx(theirs.x[:2], abs=0.01)
    assert ours.bias_deg == pytest.approx(theirs.x[2], abs=1e-3)
    assert ours.covariance == pytest.approx(covariance[:2, :2], rel=1e-3, abs=1e-3)
    assert ours.bias_sd_deg == pytest.approx(np.sqrt(covariance[2, 2]), rel=1e-3)


@pytest.mark.parametrize("seed", range(25))
def test_angles_alone_agree_with_scipy_and_do_not_care_for_the_compass(seed):
    chance = np.random.default_rng(100 + seed)
    angle = np.deg2rad(np.array([10, 130, 250]) + chance.uniform(-25, 25, 3))
    known = chance.uniform(300, 900, 3)[:, None] * np.stack([np.sin(angle), np.cos(angle)], axis=1)
    read = towards(np.zeros(2), known) + chance.normal(0, 1.0, 3)

    def remains(unknowns):
        return turns(towards(unknowns[:2], known) - read - unknowns[2]) / np.deg2rad(1.0)

    theirs = least_squares(remains, [0, 0, 0], x_scale=[100, 100, 1], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    straight = resect(known, read, 1.0, by_angles=True)
    turned = resect(known, read - 137.0, 1.0, by_angles=True)
    assert straight.place == pytest.approx(theirs.x[:2], abs=0.01)
    assert turned.place == pytest.approx(straight.place, abs=1e-4)
    assert turned.covariance == pytest.approx(straight.covariance, rel=1e-4)
    assert (turned.bias_deg - straight.bias_deg) % 360 == pytest.approx(137.0, abs=1e-6)
    assert turned.observable


def test_a_known_thing_less_well_known_counts_less():
    """A thing 500 m off and known to 17.5 m turns a bearing by 2 degrees: that doubles the variance of a
    bearing good to 2 degrees (small angles)."""
    known = np.array([[0.0, 500.0], [500.0, 0.0]])
    across = 500 * np.deg2rad(2.0)
    exact = resect(known, [0, 90], 2.0)
    vague = resect(known, [0, 90], 2.0, known_sd=across)
    assert vague.covariance == pytest.approx(2 * exact.covariance, rel=1e-6, abs=1e-6)


@pytest.mark.statistical
def test_the_region_holds_the_stated_share():
    """1000 fixes with map points and a compass that are off (our own simulation)."""
    chance = np.random.default_rng(11)
    known, sd_deg, known_sd, bias_sd_deg = np.array([[0, 800], [700, 100], [-300, -600]]), 2.0, 10.0, 1.5
    inside, runs = 0, 1000
    for _ in range(runs):
        true = known + chance.normal(0, known_sd, known.shape)
        read = towards(np.zeros(2), true) + chance.normal(0, sd_deg, 3) - chance.normal(0, bias_sd_deg)
        fix = resect(known, read, sd_deg, known_sd=known_sd, bias_sd_deg=bias_sd_deg)
        inside += bool(fix.region.contains([0, 0])[0])
    assert 0.93 < inside / runs < 0.97


def test_a_compass_that_is_off_is_seen_with_three_things_all_round():
    known = np.array([[0, 500], [430, -250], [-430, -250]], dtype=float)
    read = towards(np.zeros(2), known) - 8.0
    fix = resect(known, read, 1.0, bias_sd_deg=10.0)
    assert fix.observable
    assert fix.bias_deg == pytest.approx(8.0, abs=0.1)
    assert fix.place == pytest.approx([0, 0], abs=1.0)


def test_two_things_say_nothing_of_the_compass():
    fix = resect([[0, 100], [100, 0]], [0, 90], 2.0, bias_sd_deg=1.5)
    assert not fix.observable
    assert (fix.bias_deg, fix.bias_sd_deg) == pytest.approx((0.0, 1.5))
    assert fix.off_circle is None


def test_on_the_danger_circle_angles_fix_nothing_and_azimuths_still_do():
    """Any place on the circle sees its three points under the same angles (Euclid, Elements III.21)."""
    turn = np.deg2rad([20, 100, 160, 290])
    *known, here = 500 * np.stack([np.sin(turn), np.cos(turn)], axis=1)
    known = np.array(known)
    read = towards(here, known)
    with pytest.raises(MissingComplaint, match="the danger circle"):
        resect(known, read, 1.0, by_angles=True)
    fix = resect(known, read, 1.0, bias_sd_deg=1.5)
    assert fix.on_danger_circle
    assert not fix.observable
    assert fix.place == pytest.approx(here, abs=1e-6)
    assert not resect(known, towards(np.zeros(2), known), 1.0).on_danger_circle


@pytest.mark.parametrize(("radius_m", "near"), [(905, True), (895, False), (1095, True), (1105, False)])
def test_within_a_tenth_of_its_radius_a_place_is_near_the_danger_circle(radius_m, near):
    turn = np.deg2rad([20, 100, 160, 290])
    *known, way = np.stack([np.sin(turn), np.cos(turn)], axis=1)
    known = 1000 * np.array(known)
    fix = resect(known, towards(radius_m * way, known), 0.1, bias_sd_deg=0.1)
    assert fix.on_danger_circle == near


def test_the_circle_is_measured_in_its_radius():
    known = np.array([[0.0, 10.0], [10.0, 0.0], [-10.0, 0.0]])
    assert off_danger_circle(np.array([0.0, -10.0]), known) == pytest.approx(0.0)
    assert off_danger_circle(np.array([0.0, 0.0]), known) == pytest.approx(1.0)
    assert off_danger_circle(np.array([0.0, 30.0]), known) == pytest.approx(2.0)


def test_things_in_one_straight_line_make_no_circle():
    known = np.array([[0.0, 0.0], [100.0, 0.0], [200.0, 0.0]])
    assert off_danger_circle(np.array([50.0, 80.0]), known) is None
    fix = resect(known, towards(np.array([50.0, -80.0]), known), 1.0)
    assert fix.place == pytest.approx([50, -80])
    assert not fix.on_danger_circle


@pytest.mark.parametrize(
    ("known", "azimuths", "kind", "what"),
    [
        ([[0, 100]], [0], MissingComplaint, "1 bearing to known things cannot fix your place"),
        ([[0, 100], [0, 300]], [0, 0], ValueComplaint, "parallel as nearly as a compass can tell"),
        ([[0, 100], [0, 100]], [5, 65], ValueComplaint, "the known things lie at one place"),
        ([[0, 100], [0, -100]], [0, 180], ValueComplaint, "parallel as nearly as a compass can tell"),
        ([[0, 100], [100, 0]], [180, 90], ValueComplaint, "would lie behind you"),
    ],
)
def test_bearings_that_fix_nothing_are_refused_with_a_sentence(known, azimuths, kind, what):
    with pytest.raises(kind) as refused:
        resect(known, azimuths, 2.0)
    assert what in refused.value.what


def test_two_bearings_are_too_few_for_angles_alone():
    with pytest.raises(MissingComplaint, match="cannot fix your place by angles alone"):
        resect([[0, 100], [100, 0]], [0, 90], 2.0, by_angles=True)


def test_a_contradicting_known_place_among_four_is_named_and_the_rest_still_fix():
    known = np.array([[0, 800], [700, 100], [-300, -600], [-650, 250]], dtype=float)
    read = towards(np.zeros(2), known)
    known[1] += [0, 350]
    fix = resect(known, read, 1.5, bias_sd_deg=1.0)
    assert fix.contradicts
    assert fix.odd_one == 1
    assert fix.without_odd_one.place == pytest.approx([0, 0], abs=1e-6)


def test_contradicting_places_among_three_blame_none():
    known = np.array([[0, 800], [700, 100], [-300, -600]], dtype=float)
    read = towards(np.zeros(2), known)
    known[1] += [0, 400]
    fix = resect(known, read, 1.5, bias_sd_deg=1.0)
    assert fix.contradicts
    assert fix.odd_one is None
