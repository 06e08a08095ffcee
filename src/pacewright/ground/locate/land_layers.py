"""The layers of a whole land, made a part at a time, so that a land of any size takes no more room.

The parts are the land's own and no search's: every search on a land reads the same layers, and what made them
once can be kept.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.layers import UNKNOWN_KIND, UNKNOWN_STREAM, GroundLayers, build_layers
from pacewright.ground.locate.streams import KNOWN_ABOVE, UNKNOWN_HEIGHT
from pacewright.ground.terrain import Terrain, window

PART_CELLS: Final = 2304
"""Cells of a part each way: most lands are one part, and making one takes some 400 MB."""
_ROOM: Final = 120
"""So many cells more are read, that streams which begin outside run into a part in full."""
_HELD: Final = 4

Make = Callable[[], GroundLayers]
KeepLayers = Callable[[Terrain, "NDArray[np.bool_] | None", Make], GroundLayers]
"""Given a piece of land, the streams known there, and what makes its layers: those kept, or else made."""


@dataclass(frozen=True, slots=True)
class _Part:
    top: int
    low: int
    left: int
    right: int


class LandLayers:
    """The layers of a land.

    Parameters
    ----------
    land
        From `working_terrain`.
    streams
        Cells through which streams are known to run; without them they are found from the heights.
    keeper
        What keeps layers between searches; by default nothing does.
    side
        Cells of a part each way.
    """

    def __init__(
        self,
        land: Terrain,
        streams: NDArray[np.bool_] | None = None,
        keeper: KeepLayers | None = None,
        side: int = PART_CELLS,
    ) -> None:
        self.land, self.streams = land, streams
        self._keeper = keeper or (lambda _land, _streams, make: make())
        rows, columns = land.elevation_m.shape
        self._rows, self._columns = _edges(rows, side), _edges(columns, side)
        self._held: dict[tuple[int, int, bool], GroundLayers] = {}

    def piece(self, top: int, low: int, left: int, right: int, *, with_streams: bool) -> GroundLayers:
        """The layers of rows and columns of the land, from the first to before the last.

        Parameters
        ----------
        top, low, left, right
            Within the land.
        with_streams
            False where nothing asks of streams: finding where water gathers is the longest part of it.
        """
        size = (low - top, right - left)
        height = np.full(size, UNKNOWN_HEIGHT, dtype=np.float32)
        kind = np.full(size, UNKNOWN_KIND, dtype=np.uint16)
        stream = np.full(size, UNKNOWN_STREAM, dtype=np.uint8)
        standing_m = 0.0
        for down, (first, last) in enumerate(pairwise(self._rows)):
            for across, (west, east) in enumerate(pairwise(self._columns)):
                t, b, le, ri = max(top, first), min(low, last), max(left, west), min(right, east)
                if t >= b or le >= ri:
                    continue
                part = self._part(down, across, with_streams)
                standing_m = max(standing_m, part.standing_m)
                here = (slice(t - first, b - first), slice(le - west, ri - west))
                goal = (slice(t - top, b - top), slice(le - left, ri - left))
                height[goal], kind[goal], stream[goal] = (
                    part.height_m[here],
                    part.kind[here],
                    part.stream[here],
                )
        known = height > KNOWN_ABOVE
        cell_m = self.land.cell_east_m
        return GroundLayers(
            height,
            kind,
            stream,
            self.land.west_m + left * cell_m,
            self.land.north_m - top * cell_m,
            cell_m,
            self.land.crs,
            float(height[known].std()) if known.any() else 0.0,
            standing_m,
        )

    def _part(self, down: int, across: int, with_streams: bool) -> GroundLayers:
        key = (down, across, with_streams)
        if key not in self._held:
            while len(self._held) >= _HELD:
                self._held.pop(next(iter(self._held)))
            part = _Part(*self._rows[down : down + 2], *self._columns[across : across + 2])
            self._held[key] = self._made(part, with_streams)
        return self._held[key]

    def _made(self, part: _Part, with_streams: bool) -> GroundLayers:
        rows, columns = self.land.elevation_m.shape
        t, b = max(part.top - _ROOM, 0), min(part.low + _ROOM, rows)
        le, ri = max(part.left - _ROOM, 0), min(part.right + _ROOM, columns)
        piece = piece_of(self.land, t, b, le, ri)
        streams = None if self.streams is None else self.streams[t:b, le:ri]
        if not with_streams:
            streams = np.zeros(piece.elevation_m.shape, dtype=np.bool_)
        made = self._keeper(piece, streams, lambda: build_layers(piece, streams))
        here = (slice(part.top - t, part.low - t), slice(part.left - le, part.right - le))
        cell_m = self.land.cell_east_m
        west_m, north_m = self.land.west_m + part.left * cell_m, self.land.north_m - part.top * cell_m
        height, kind, stream = made.height_m[here], made.kind[here], made.stream[here]
        return replace(made, height_m=height, kind=kind, stream=stream, west_m=west_m, north_m=north_m)


def piece_of(land: Terrain, top: int, low: int, left: int, right: int) -> Terrain:
    """Rows and columns of a land on square cells as a land of its own."""
    cell_m = land.cell_east_m
    # Half a cell in, so that rounding cannot take a neighbour with it.
    bounds = (
        land.west_m + (left + 0.5) * cell_m,
        land.north_m - (low - 0.5) * cell_m,
        land.west_m + (right - 0.5) * cell_m,
        land.north_m - (top + 0.5) * cell_m,
    )
    return window(land, bounds)


def _edges(count: int, side: int) -> list[int]:
    parts = max(1, math.ceil(count / side))
    return [int(one) for one in np.linspace(0, count, parts + 1).round()]
