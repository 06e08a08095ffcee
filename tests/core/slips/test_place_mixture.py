"""Where a station lies after a mistake: several islands, and how often they hold the truth."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from pacewright.core.slips import place_mixture
from pacewright.core.slips.explained_stations import likeliest_explanations, places_given
from pacewright.core.slips.mistake_search import search_slips
from pacewright.core.slips.mistakes import find_mistakes
from pacewright.core.slips.place_mixture import PlaceMixture, find_islands, mixture_of, station_mixture
from pacewright.core.way.frames import map_frame
from pacewright.core.way.regions import reach_of
from pacewright.exceptions import ValueComplaint
from pacewright.files.log_csv import read_log
from support.logs import log_of, walker_like
from support.made_logs import draw_log

WALKER = walker_like()
SQUARE = ((0, 900), (90, 700), (180, 500), (270, 700, "[at Gate]"))
"""A square loop in which one of two legs lost four hundred."""


def two_parts():
    mean = np.array([[0.0, 0.0], [300.0, 100.0]])
    covariance = np.array([[[900.0, 200.0], [200.0, 400.0]], [[400.0, -100.0], [-100.0, 900.0]]])
    return PlaceMixture(np.array([0.7, 0.3]), mean, covariance)


def test_the_density_is_that_of_scipy():
    mixture = two_parts()
    points = np.random.default_rng(1).uniform(-100, 400, (50, 2))
    expected = sum(
        w * multivariate_normal(m, c).pdf(points)
        for w, m, c in zip(mixture.weight, mixture.mean, mixture.covariance, strict=True)
    )
    np.testing.assert_allclose(mixture.density(points), expected, rtol=1e-9)


def test_the_region_holds_its_share():
    """200 000 draws of numpy from the mixture itself; the edge is summed at 96 points a part."""
    mixture, rng = two_parts(), np.random.default_rng(2)
    part = (rng.random(200_000) > 0.7).astype(int)
    lower = np.linalg.cholesky(mixture.covariance)
    draws = mixture.mean[part] + np.einsum("cab,cb->ca", lower[part], rng.standard_normal((200_000, 2)))
    for share in (0.5, 0.9, 0.95):
        assert mixture.contains(draws, share).mean() == pytest.approx(share, abs=0.02)


def test_one_part_alone_is_an_ellipse():
    one = PlaceMixture(np.ones(1), np.zeros((1, 2)), np.diag([100.0, 25.0])[None])
    reach = reach_of(0.95)
    assert one.contains([[9.3 * reach, 0], [0, 4.6 * reach]]).all()
    assert not one.contains([[10.7 * reach, 0], [0, 5.4 * reach]]).any()


def test_a_square_with_one_of_two_legs_short_leaves_two_islands():
    posterior = search_slips(log_of(*SQUARE))
    islands = find_islands(posterior, 1)
    assert len(islands) >= 2
    north = sorted(float(island.center[1]) for island in islands[:2])
    assert north == pytest.approx([500, 900], abs=60)
    for island in islands:
        assert island.distance == pytest.approx(math.hypot(*island.center))
        assert math.cos(math.radians(island.azimuth_deg - 180)) > 0.95
    assert sum(island.probability for island in islands) <= 1 + 1e-9


@pytest.mark.parametrize(("sds", "islands"), [(2.4, 1), (2.6, 2)])
def test_places_run_together_where_they_lie_within_two_and_a_half_of_their_own_scatter(
    sds, islands, monkeypatch
):
    """The scatter of a difference of two places: both variances, 9 and 16, added to 5 squared."""
    covariance = np.stack([9.0 * np.eye(2), 16.0 * np.eye(2)])
    found = PlaceMixture(np.array([0.6, 0.4]), np.array([[0.0, 0.0], [3.0 * sds, 4.0 * sds]]), covariance)
    monkeypatch.setattr(place_mixture, "station_mixture", lambda *_: found)
    assert len(find_islands(search_slips(log_of((0, 100))), 1)) == islands


@pytest.mark.parametrize(("share", "islands"), [(0.019, 1), (0.021, 2)])
def test_an_island_of_less_than_one_in_fifty_is_left_out(share, islands, monkeypatch):
    mean = np.array([[0.0, 0.0], [100.0, 0.0]])
    found = PlaceMixture(np.array([1.0 - share, share]), mean, np.stack([np.eye(2)] * 2))
    monkeypatch.setattr(place_mixture, "station_mixture", lambda *_: found)
    assert len(find_islands(search_slips(log_of((0, 100))), 1)) == islands


def test_a_clean_log_leaves_one_island():
    log = log_of((0, 600), (90, 700), (180, 600), (270, 700, "[at Gate]"))
    (island,) = find_islands(search_slips(log), 2)
    np.testing.assert_allclose(island.center, [700, 600], atol=15)


@pytest.mark.parametrize("known", [False, True])
@pytest.mark.statistical
def test_the_region_over_all_explanations_holds_the_stations(known):
    """60 loops of 8 legs, half with a mistake: 95 % is promised; 60 logs of like stations scatter by 3 %."""
    rng = np.random.default_rng(3)
    inside = []
    for number in range(60):
        made = draw_log(rng, "loop", 8, known=known, mistake=number % 2 > 0)
        if made.kind == "leg_missing":
            continue
        log = read_log(made.text.encode())
        posterior = search_slips(log, WALKER, frame=map_frame(log.heading, WALKER))
        stations = np.arange(1, len(log.legs))
        explanations = likeliest_explanations(posterior)
        places = places_given(posterior, explanations, stations)
        inside += [
            mixture_of(explanations.weight, places, i).contains(made.places_m[k])[0]
            for i, k in enumerate(stations)
        ]
    assert 0.88 < np.mean(inside) < 0.995


def test_a_station_has_no_way_to_itself():
    posterior = search_slips(log_of(*SQUARE))
    with pytest.raises(ValueComplaint, match="there is no way from station 2 to station 2"):
        find_islands(posterior, 2, 2)
    with pytest.raises(ValueComplaint, match="Give two numbers from 0 to 4"):
        station_mixture(posterior, 9)
    with pytest.raises(ValueComplaint, match="is not a share of walks"):
        station_mixture(posterior, 1).edge_density(1.0)


@pytest.mark.parametrize("after", range(6))
def test_inside_the_range_of_a_missing_leg_every_place_it_may_have_is_listed(after):
    """Walked by plain trigonometry; whichever leg is left out of the page, the truth is among the places."""
    legs = [(0, 600), (90, 500), (45, 300), (180, 410), (250, 350)]
    truth = [*legs[:after], (234, 473), *legs[after:]]
    log = log_of(*legs[:-1], (*legs[-1], "[at Gate]"))
    station = 3
    reached = station + (after < station)
    true = np.zeros(2)
    for azimuth, count in truth[:reached]:
        true += count * np.array([np.sin(np.radians(azimuth)), np.cos(np.radians(azimuth))])
    islands = find_islands(find_mistakes(log).posterior, station)
    assert sum(one.probability for one in islands) > 0.9
    off = [
        float(np.sqrt((true - one.center) @ np.linalg.solve(one.covariance, true - one.center)))
        for one in islands
    ]
    assert min(off) < 2.5
