"""Danger areas and water, against dense points and against learners walked by the simulator."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.core.pace.walker import Walker
from pacewright.course.barred_land import BarredArea, Corridor, corridor_for, crosses, distance_to
from pacewright.exceptions import ValueComplaint
from support.made_searches import dense_ring, walked_leg, winding_inside

SQUARE = BarredArea("pond", ((0, 0), (100, 0), (100, 100), (0, 100)))


def made_area(rng: np.random.Generator) -> np.ndarray:
    """A ring with dents that does not cross itself."""
    turned = np.sort(rng.uniform(0, 2 * math.pi, 9))
    reach = rng.uniform(60, 260, 9)
    return rng.uniform(-300, 300, 2) + reach[:, None] * np.stack([np.sin(turned), np.cos(turned)], axis=1)


def test_a_leg_is_barred_just_when_dense_points_of_it_come_within_the_clearance() -> None:
    rng = np.random.default_rng(21)
    barred = 0
    for _ in range(150):
        ring = made_area(rng)
        start, end = rng.uniform(-700, 700, (2, 2))
        clearance_m = float(rng.uniform(0, 60))
        points = start + np.linspace(0, 1, 300)[:, None] * (end - start)
        border = dense_ring(ring, 4.0)
        nearest_m = np.hypot(*(points[:, None] - border[None]).transpose(2, 0, 1)).min()
        inside = winding_inside(points, ring).any()
        area = BarredArea("area", tuple(map(tuple, ring.tolist())))
        told = crosses(tuple(start), tuple(end), Corridor(clearance_m, 0.0, 0.0), area)
        if inside or nearest_m < clearance_m - 5.0:
            assert told
        # The corners of the strip reach farther than its clearance, by the diagonal of a square.
        elif nearest_m > clearance_m * math.sqrt(2.0) + 5.0:
            assert not told
        barred += told
    assert 30 < barred < 120


def test_the_distance_to_an_area_is_that_to_its_nearest_point() -> None:
    rng = np.random.default_rng(22)
    for _ in range(30):
        ring = made_area(rng)
        places = rng.uniform(-600, 600, (40, 2))
        border = dense_ring(ring, 0.5)
        dense_m = np.hypot(*(places[:, None] - border[None]).transpose(2, 0, 1)).min(axis=1)
        dense_m[winding_inside(places, ring)] = 0.0
        assert distance_to(places, BarredArea("area", tuple(map(tuple, ring.tolist())))) == pytest.approx(
            dense_m, abs=0.3
        )


def test_few_ordinary_learners_leave_the_corridor_of_a_leg() -> None:
    # Two standard deviations to a side hold 19 walks in 20; an area along one side meets half the rest.
    rng = np.random.default_rng(23)
    corridor = corridor_for(Walker(), 0.0, 2.0)
    for length_m in (300.0, 1200.0):
        edge = corridor.spread * length_m
        walked = walked_leg(
            rng,
            np.array([0.0, length_m]),
            1.5 * rng.standard_normal(40_000),
            np.exp(0.03 * rng.standard_normal(40_000)),
        )
        assert float((walked[:, 0] > edge).mean()) < 0.03
        assert float((walked[:, 1] > length_m * (1.0 + corridor.beyond)).mean()) < 0.03


def test_a_leg_may_end_before_water_only_as_far_as_learners_overshoot() -> None:
    corridor = corridor_for(Walker(), 20.0, 2.0)
    beyond_m = 1000.0 * corridor.beyond + 20.0
    for gap_m, barred in ((beyond_m - 1.0, True), (beyond_m + 1.0, False)):
        lake = BarredArea("lake", ((-500, 1000 + gap_m), (500, 1000 + gap_m), (0, 3000)))
        assert crosses((0, 0), (0, 1000), corridor, lake) is barred


def test_a_leg_wholly_inside_an_area_is_barred_and_so_is_one_round_a_small_pit() -> None:
    wide = Corridor(300.0, 0.0, 0.0)
    pit = BarredArea("pit", ((500, 1), (501, 1), (500, 2)))
    assert crosses((20, 50), (80, 50), Corridor(1.0, 0.0, 0.0), SQUARE)
    assert crosses((0, 0), (1000, 0), wide, pit)


def test_a_leg_in_line_with_a_side_but_apart_from_it_is_not_barred() -> None:
    assert not crosses((200, 0), (400, 0), Corridor(0.0, 0.0, 0.0), SQUARE)
    assert crosses((100, 0), (400, 0), Corridor(0.0, 0.0, 0.0), SQUARE)


def test_a_stream_bars_only_what_crosses_it() -> None:
    stream = BarredArea("stream", ((0, -100), (0, 100), (200, 100)), is_line=True)
    bare = Corridor(0.0, 0.0, 0.0)
    assert crosses((-50, 0), (50, 0), bare, stream)
    assert not crosses((50, 0), (150, 50), bare, stream)
    assert distance_to([(50.0, 0.0)], stream)[0] == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("corners", "is_line"),
    [(((0, 0), (1, 1)), False), (((0, 0), (0, 0)), True), (((0, 0), (1, math.nan), (2, 2)), False)],
)
def test_an_outline_that_is_none_is_refused(corners: tuple, is_line: bool) -> None:
    with pytest.raises(ValueComplaint):
        BarredArea("marsh", corners, is_line)
