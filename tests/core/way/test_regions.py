"""Regions: reach against the chi-square distribution, edges, bent regions, large azimuth scatter."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import map_frame, walker_frame
from pacewright.core.way.reckoning import reckon
from pacewright.core.way.regions import (
    Region,
    ellipse_axes,
    half_widths,
    named_regions,
    reach_of,
    root_of,
    station_region,
)
from pacewright.exceptions import ValueComplaint
from support.logs import log_of, walker_like
from support.simulator import USUAL, Person, draw_routes, in_walkers_paces, walk, write_log_text

COVARIANCE = np.array([[400.0, 150.0], [150.0, 225.0]])
PROBABILITIES = [0.01, 0.39, 0.5, 0.9, 0.95, 0.999]
ELLIPSE = Region(np.array([30.0, -40.0]), COVARIANCE, 0.95, "ellipse", np.zeros(2))
FAR = np.array([3000.0, 4000.0])
"""Across the way 360, along it 100: the scatter of a compass that is far off on a sure pace count."""
BENT = Region(
    FAR,
    100.0**2 * np.outer(FAR, FAR) / 25e6
    + 700.0**2 * np.outer(FAR[::-1] * [1, -1], FAR[::-1] * [1, -1]) / 25e6,
    0.95,
    "bent",
    np.zeros(2),
)


@pytest.mark.parametrize("probability", PROBABILITIES)
def test_the_reach_is_that_of_chi_square_with_two_degrees_of_freedom(probability):
    assert reach_of(probability) ** 2 == pytest.approx(stats.chi2.ppf(probability, 2), rel=1e-12)


@pytest.mark.parametrize("probability", [0.0, 1.0, -0.5, 2.0, math.nan, math.inf])
def test_what_is_no_probability_is_refused(probability):
    with pytest.raises(ValueComplaint, match="not a probability"):
        reach_of(probability)


@pytest.mark.parametrize("probability", PROBABILITIES)
def test_an_ellipse_holds_its_share_of_a_normal_scatter(probability):
    """200,000 points: the share is known to 0.11 % (one sd)."""
    points = stats.multivariate_normal([30, -40], COVARIANCE).rvs(200_000, random_state=4)
    region = Region(ELLIPSE.center, COVARIANCE, probability, "ellipse", np.zeros(2))
    assert region.contains(points).mean() == pytest.approx(probability, abs=0.005)


def test_half_widths_are_the_marginal_spreads_times_the_reach():
    along, across = half_widths(COVARIANCE, 90.0)
    assert (along, across) == pytest.approx((reach_of(0.95) * 20.0, reach_of(0.95) * 15.0))
    assert half_widths(COVARIANCE, 270.0) == pytest.approx((along, across))
    assert half_widths(COVARIANCE, 0.0) == pytest.approx((across, along))
    assert ELLIPSE.half_widths(90.0) == (along, across)


@pytest.mark.parametrize("azimuth_deg", [0.0, 25.0, 90.0, 144.0])
def test_half_widths_are_how_far_the_edge_reaches(azimuth_deg):
    edge = ELLIPSE.outline(3600) - ELLIPSE.center
    angle = math.radians(azimuth_deg)
    along, across = edge @ [math.sin(angle), math.cos(angle)], edge @ [math.cos(angle), -math.sin(angle)]
    assert half_widths(COVARIANCE, azimuth_deg) == pytest.approx((along.max(), across.max()), rel=1e-5)


@pytest.mark.parametrize("azimuth_deg", [0.0, 30.0, 89.0, 120.0, 179.0])
def test_the_axes_of_a_known_ellipse_are_found(azimuth_deg):
    angle = math.radians(azimuth_deg)
    turn = np.array([[math.sin(angle), math.cos(angle)], [math.cos(angle), -math.sin(angle)]])
    covariance = turn.T @ np.diag([50.0**2, 20.0**2]) @ turn
    assert ellipse_axes(covariance) == pytest.approx((50.0, 20.0, azimuth_deg), abs=1e-6)


@pytest.mark.parametrize("region", [ELLIPSE, BENT], ids=["ellipse", "bent"])
def test_the_outline_is_the_edge(region):
    ring = region.outline(40)
    assert ring.shape == (41, 2)
    assert ring[0] == pytest.approx(ring[-1])
    assert region.distance2(ring) == pytest.approx(region.reach**2, rel=1e-6)
    inward = region.center + 0.99 * (ring - region.center)
    if region.shape == "ellipse":
        assert region.contains(inward).all()


def test_a_bent_region_follows_the_circle_about_its_origin():
    ring = BENT.outline(360)
    ends = ring[np.argmax(ring @ [0.8, -0.6])], ring[np.argmin(ring @ [0.8, -0.6])]
    for end in ends:
        # The ends of the banana lie as far from the origin as its middle; an ellipse's lie farther.
        assert math.hypot(*end) == pytest.approx(5000, rel=0.01)
    assert not BENT.contains(FAR + 2.0 * 700.0 * np.array([0.8, -0.6]))
    assert BENT.contains(FAR)


@pytest.mark.parametrize("probability", [0.5, 0.95])
def test_a_bent_region_holds_its_share_where_bias_and_scale_alone_scatter(probability):
    """Closed form: log-range and azimuth are normal, so the share is exact. 100,000 walks, one sd 0.16 %."""
    rng = np.random.default_rng(11)
    person = Person(azimuth_sd_deg=1e-6, count_sd=1e-9, count_floor=1e-9, bias_sd_deg=8.0, scale_sd=0.02)
    walker = walker_like(person)
    log = log_of((53, 3000))
    region = station_region(reckon(log, walker, map_frame(log.heading, walker)), 1, probability)
    assert region.shape == "bent"
    angle = np.radians(53 + 8.0 * rng.standard_normal(100_000))
    length = 3000 * person.pace_m * np.exp(0.02 * rng.standard_normal(100_000))
    points = np.stack([length * np.sin(angle), length * np.cos(angle)], axis=1)
    assert region.contains(points).mean() == pytest.approx(probability, abs=0.006)


def test_a_small_bias_needs_no_bend():
    log, walker = log_of((53, 3000)), walker_like(USUAL)
    assert station_region(reckon(log, walker, map_frame(log.heading, walker)), 1).shape == "ellipse"


def test_near_the_origin_a_region_is_never_bent():
    walker = walker_like(Person(bias_sd_deg=10.0))
    log = log_of((0, 300), (120, 300), (240, 300))
    assert station_region(reckon(log, walker, map_frame(log.heading, walker)), 3).shape == "ellipse"


@pytest.mark.parametrize("shape", ["loop", "wander", "straight"])
@pytest.mark.parametrize(
    "person",
    [
        Person(azimuth_sd_deg=10.0),
        Person(azimuth_sd_deg=10.0, bias_sd_deg=10.0),
        Person(azimuth_sd_deg=5.0, count_sd=0.02, bias_sd_deg=3.0),
    ],
    ids=["unsteady", "unsteady and biased", "sure count"],
)
def test_regions_hold_their_share_when_azimuths_scatter_widely(shape, person):
    """10 degrees: what runners keep over 500 m. 6 routes of 2,000 walks, 40 legs; one sd 0.2 %."""
    rng = np.random.default_rng(40)
    walker, own, metres = walker_like(person), [], []
    for route in draw_routes(rng, shape, 40, 6):
        walked = walk(rng, route, 2_000, person)
        log = read(walked)
        end = walked.places_m[:, -1]
        on_map = reckon(log, walker, map_frame(log.heading, walker))
        metres.append(station_region(on_map, 40).contains(end).mean())
        in_paces = reckon(log, walker, walker_frame(log.heading, walker))
        mine = in_walkers_paces(end, walked.bias_deg, walked.scale, person)
        own.append(station_region(in_paces, 40).contains(mine).mean())
    assert np.mean(metres) == pytest.approx(0.95, abs=0.01)
    assert np.mean(own) == pytest.approx(0.95, abs=0.01)


def read(walked):
    from pacewright.files.log_csv import read_log

    return read_log(write_log_text(walked.notes(0)).encode())


def test_large_azimuth_scatter_pulls_the_region_toward_its_origin():
    """The mean of cos(e) is exp(-variance / 2) (Mardia & Jupp, Directional Statistics, 2000; from memory)."""
    walker = walker_like(Person(azimuth_sd_deg=15.0))
    log = log_of(*[(0, 500)] * 4)
    reckoning = reckon(log, walker, walker_frame(log.heading, walker))
    variance_rad2 = math.radians(1) ** 2 * (15.0**2 + 1 / 12)
    assert station_region(reckoning, 4).center[1] == pytest.approx(2000 * math.exp(-variance_rad2 / 2))
    seen_back = station_region(reckoning, 0, origin=4)
    assert seen_back.center[1] == pytest.approx(2000 - 2000 * math.exp(-variance_rad2 / 2))


def test_a_station_seen_from_another_holds_only_the_legs_between():
    log = log_of((0, 400), (90, 300), (45, 500))
    reckoning = reckon(log, Walker())
    region = station_region(reckoning, 3, origin=1)
    assert region.covariance == pytest.approx(reckoning.relative_covariance(1, 3))
    assert region.origin == pytest.approx(reckoning.place[1])


def test_a_station_has_no_region_about_itself():
    with pytest.raises(ValueComplaint, match="about itself"):
        station_region(reckon(log_of((0, 400))), 0)


def test_named_stations_and_the_last_have_regions():
    log = log_of((0, 400), (90, 300, "[at Oak]"), (45, 500), (60, 10))
    centers = [region.center for region in named_regions(reckon(log))]
    assert np.array_equal(centers, reckon(log).place[[2, 4]])


def test_a_region_without_width_can_still_be_drawn_and_asked():
    """A log of one leg of no count: unsure along its azimuth by rounding, across it by nothing."""
    region = station_region(reckon(log_of((0, 0))), 1)
    assert np.isfinite(region.outline()).all()
    assert region.contains([[0.0, 0.0]]).all()
    assert not region.contains([[1.0, 0.0]]).any()


def test_the_root_of_a_covariance_gives_it_back():
    assert root_of(COVARIANCE) @ root_of(COVARIANCE).T == pytest.approx(COVARIANCE, rel=1e-9)
