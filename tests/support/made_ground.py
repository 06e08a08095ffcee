"""Made-up hills with a pond, and walks on their grid."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from pacewright.drawing.walk_figure import FigureLeg, FigureStation, WalkFigure
from pacewright.ground.terrain import Terrain

WEST, NORTH = 292_061.4, 4_148_694.3
CENTRE = (WEST + 4_600.0, NORTH - 4_300.0)


def hills(count: int = 300, cell: float = 30.0, **more: Any) -> Terrain:
    """Hills with a pond in them."""
    at = np.arange(count) * cell
    heights = 1200 + 200 * np.sin(at / 900)[None, :] * np.cos(at / 700)[:, None] + 0.02 * at[None, :]
    heights[140:150, 150:165] = 1150.0
    return Terrain(heights.astype(np.float32), WEST, NORTH, cell, cell, "EPSG:32611", **more)


def walk(
    places: list[tuple[float, float]], names: tuple[str, str] = ("Gate", "Heron post"), **more: Any
) -> WalkFigure:
    """A walk over places on the grid; the first and the last have names."""
    stations = [FigureStation(k, None, east, north) for k, (east, north) in enumerate(places)]
    stations[0] = replace(stations[0], name=names[0])
    stations[-1] = replace(stations[-1], name=names[1])
    settings = {"title": "Cinder Fen", "unit": "metre", "azimuth_reference": "grid"} | more
    legs = tuple(FigureLeg(k, k + 1) for k in range(len(places) - 1))
    return WalkFigure(stations=tuple(stations), legs=legs, **settings)
