"""Stations held by known places and markers met again, against brute force and made-up walks."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import linalg, stats

from pacewright.core.adjust.holding import HeldStations, Hold, find_ties, hold
from pacewright.core.way.frames import map_frame
from pacewright.core.way.reckoning import reckon
from pacewright.exceptions import MissingComplaint
from pacewright.files.log_csv import read_log
from support.logs import log_of, walker_like
from support.simulator import USUAL, draw_route, draw_routes, walk, write_log_text


def reckoned(seed=3, legs=9, shape="wander"):
    rng = np.random.default_rng(seed)
    walked = walk(rng, draw_route(rng, shape, legs), 1)
    log = read_log(write_log_text(walked.notes(0)).encode())
    walker = walker_like()
    return reckon(log, walker, map_frame(log.heading, walker))


def brute_force(reckoning, holds):
    """Solve for all stations at once by least squares: what was reckoned from the start, and the holds."""
    last = reckoning.last
    joint = np.block(
        [[reckoning.joint_covariance(j, k) for k in range(1, last + 1)] for j in range(1, last + 1)]
    )
    rows = [np.hstack([-np.kron(np.ones((last, 1)), np.eye(2)), np.eye(2 * last)])]
    for one in holds:
        watch = np.zeros((2, last + 1, 2))
        watch[:, one.station] += np.eye(2)
        if one.seen_from is not None:
            watch[:, one.seen_from] -= np.eye(2)
        rows.append(watch.reshape(2, -1))
    design = np.vstack(rows)
    noise = linalg.block_diag(joint, *(one.sd**2 * np.eye(2) for one in holds))
    seen = np.concatenate(
        [(reckoning.place[1:] - reckoning.place[0]).ravel(), *((h.east, h.north) for h in holds)]
    )
    weight = np.linalg.inv(noise)
    covariance = np.linalg.inv(design.T @ weight @ design)
    place = covariance @ design.T @ weight @ seen
    blocks = [covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] for k in range(last + 1)]
    return place.reshape(-1, 2), np.array(blocks)


HOLDS = {
    "the start": [Hold(0, 1000, 2000, 10)],
    "a station on the way": [Hold(4, -300, 50, 5)],
    "both ends": [Hold(0, 0, 0, 10), Hold(9, 700, -200, 20)],
    "three places, one twice": [Hold(0, 0, 0, 3), Hold(5, 20, 30, 8), Hold(5, 25, 28, 8), Hold(9, 1, 2, 9)],
    "a place and a marker met again": [Hold(2, 5, 5, 10), Hold(7, 0, 0, 1, seen_from=3)],
    "a place as seen from the start": [Hold(0, 9, 9, 10), Hold(6, 400, 100, 15, seen_from=0)],
}


@pytest.mark.parametrize("which", HOLDS)
def test_held_stations_are_those_of_least_squares_over_everything(which):
    reckoning, holds = reckoned(), HOLDS[which]
    held = hold(reckoning, holds)
    place, covariance = brute_force(reckoning, holds)
    np.testing.assert_allclose(held.place, place, atol=1e-5)
    np.testing.assert_allclose(held.covariance, covariance, rtol=1e-6, atol=1e-5)


def test_one_known_place_moves_the_figure_and_adds_its_own_scatter():
    reckoning = reckoned()
    held = hold(reckoning, [Hold(0, 500, -40, 12)])
    np.testing.assert_allclose(held.place, reckoning.place + np.array([500, -40]))
    np.testing.assert_allclose(held.covariance, reckoning.covariances() + 144 * np.eye(2))
    assert (held.freedom, held.chance, held.misfit2) == (0, 1.0, pytest.approx(0, abs=1e-9))


def test_two_sure_ends_scale_and_turn_the_figure_between_them():
    # Two legs of one length; the ends are 2 % farther apart and 1 degree aside of what was reckoned.
    log = log_of((90, 1000), (90, 1000), count="metres")
    walker = walker_like()
    reckoning = reckon(log, walker, map_frame(log.heading, walker))
    held = hold(reckoning, [Hold(0, 0, 0, 0.1), Hold(2, 2040, -35.6, 0.1)])
    np.testing.assert_allclose(held.place[1], [1020, -17.8], atol=0.1)
    assert np.trace(held.covariance[1]) < np.trace(reckoning.covariance(1)) / 1.5


def test_what_cannot_disagree_is_never_said_to():
    for one in HOLDS.values():
        assert 0 <= hold(reckoned(), one).chance <= 1


def test_the_chance_is_that_of_chi_square():
    # scipy.stats.chi2, for the even degrees of freedom that places have.
    for freedom in (2, 4, 10):
        for misfit2 in (0.0, 1.0, 9.21, 40.0):
            held = HeldStations(np.zeros((1, 2)), np.zeros((1, 2, 2)), misfit2, freedom)
            assert held.chance == pytest.approx(stats.chi2.sf(misfit2, freedom), rel=1e-9)


def test_markers_met_again_tie_each_later_visit_to_the_first():
    log = log_of((0, 100, "[at Oak]"), (90, 100), (180, 100, "[at Gate]"), (0, 50, "[at Oak]"))
    walker = walker_like()
    for frame, sd in ((None, 1.0 / 1.5), (map_frame(log.heading, walker), 1.0)):
        ties = find_ties(reckon(log, walker, frame))
        assert [(t.station, t.seen_from, t.east, t.north) for t in ties] == [(3, 0, 0, 0), (4, 1, 0, 0)]
        assert [t.sd for t in ties] == pytest.approx([sd, sd])


def test_without_a_known_place_there_is_nothing_to_hold_by():
    with pytest.raises(MissingComplaint, match="no station of the log is at a known place"):
        hold(reckoned(), [Hold(3, 0, 0, 1, seen_from=0)])


def test_many_stations_are_worked_in_pieces_without_a_seam(monkeypatch):
    reckoning, holds = reckoned(legs=9), HOLDS["both ends"]
    whole = hold(reckoning, holds)
    monkeypatch.setattr("pacewright.core.adjust.holding._STATIONS_AT_ONCE", 4)
    np.testing.assert_allclose(hold(reckoning, holds).covariance, whole.covariance)


ROUTES, WALKS, LEGS, SD = 8, 2_500, 12, 15.0


def held_by(reckoning, known):
    """Give the held places as a function of what is said of the known ones: it is linear."""

    def at(places):
        return hold(reckoning, [Hold(k, *place, SD) for k, place in zip(known, places, strict=True)])

    none = np.zeros((len(known), 2))
    base = at(none)
    unit = [at(none + np.eye(none.size)[i].reshape(none.shape)).place - base.place for i in range(none.size)]
    return base, np.array(unit)


@pytest.mark.parametrize("shape", ["loop", "wander", "straight"])
@pytest.mark.parametrize("known", [(0,), (0, 12), (0, 6, 12)], ids=["start", "both ends", "three"])
def test_95_percent_regions_of_held_stations_hold_95_walks_in_100(shape, known):
    """Fixed seeds, 8 routes of 2,500 walks: a share of 95 % is known to 0.15 % (one sd) at each station."""
    rng = np.random.default_rng(40 + len(known))
    inside = []
    for route in draw_routes(rng, shape, LEGS, ROUTES):
        walked = walk(rng, route, WALKS)
        log = read_log(write_log_text(walked.notes(0)).encode())
        reckoning = reckon(log, walker_like(USUAL), map_frame(log.heading, walker_like(USUAL)))
        base, unit = held_by(reckoning, known)
        said = walked.places_m[:, list(known)] + SD * rng.standard_normal((WALKS, len(known), 2))
        off = walked.places_m - base.place - np.tensordot(said.reshape(WALKS, -1), unit, 1)
        distance2 = np.einsum("wni,nij,wnj->wn", off, np.linalg.inv(base.covariance), off)
        inside.append(distance2 <= stats.chi2.ppf(0.95, 2))
    shares = np.mean(inside, axis=(0, 1))
    assert np.all(abs(shares - 0.95) < 0.015), shares


def test_two_known_ends_of_one_walk_disagree_by_chance_as_often_as_stated():
    """400 walks: a share of 5 % is known to 1.1 % (one sd)."""
    rng = np.random.default_rng(7)
    walked = walk(rng, draw_route(rng, "wander", LEGS), 400)
    log = read_log(write_log_text(walked.notes(0)).encode())
    reckoning = reckon(log, walker_like(USUAL), map_frame(log.heading, walker_like(USUAL)))
    chances = []
    for start, end in walked.places_m[:, [0, LEGS]] + SD * rng.standard_normal((400, 2, 2)):
        chances.append(hold(reckoning, [Hold(0, *start, SD), Hold(LEGS, *end, SD)]).chance)
    assert abs(np.mean(np.array(chances) < 0.05) - 0.05) < 0.035
