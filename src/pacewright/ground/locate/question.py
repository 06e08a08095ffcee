"""A log put to a piece of land: every number that the inner loops need, worked out once."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.chances import (
    Doubt,
    Roughness,
    station_table,
    usual_slope_pct,
    with_unknown,
)
from pacewright.ground.locate.domain import TILE, Domain, about
from pacewright.ground.locate.ground_said import GroundSaid
from pacewright.ground.locate.kernel_arguments import LegChance, StationChance
from pacewright.ground.locate.layers import UNKNOWN_KIND, GroundLayers
from pacewright.ground.locate.leg_questions import find_crossings, find_legs
from pacewright.ground.locate.noise_steps import NoiseStep, noise_steps
from pacewright.ground.locate.streams import KNOWN_ABOVE, UNKNOWN_HEIGHT
from pacewright.ground.locate.walk import Nodes, Walk, nodes_of

Floats = NDArray[np.float64]

MOST_MAP_CELLS: Final = 40_000_000
_NO_READING: Final = -99999.0


@dataclass(frozen=True, slots=True, eq=False)
class Weighing:
    """What is said, ready for the loops, where the heights are off by so much.

    Attributes
    ----------
    legs, stations
        Of every leg (`legs[0]` is for no leg) and station.
    tables, extras
        The tables of kinds, and the further maps of chances over the land.
    by_chance
        The chance of each remark on ground taken at random: of every station, and of every leg.
    """

    legs: tuple[LegChance, ...]
    stations: tuple[StationChance, ...]
    tables: NDArray[np.float32]
    extras: NDArray[np.float32]
    by_chance: tuple[Floats, Floats]

    def on_land(self, rows: slice, columns: slice) -> Weighing:
        """The same for a part of the land, or some of its cells."""
        if not len(self.extras):
            return self
        return replace(self, extras=np.ascontiguousarray(self.extras[:, rows, columns]))


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """What the inner loops are given for one log on one piece of land.

    Attributes
    ----------
    domain
        Where the walk may have begun.
    cell_m, step
        Size of a cell of the land, and how many of them make a cell here.
    walk, nodes
        The figure, and the biases, scales and errors of the heights tried.
    places
        Stations in rows and columns from the start, shape (nodes, stations, 2).
    prior
        Of the start over the domain, with sum 1.
    ends
        True where the domain's land is known: the walk began on this map.
    height, kind, crossings
        The land about the domain.
    weighings
        What is said, for every error of the heights, the largest first.
    steps
        The scatter of every leg as steps on the cells.
    slips_forward
        What slips move, in whole cells, and their chances; three columns a way, one array a leg.
    """

    domain: Domain
    cell_m: float
    step: int
    walk: Walk
    nodes: Nodes
    places: Floats
    prior: NDArray[np.float32]
    height: NDArray[np.float32]
    kind: NDArray[np.uint16]
    crossings: NDArray[np.uint8]
    crossing_tables: NDArray[np.float32]
    weighings: tuple[Weighing, ...]
    steps: tuple[tuple[NoiseStep, ...], ...]
    slips_forward: tuple[Floats, ...]

    def on_wider_cells(self, step: int) -> Question:
        """The same question on cells so many times as wide: mean heights, else the middle cell."""
        domain, middle = self.domain, step // 2
        # What is read about the domain must begin at a whole wide cell of it.
        off = (-domain.pad) % step
        cut = slice(domain.pad - (domain.pad - off) // step * step, None)
        height = _mean_of_blocks(self.height[cut, cut], step)
        kind, crossings = self.kind[cut, cut], self.crossings[:, cut, cut]
        rows, columns = height.shape
        every = (slice(middle, middle + rows * step, step), slice(middle, middle + columns * step, step))
        weighings = tuple(one.on_land(cut, cut).on_land(*every) for one in self.weighings)
        blocks = self.prior.reshape(domain.rows // step, step, domain.columns // step, step)
        wide = Domain(
            domain.top, domain.left, domain.rows // step, domain.columns // step, (domain.pad - off) // step
        )
        return replace(
            self,
            domain=wide,
            step=self.step * step,
            places=self.places / step,
            prior=blocks.sum(axis=(1, 3), dtype=np.float32),
            height=height,
            kind=np.ascontiguousarray(kind[every]),
            crossings=np.ascontiguousarray(crossings[:, *every]) if len(crossings) else crossings,
            weighings=weighings,
            steps=_steps(self.walk, self.cell_m * self.step * step),
            slips_forward=_slips(self.walk, self.cell_m * self.step * step),
        ).with_maps()

    def cropped(self, top: int, left: int, rows: int, columns: int) -> Question:
        """The same question for starts in a part of the domain; all in whole tiles of cells."""
        pad = self.domain.pad
        land = (slice(top, top + rows + 2 * pad), slice(left, left + columns + 2 * pad))
        return replace(
            self,
            domain=Domain(self.domain.top + top, self.domain.left + left, rows, columns, pad),
            prior=np.ascontiguousarray(self.prior[top : top + rows, left : left + columns]),
            height=np.ascontiguousarray(self.height[land]),
            kind=np.ascontiguousarray(self.kind[land]),
            crossings=np.ascontiguousarray(self.crossings[:, *land])
            if len(self.crossings)
            else self.crossings,
            weighings=tuple(one.on_land(*land) for one in self.weighings),
        )

    def with_maps(self) -> Question:
        """The same question with a map of chances in the place of every table, where these fit."""
        stations = self.weighings[0].stations
        used = {one.table for one in stations if one.table >= 0}
        cells = len(self.weighings) * len(used) * self.kind.size
        if cells > MOST_MAP_CELLS or any(one.extra >= 0 for one in stations):
            return self
        return replace(self, weighings=tuple(self._mapped(one) for one in self.weighings))

    def _mapped(self, one: Weighing) -> Weighing:
        stations = tuple(said._replace(table=-1, extra=said.table) for said in one.stations)
        # An index would leave the maps woven into each other, each cell of one far from the next.
        return replace(one, stations=stations, extras=np.take(one.tables, self.kind, axis=1))

    @property
    def size(self) -> int:
        """Cells of a tile each way."""
        return TILE // self.step

    def slips(self, is_forward: bool) -> tuple[Floats, ...]:
        """What slips move, in whole cells, and their chances; one array of three columns a leg."""
        if is_forward:
            return self.slips_forward
        return tuple(one * np.array([-1.0, -1.0, 1.0]) for one in self.slips_forward)


def _steps(walk: Walk, cell_m: float) -> tuple[tuple[NoiseStep, ...], ...]:
    return tuple(noise_steps(one, cell_m) for one in walk.own_m2)


def _slips(walk: Walk, cell_m: float) -> tuple[Floats, ...]:
    made = []
    for ways in walk.slips:
        rows = [(round(-way.north_m / cell_m), round(way.east_m / cell_m), way.chance) for way in ways]
        made.append(np.array(rows, dtype=np.float64).reshape(-1, 3))
    return tuple(made)


def _mean_of_blocks(height: NDArray[np.float32], step: int) -> NDArray[np.float32]:
    rows, columns = height.shape[0] // step, height.shape[1] // step
    blocks = height[: rows * step, : columns * step].reshape(rows, step, columns, step)
    known = blocks > KNOWN_ABOVE
    count = known.sum(axis=(1, 3))
    total = np.where(known, blocks, 0.0).sum(axis=(1, 3), dtype=np.float64)
    mean = np.where(2 * count > step * step, total / np.maximum(count, 1), UNKNOWN_HEIGHT)
    return np.asarray(mean.astype(np.float32))


def pose(
    walk: Walk,
    said: GroundSaid,
    layers: GroundLayers,
    domain: Domain,
    prior: NDArray[np.float32],
    doubt: Doubt,
    faces_turn_deg: float = 0.0,
    extras: NDArray[np.float32] | None = None,
    extra_of_station: tuple[int, ...] = (),
) -> Question:
    """Put a log to a piece of land.

    Parameters
    ----------
    walk, said
        The log.
    layers
        The land.
    domain
        Where the walk may have begun.
    prior
        Of the start, over the layers; 0 where it cannot have begun.
    doubt
        How far remarks and land are trusted.
    faces_turn_deg
        Added to a side as told, to make it one of the land's grid.
    extras, extra_of_station
        Further maps of chances over the layers, and which holds for each station (-1 none).
    """
    cell_m = layers.cell_m
    height = about(layers.height_m, domain, float(UNKNOWN_HEIGHT))
    kind = about(layers.kind, domain, UNKNOWN_KIND)
    share = np.bincount(layers.kind.ravel(), minlength=UNKNOWN_KIND + 1)[:UNKNOWN_KIND].astype(float)
    share /= max(share.sum(), 1.0)
    rough = Roughness(layers.standing_m, usual_slope_pct(share))
    crossings, crossing_tables, crossing_of = find_crossings(walk, said, layers, domain, doubt)
    maps = np.zeros((0, 1, 1), np.float32)
    if extras is not None and len(extras):
        maps = np.stack([about(one, domain, 1.0) for one in extras])

    def weighing(one: Doubt) -> Weighing:
        tables, table_of = _tables(said, faces_turn_deg, one, share, rough)
        legs, leg_by_chance = find_legs(walk, said, layers, one, crossing_of, crossing_tables)
        stations = _stations(said, layers, one, table_of, extra_of_station)
        by_chance = (_stations_by_chance(said, stations, tables, share, extras), leg_by_chance)
        return Weighing(legs, stations, tables, maps, by_chance)

    doubts, chances = zip(*doubt.by_heights(rough.slope_pct), strict=True)
    weighings = tuple(weighing(one) for one in doubts)
    nodes = nodes_of(walk).under_each(chances)
    metres = nodes.places(walk.place_m)
    places = np.stack([-metres[:, :, 1], metres[:, :, 0]], axis=2) / cell_m
    start = about(prior, Domain(domain.top, domain.left, domain.rows, domain.columns, 0), 0.0)
    return Question(
        domain=domain,
        cell_m=cell_m,
        step=1,
        walk=walk,
        nodes=nodes,
        places=places,
        prior=start,
        height=height,
        kind=kind,
        crossings=crossings,
        crossing_tables=crossing_tables,
        weighings=weighings,
        steps=_steps(walk, cell_m),
        slips_forward=_slips(walk, cell_m),
    )


def _tables(
    said: GroundSaid, turn_deg: float, doubt: Doubt, share: Floats, rough: Roughness
) -> tuple[NDArray[np.float32], list[int]]:
    made: dict[object, int] = {}
    tables: list[NDArray[np.float32]] = []
    table_of: list[int] = []
    for one in said.stations:
        key = (one.faces_deg, one.faces_half_deg, one.is_flat, one.lie, one.is_on_stream, one.slope_pct)
        if key not in made:
            table = station_table(one, turn_deg, doubt, rough)
            made[key] = -1 if table is None else len(tables)
            if table is not None:
                tables.append(with_unknown(table, share))
        table_of.append(made[key])
    if not tables:
        return np.ones((1, UNKNOWN_KIND + 1), np.float32), table_of
    return np.stack(tables), table_of


def _stations(
    said: GroundSaid,
    layers: GroundLayers,
    doubt: Doubt,
    table_of: list[int],
    extra_of: tuple[int, ...],
) -> tuple[StationChance, ...]:
    variance = doubt.altimeter_sd_m**2 + doubt.height_sd_m**2
    made = []
    for k, one in enumerate(said.stations):
        reading = _NO_READING if one.altitude_m is None else one.altitude_m
        extra = extra_of[k] if extra_of else -1
        # The variance of the offset is set by the sweep, which knows what was read before.
        made.append(StationChance(table_of[k], reading, variance, 0.0, layers.relief_m, 0.02, extra))
    return tuple(made)


def _stations_by_chance(
    said: GroundSaid,
    stations: tuple[StationChance, ...],
    tables: NDArray[np.float32],
    share: Floats,
    extras: NDArray[np.float32] | None,
) -> Floats:
    chances = np.ones(len(stations))
    for k, one in enumerate(stations):
        if one.table >= 0:
            chances[k] *= float(tables[one.table, UNKNOWN_KIND])
        if said.stations[k].altitude_m is not None:
            chances[k] *= 1.0 / (math.sqrt(4.0 * math.pi) * max(one.fill_m, 10.0))
        if extras is not None and one.extra >= 0:
            chances[k] *= float(extras[one.extra].mean())
    return chances
