"""Barred ground is never crossed, not even by the 95 % corridor of a leg, or the leg says where.

Checked against shapely, a general library of plane shapes, on the shapes as they were given: the tool itself
goes by cells. Sizes: a default walker, azimuth 2.5 deg read to a degree, bias 1.5 deg.
"""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import LineString, Point, Polygon

from pacewright.answers.plan import PlanAnswer, answer_plan, prove_through
from pacewright.answers.plan_question import MapHeld, Named, PlanAsked
from pacewright.core.pace.walker import Walker
from pacewright.ground.terrain import Terrain
from pacewright.route.planning.lines import Line
from pacewright.route.planning.obstacles import barred_by_area

WALKER = Walker(per_100_m=62.5)
AZIMUTH_SD_RAD = math.radians(math.hypot(2.5, 1.0 / math.sqrt(12.0), 1.5))
CELL_M = 30.0


def made(seed: int) -> tuple[MapHeld, PlanAsked, list[Polygon]]:
    """Gentle land with tracks and some areas to keep off, thin ones among them."""
    rng = np.random.default_rng(seed)
    count = 160
    at = np.arange(count) * CELL_M
    heights = 500 + 20 * np.sin(at / 700)[None, :] + 20 * np.cos(at / 900 + seed)[:, None]
    terrain = Terrain(heights.astype(np.float32), 0.0, count * CELL_M, CELL_M, CELL_M, "EPSG:32611")
    start, goal = (800.0, 800.0), (3900.0, 3700.0)
    tracks = [
        Line("track", np.array([(100.0, north), (2400.0, north + rng.uniform(-200, 200)), (4700.0, north)]))
        for north in (1500.0, 2600.0, 3700.0)
    ] + [Line("track", np.array([(east, 100.0), (east, 4700.0)])) for east in (1600.0, 3900.0)]
    shapes: list[Polygon] = []
    while len(shapes) < 7:
        middle = (
            np.array(start) + rng.uniform(0.1, 0.9) * np.subtract(goal, start) + rng.normal(0.0, 350.0, 2)
        )
        turn = rng.uniform(0.0, math.pi)
        long_m, wide_m = rng.uniform(300.0, 600.0), rng.choice([8.0, 60.0, 250.0])
        along = np.array([math.sin(turn), math.cos(turn)])
        beside = np.array([along[1], -along[0]])
        corners = [
            middle + a * long_m * along + b * wide_m * beside
            for a, b in ((-0.5, -0.5), (-0.5, 0.5), (0.5, 0.5), (0.5, -0.5))
        ]
        shape = Polygon(corners)
        if min(shape.distance(Point(*start)), shape.distance(Point(*goal))) > 150.0:
            shapes.append(shape)
    barred = tuple((f"fen {k}", np.array(one.exterior.coords)) for k, one in enumerate(shapes))
    asked = PlanAsked(Named("Gate", start), Named("Heron post", goal), with_level=False, with_streams=False)
    return MapHeld(terrain, tuple(tracks), (), barred), asked, shapes


def corridors(answer: PlanAnswer) -> list[tuple[int, Polygon]]:
    """The 95 % corridor of every leg by azimuth, worked out anew from where the walkers began it."""
    assert answer.plan is not None
    found = []
    for number, leg in enumerate(answer.plan.legs):
        if leg.follows:
            continue
        angle = math.radians(leg.azimuth_deg)
        ahead, beside = (
            np.array([math.sin(angle), math.cos(angle)]),
            np.array([math.cos(angle), -math.sin(angle)]),
        )
        places = answer.plan.walked.places_m[number]
        begin_sd = max(float(np.nanstd(places @ beside)), 15.0)
        far = np.linspace(0.0, leg.length_m, 60)
        wide = 1.96 * np.hypot(begin_sd, AZIMUTH_SD_RAD * far)
        middle = np.array(leg.from_m) + far[:, None] * ahead
        right, left = middle + wide[:, None] * beside, middle - wide[:, None] * beside
        found.append((number, Polygon(np.concatenate([right, left[::-1]]))))
    return found


def test_no_corridor_of_a_plan_touches_what_is_kept_off() -> None:
    in_the_way = 0
    for seed in range(8):
        held, asked, shapes = made(seed)
        answer = answer_plan(held, WALKER, asked, np.random.default_rng(1))
        assert answer.legs
        assert not [
            (seed, number, shape.wkt)
            for number, corridor in corridors(answer)
            for shape in shapes
            if corridor.intersects(shape)
        ]
        straight = LineString([asked.start.place_m, asked.goal.place_m])
        in_the_way += sum(straight.intersects(one) for one in shapes)
    assert in_the_way >= 8


def test_a_leg_by_hand_says_where_it_touches_what_is_kept_off() -> None:
    touching = said = 0
    for seed in range(8):
        held, asked, shapes = made(seed)
        ends = [(2000.0, 1700.0, False), (3000.0, 3100.0, False), (*asked.goal.place_m, False)]
        answer = prove_through(held, WALKER, asked, ends, np.random.default_rng(1))
        for number, corridor in corridors(answer):
            touches = any(corridor.intersects(one) for one in shapes)
            is_said = answer.legs[number].told.barred_at_m is not None
            touching, said = touching + touches, said + is_said
            # It may say so a cell too soon; it never says nothing.
            assert is_said or not touches
    assert 8 <= touching <= said < 24


def test_a_thin_area_leaves_no_gap_between_its_cells() -> None:
    terrain = Terrain(np.zeros((100, 100), dtype=np.float32), 0.0, 3000.0, CELL_M, CELL_M, "EPSG:32611")
    ditch = Polygon([(300.0, 311.0), (2700.0, 2400.0), (2704.0, 2396.0), (304.0, 307.0)])
    cells = barred_by_area(terrain, np.array(ditch.exterior.coords))
    for at in np.linspace(0.0, 1.0, 400):
        place = ditch.exterior.interpolate(at, normalized=True)
        assert cells[int((3000.0 - place.y) / CELL_M), int(place.x / CELL_M)]
