"""A backstop catches whoever walked too far, wherever he may stand then; a line inside his scatter does not.

That walkers who missed are caught is walked here apart from the tool: normal scatter by numpy, rays by
shapely. 2.448 standard deviations hold 95 in 100 of two dimensions (chi-square with 2 degrees: 5.991).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import LineString

from pacewright.core.pace.walker import Walker
from pacewright.route.planning.backstops import BailOut, nearest_backstop
from pacewright.route.planning.figures import walk_figures
from pacewright.route.planning.land import make_land
from pacewright.route.planning.lines import Line, Sight
from pacewright.route.planning.obstacles import barred_by_area
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.step import Dial

FIGURES = walk_figures(Walker(per_100_m=62.5))
FLAT = (-4000.0, -4000.0, 4000.0, 6000.0)
BEGIN_M = 15.0
LEG = PlanLeg("sight", (0.0, 0.0), (0.0, 1000.0), 1000.0, 0.0, 0.0, 850.0, 1200.0, 15.0)
ALONG_SD_M = math.hypot(BEGIN_M, FIGURES.length_sd * LEG.stop_m)
ACROSS_SD_M = math.hypot(BEGIN_M, FIGURES.azimuth_sd_rad * LEG.stop_m)


def across(kind: str, north_m: float, half_m: float = 3000.0) -> Line:
    return Line(kind, np.array([(-half_m, north_m), (half_m, north_m)]))


def found(*lines: Line, **more: object) -> BailOut | None:
    land = make_land(None, list(lines), [Sight("start", (0.0, 0.0), True)], bounds=FLAT, **more)  # type: ignore[arg-type]
    return nearest_backstop(land, FIGURES, Dial(), LEG, BEGIN_M)


def caught(bail: BailOut, *lines: Line) -> float:
    """The share of 4000 walkers that meet a line of the kind within what is told."""
    rng = np.random.default_rng(7)
    own = [LineString(line.points_m) for line in lines if line.kind == bail.kind]
    met = 0
    for east, north, turn in rng.standard_normal((4000, 3)) * (
        ACROSS_SD_M, ALONG_SD_M, FIGURES.azimuth_sd_rad
    ):  # fmt: skip
        angle = math.radians(bail.dial_deg) + turn
        begin = (east, LEG.stop_m + north)
        end = (
            begin[0] + bail.within_m * math.sin(angle), begin[1] + bail.within_m * math.cos(angle)
        )  # fmt: skip
        met += any(LineString([begin, end]).intersects(one) for one in own)
    return met / 4000


@pytest.mark.parametrize("beyond_m", [9.0, 100.0])
def test_a_line_inside_the_scatter_is_no_backstop(beyond_m: float) -> None:
    assert beyond_m < 2.448 * ALONG_SD_M
    near, far = across("stream", LEG.stop_m + beyond_m), across("track", LEG.stop_m + 500.0)
    assert found(near) is None
    bail = found(near, far)
    assert bail is not None and bail.kind == "track"
    assert caught(bail, near, far) > 0.93


def test_a_line_beyond_the_scatter_is_one_and_it_is_said_how_far_at_most() -> None:
    line = across("wall", LEG.stop_m + 300.0)
    bail = found(line)
    assert bail is not None and bail.dial_deg in (0.0, 1.0, 359.0)
    # From the nearest of where 95 in 100 stand, a little longer on a neighbouring azimuth.
    assert bail.within_m == pytest.approx(300.0 + 2.448 * ALONG_SD_M, rel=0.01)
    assert caught(bail, line) > 0.93


def test_a_line_too_short_for_where_one_may_stand_is_none() -> None:
    assert found(across("wall", LEG.stop_m + 300.0, 100.0)) is None
    assert found(across("wall", LEG.stop_m + 300.0, 800.0)) is not None


def test_no_bail_out_leads_over_what_is_kept_off() -> None:
    ring = np.array([(-600.0, 1300.0), (600.0, 1300.0), (600.0, 1350.0), (-600.0, 1350.0)])
    line = across("wall", LEG.stop_m + 300.0)
    ground = make_land(None, [line], [Sight("start", (0.0, 0.0), True)], bounds=FLAT).terrain
    open_, barred = found(line), found(line, barred={"bog": barred_by_area(ground, ring)})
    assert open_ is not None
    assert barred is None or abs((barred.dial_deg + 180.0) % 360.0 - 180.0) > 45.0
