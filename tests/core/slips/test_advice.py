"""What to observe next: bits that can be worked by hand, and advice that is worth taking."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.core.slips.advice import _bits_of_azimuths, _bits_of_places, advise, best_of_each
from pacewright.core.slips.explained_stations import Explanations, Places
from pacewright.core.slips.mistake_search import search_slips
from pacewright.core.slips.plan_checks import plan_checks
from pacewright.files.log_csv import read_log
from support.logs import log_of, walker_like
from support.made_logs import draw_log

WALKER = walker_like()


def explanations(weights, labels):
    return Explanations(np.array(weights), np.array(labels), ())


def places(means, sd):
    count = len(means)
    mean = np.array(means, dtype=float).T[:, None, :]
    covariance = np.broadcast_to(sd**2 * np.eye(2)[:, :, None, None], (2, 2, 1, count)).copy()
    return Places(mean, covariance)


def test_telling_two_even_chances_apart_is_one_bit():
    even = explanations([0.5, 0.5], [1, 2])
    (bits,) = _bits_of_places(even, places([(0, 0), (5000, 0)], 10.0), np.zeros((2, 2, 1)))
    assert bits == pytest.approx(1.0, abs=1e-6)


def test_two_explanations_that_blame_one_leg_hold_no_bits_about_the_leg():
    same = explanations([0.5, 0.5], [3, 3])
    (bits,) = _bits_of_places(same, places([(0, 0), (5000, 0)], 10.0), np.zeros((2, 2, 1)))
    assert bits == pytest.approx(0.0, abs=1e-9)


def test_what_lies_in_one_place_tells_nothing():
    two = explanations([0.3, 0.7], [1, 2])
    (bits,) = _bits_of_places(two, places([(7, 9), (7, 9)], 10.0), np.zeros((2, 2, 1)))
    assert bits == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("apart", [10.0, 25.0, 60.0])
def test_bits_of_a_place_are_those_of_brute_force(apart):
    """Against 400 000 draws of numpy: I = E log2 p(x | leg) / p(x)."""
    weights, rng = np.array([0.35, 0.65]), np.random.default_rng(1)
    means = np.array([(0.0, 0.0), (apart, 0.0)])
    (bits,) = _bits_of_places(explanations(weights, [1, 2]), places(means, 15.0), np.zeros((2, 2, 1)))
    part = (rng.random(400_000) > weights[0]).astype(int)
    draws = means[part] + 15.0 * rng.standard_normal((400_000, 2))
    heights = np.exp(-0.5 * ((draws[:, None] - means) ** 2).sum(axis=2) / 15.0**2)
    own = heights[np.arange(400_000), part]
    expected = np.mean(np.log2(own / (heights @ weights)))
    assert bits == pytest.approx(expected, abs=0.06)


def test_bits_of_an_azimuth_do_not_care_for_north():
    two = explanations([0.5, 0.5], [1, 2])
    variance = np.full((1, 2), math.radians(2) ** 2)
    across = _bits_of_azimuths(two, np.radians([[358.0, 3.0]]), variance)
    away = _bits_of_azimuths(two, np.radians([[98.0, 103.0]]), variance)
    assert across == pytest.approx(away)
    assert 0.4 < float(across[0]) < 0.9


def test_a_square_with_a_short_leg_wants_a_walk_to_where_the_suspects_part():
    """The suspects are the two parallel legs: only stations between them tell one from the other."""
    log = log_of((0, 900), (90, 700), (180, 500), (270, 700, "[at Gate]"))
    advice = advise(search_slips(log))
    assert advice[0].observe == "direct_walk"
    assert advice[0].station in (1, 2)
    assert 0.5 < advice[0].bits <= 1.2
    assert {one.observe for one in advice} == {"direct_walk"}
    assert list(advice) == sorted(advice, key=lambda one: -one.bits)


def test_with_a_map_a_bearing_and_a_revisit_are_advised_as_well():
    made = draw_log(np.random.default_rng(2), "loop", 8, sightings=1)
    text = made.text.replace(
        "azimuth,count,notes", "# known: Hill = local 4000 100 +-5 m\nazimuth,count,notes"
    )
    advice = best_of_each(advise(search_slips(read_log(text.encode()), WALKER)))
    assert {one.observe for one in advice} >= {"revisit", "sighting"}
    assert len(advice) <= 6
    assert all(one.target in ("Hill", "Tower 1") for one in advice if one.observe == "sighting")


def test_a_bearing_already_taken_is_not_advised():
    made = draw_log(np.random.default_rng(3), "loop", 8, sightings=1)
    posterior = search_slips(read_log(made.text.encode()), WALKER)
    (taken,) = posterior.observations.bearings
    assert (taken.station, taken.name) not in {
        (one.station, one.target) for one in advise(posterior) if one.observe == "sighting"
    }


@pytest.mark.statistical
def test_the_advised_walk_tells_more_than_the_worst():
    """30 loops with a gap: after the advised fix the true leg gains more than after the worst one."""
    rng = np.random.default_rng(4)
    gains = {"advised": [], "worst": []}
    while len(gains["advised"]) < 30:
        made = draw_log(rng, "loop", 8)
        log = read_log(made.text.encode())
        posterior = search_slips(log, WALKER)
        advice = [one for one in advise(posterior) if one.observe == "direct_walk"]
        if made.kind in ("leg_missing", "declination_mirrored") or posterior.bayes_factor < 4 or not advice:
            continue
        before = true_leg(posterior, made.leg)
        for name, one in (("advised", advice[0]), ("worst", advice[-1])):
            east, north = made.places_m[one.station] + 5 * rng.standard_normal(2)
            known = f"# known: Mark = local {east:.0f} {north:.0f} +-10 m\nazimuth,count,notes"
            text = made.text.replace("azimuth,count,notes", known)
            rows = text.splitlines()
            first = rows.index("azimuth,count,notes")
            if "[at" not in rows[first + one.station]:
                rows[first + one.station] += "[at Mark]"
            after = true_leg(search_slips(read_log("\n".join(rows).encode()), WALKER), made.leg)
            gains[name].append(after - before)
    assert np.mean(gains["advised"]) > np.mean(gains["worst"]) + 0.05


def true_leg(posterior, leg):
    chances = zip(posterior.slips, posterior.slip_probability, strict=True)
    return sum(chance for slip, chance in chances if slip.legs[:1] == (leg,)) / posterior.mistake_probability


def test_before_a_trip_a_known_place_in_the_middle_beats_one_at_the_end():
    azimuth = [0, 30, 60, 90, 120, 150, 180, 210, 240, 270, 300, 330]
    rows = [(a, 400) if a < 330 else (a, 400, "[at Gate]") for a in azimuth]
    checks = plan_checks(log_of(*rows), WALKER)
    known = {check.station: check.bits for check in checks if check.plan == "known_place"}
    assert known[6] > 1.3 * known[1]
    assert known[6] > 1.3 * known[11]
    assert max(known, key=known.get) in (4, 5, 6, 7, 8)


def test_a_place_read_off_a_map_tells_less_than_the_start_met_again_where_legs_are_short():
    """Ten metres by hand on the map (common practice) are much beside legs of 30 paces, little beside 900."""

    def told(length):
        checks = plan_checks(log_of(*[(turn, length) for turn in range(0, 360, 30)], (0, length)), WALKER)
        (met,) = [check for check in checks if check.station == 12 and check.target == "0"]
        (known,) = [check for check in checks if check.station == 12 and check.plan == "known_place"]
        return known.bits / met.bits

    assert 0.5 < told(30) < 0.75
    assert 0.99 < told(900) < 1.0


def test_before_a_trip_a_figure_of_eight_is_told_where_it_crosses_itself():
    rows = [
        (45, 500),
        (135, 500),
        (225, 500),
        (315, 500),
        (225, 400),
        (135, 400),
        (45, 400),
        (315, 400, "[at Gate]"),
    ]
    checks = plan_checks(log_of(*rows), WALKER)
    crossings = [(check.target, check.station) for check in checks if check.plan == "crossing"]
    assert ("0", 4) in crossings
    best = next(check for check in checks if check.plan == "crossing")
    assert best.bits > 0.3
