"""Where was that, and where am I now: a log searched for on a terrain."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.answers.estimate import find_estimate
from pacewright.answers.located_walk import known_sights, position_at, told_walk
from pacewright.answers.way import WayAnswer, WayAsked, answer_way
from pacewright.core.adjust.standing import with_a_pace
from pacewright.core.compass import direction_deg
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.walker import Walker
from pacewright.exceptions import ValueComplaint
from pacewright.ground.declination import FieldModel
from pacewright.ground.grid_text import Position
from pacewright.ground.locate.advice import Advice, find_advice
from pacewright.ground.locate.belief import Progress
from pacewright.ground.locate.chances import Doubt
from pacewright.ground.locate.fitting import DISAGREES_BELOW, RemarkFit, remark_fits
from pacewright.ground.locate.found_walk import FoundWalk, follow_back
from pacewright.ground.locate.ground_said import GroundSaid
from pacewright.ground.locate.kernels import kernels
from pacewright.ground.locate.land_layers import LandLayers
from pacewright.ground.locate.layers import working_terrain
from pacewright.ground.locate.posterior import BeliefRegion, LikelyPlace, likely_places, region_of
from pacewright.ground.locate.search import (
    Block,
    Found,
    Keep,
    Kept,
    Told,
    pose_block,
    search,
)
from pacewright.ground.locate.sights import find_summits
from pacewright.ground.locate.walk import SLIP_CHANCE
from pacewright.ground.terrain import Terrain

Floats = NDArray[np.float64]
Searcher = Callable[..., Found]

CAN_TELL_KM2: Final = 1.0
CAN_TELL_CHANCE: Final = 0.5
"""One place is told where the region is no larger than this and the likeliest place no less likely."""
MOST_CELLS: Final = 30_000_000
SIGHT_M: Final = 4_000.0
"""How far round the places that are left land is read for what may be seen from them."""


@dataclass(frozen=True, slots=True)
class LocateAsked:
    """What is asked of a search.

    Attributes
    ----------
    probability
        That the stated region holds the place.
    doubt
        How far remarks and terrain are trusted.
    slip_chance
        That a leg holds a slip of the pencil.
    workers
        Threads.
    is_plain
        Leave the compiler out.
    """

    probability: float = DEFAULT_PROBABILITY
    doubt: Doubt = Doubt()
    slip_chance: float = SLIP_CHANCE
    workers: int = 2
    is_plain: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class PlaceFound:
    """One likely place: where the walker would be, and where the walk would have begun.

    Attributes
    ----------
    probability
        Of being within 100 m of it now.
    now_m, start_m
        East and north on the terrain's grid.
    now, start
        The same as places on the earth.
    covariance_m2
        Of the present place about it; rows east, north.
    stations_m
        The figure of the log there, shape (n + 1, 2).
    back_azimuth_deg, back_m
        From the present place to the start on the map, by the terrain's grid.
    """

    probability: float
    now_m: tuple[float, float]
    start_m: tuple[float, float]
    now: Position
    start: Position
    covariance_m2: Floats
    stations_m: Floats
    back_azimuth_deg: float
    back_m: float


@dataclass(frozen=True, slots=True, eq=False)
class LocateAnswer:
    """Where a log fits on a terrain.

    Attributes
    ----------
    log, walker
        The log, and who walked it.
    terrain
        The land on the cells that were searched.
    said
        What the log says of the ground.
    candidates
        The likeliest places, best first.
    region, start_region
        The smallest regions that hold the present place and the start.
    found
        The beliefs.
    agrees
        False where the log fits nowhere on this map.
    can_tell
        Whether one place stands out.
    advice
        What to note next, the best first.
    worst
        The remarks that fit the likeliest place worst, the worst first.
    way
        The way back, in the walker's own paces.
    remarks
        Sentences on what was assumed.
    """

    log: TravelLog
    walker: Walker
    terrain: Terrain
    said: GroundSaid
    candidates: tuple[PlaceFound, ...]
    region: BeliefRegion
    start_region: BeliefRegion
    found: Found
    agrees: bool
    can_tell: bool
    advice: tuple[Advice, ...]
    worst: tuple[RemarkFit, ...]
    way: WayAnswer
    remarks: tuple[str, ...]

    @property
    def grid_epsg(self) -> int | None:
        """The number of the terrain's grid; None where it has none."""
        match = re.fullmatch(r"EPSG:(\d+)", self.terrain.crs)
        return int(match[1]) if match else None


def answer_locate(
    log: TravelLog,
    walker: Walker | None,
    land: Terrain,
    model: FieldModel | None = None,
    prior: NDArray[np.float32] | None = None,
    asked: LocateAsked | None = None,
    *,
    ground: LandLayers | None = None,
    progress: Progress | None = None,
    kept: Kept | None = None,
    keep: Keep | None = None,
    searcher: Searcher = search,
) -> LocateAnswer:
    """Say where on a land a log was walked.

    Parameters
    ----------
    log, walker
        The log, and who walked it; a walker never measured is taken at five feet a pace, within 15 %.
    land
        From `working_terrain`.
    model
        The magnetic model, for a log with magnetic azimuths, a date and no declination.
    prior
        How likely each cell is to be the start, in any measure; by default every cell alike.
    asked
        What is asked.
    ground
        The land's layers, where somebody keeps them or streams are known; by default made of its heights.
    progress, kept, keep, searcher
        How the search tells of itself, what it keeps, and who does it.

    Raises
    ------
    MissingComplaint
        The log says nothing of the ground; or the declination is not known.
    ValueComplaint
        The land is too large, or no start is left in it.
    """
    asked = asked or LocateAsked()
    walker, is_assumed = with_a_pace(log, walker or Walker())
    told, remarks = told_walk(log, walker, land, model, asked.doubt, asked.slip_chance)
    if is_assumed:
        remarks.append("The walker has no pace count: five feet a pace were taken, right within 15 %.")
    starts = _starts(land, prior)
    ground = ground or LandLayers(land)
    found = searcher(
        told, land, starts, ground=ground, workers=asked.workers, progress=progress, kept=kept, keep=keep,
        is_plain=asked.is_plain,
    )  # fmt: skip
    if found.searched < 0.999:
        remarks.append(
            f"The search was stopped after {100 * found.searched:.0f} % of the land and is said of that"
        )
    cell_m = land.cell_east_m
    region = region_of(found.now, cell_m, asked.probability)
    likely = likely_places(found.now, cell_m)
    walks, worst, advice = _looked_at(told, land, starts, log, found, likely, ground, asked)
    candidates = tuple(_place(land, one) for one in walks)
    agrees = bool(np.isfinite(found.log_chance)) and found.log_chance - found.by_chance > DISAGREES_BELOW
    best = candidates[0].probability if candidates else 0.0
    return LocateAnswer(
        log=log,
        walker=walker,
        terrain=land,
        said=told.said,
        candidates=candidates if agrees else (),
        region=region if agrees else BeliefRegion(np.inf, 0.0, 0.0),
        start_region=region_of(found.start, cell_m, asked.probability),
        found=found,
        agrees=agrees,
        can_tell=agrees and region.km2 <= CAN_TELL_KM2 and best >= CAN_TELL_CHANCE,
        advice=advice,
        worst=worst,
        way=answer_way(find_estimate(log, walker), WayAsked(len(log.legs), with_retrace=True)),
        remarks=tuple(remarks),
    )


def land_to_search(terrain: Terrain) -> Terrain:
    """The land on the cells that a search works on.

    Raises
    ------
    ValueComplaint
        It is too large to be searched in one go.
    """
    land = working_terrain(terrain)
    if land.elevation_m.size > MOST_CELLS:
        raise ValueComplaint(
            f"{land.elevation_m.size / 1e6:.0f} million cells are more than can be searched in one go",
            "Say where the start can have been (--near, --area), or cut the terrain",
        )
    return land


def _starts(land: Terrain, prior: NDArray[np.float32] | None) -> NDArray[np.float32]:
    known = np.isfinite(land.elevation_m)
    starts = known.astype(np.float32) if prior is None else np.where(known, prior, 0.0).astype(np.float32)
    total = float(starts.sum(dtype=np.float64))
    if not total > 0:
        raise ValueComplaint(
            "no start is left: what was said of it excludes all of this terrain",
            "Widen the area, or give terrain that covers it",
        )
    return starts / np.float32(total)


def _looked_at(
    told: Told,
    land: Terrain,
    starts: NDArray[np.float32],
    log: TravelLog,
    found: Found,
    likely: tuple[LikelyPlace, ...],
    ground: LandLayers,
    asked: LocateAsked,
) -> tuple[list[FoundWalk], tuple[RemarkFit, ...], tuple[Advice, ...]]:
    """Follow the likely places back, see how the remarks fit the first, and what would tell them apart."""
    walks: list[FoundWalk] = []
    worst: tuple[RemarkFit, ...] = ()
    loops = kernels(asked.is_plain)
    for place in likely:
        block = _block_about(place, told, land)
        layers, question = pose_block(told, land, starts, block, ground)
        top = round((land.north_m - layers.north_m) / layers.cell_m)
        left = round((layers.west_m - land.west_m) / layers.cell_m)
        there = replace(place, row=place.row - top, column=place.column - left)
        walk = follow_back(question, told.doubt, there, found.node_chance, loops)
        if walk is None:
            continue
        if not walks:
            worst = remark_fits(question, told.said, walk)
        walks.append(_moved(walk, top, left))
    advice: tuple[Advice, ...] = ()
    if likely:
        advice = _advice(told, log, found, ground)
    return walks, worst, advice


def _advice(told: Told, log: TravelLog, found: Found, ground: LandLayers) -> tuple[Advice, ...]:
    rows, columns = np.nonzero(found.now > float(found.now.max()) * 1e-4)
    room = round(SIGHT_M / ground.land.cell_east_m)
    high, wide = found.now.shape
    top, left = max(int(rows.min()) - room, 0), max(int(columns.min()) - room, 0)
    low, right = min(int(rows.max()) + room, high), min(int(columns.max()) + room, wide)
    layers = ground.piece(top, low, left, right, with_streams=told.said.speaks_of_streams)
    now = found.now[top:low, left:right]
    offset_sd_m = told.doubt.altimeter_offset_sd_m
    if told.said.has_altitudes:
        offset_sd_m = told.doubt.altimeter_sd_m
    middle = (float(rows.mean() - top), float(columns.mean() - left))
    sights = [*known_sights(log, ground.land.crs), *find_summits(layers, middle)]
    return find_advice(layers, now, told.doubt, offset_sd_m, sights)


def _block_about(place: LikelyPlace, told: Told, land: Terrain) -> Block:
    """The starts from which a walk leads near a place."""
    cell_m = land.cell_east_m
    rows, columns = land.elevation_m.shape
    end = told.walk.place_m[-1]
    reach_m = float(np.hypot(*end))
    room_m = 400.0 + 3.0 * told.walk.scatter_m + 2.5 * (told.walk.bias_sd_rad + told.walk.scale_sd) * reach_m
    room_m += max((np.hypot(w.east_m, w.north_m) for ways in told.walk.slips for w in ways), default=0.0)
    row, column = place.row + end[1] / cell_m, place.column - end[0] / cell_m
    room = room_m / cell_m
    top, left = (max(0, int(k - room)) for k in (row, column))
    low, right = min(rows, int(row + room) + 1), min(columns, int(column + room) + 1)
    top, left = min(top, rows - 1), min(left, columns - 1)
    return Block(top, left, max(low - top, 1), max(right - left, 1))


def _moved(walk: FoundWalk, top: int, left: int) -> FoundWalk:
    now = replace(walk.now, row=walk.now.row + top, column=walk.now.column + left)
    start = replace(walk.start, row=walk.start.row + top, column=walk.start.column + left)
    return replace(walk, now=now, start=start, places=walk.places + np.array([top, left]))


def _place(land: Terrain, walk: FoundWalk) -> PlaceFound:
    def metres(row: float, column: float) -> tuple[float, float]:
        return land.west_m + column * land.cell_east_m, land.north_m - row * land.cell_north_m

    now, start = metres(walk.now.row, walk.now.column), metres(walk.start.row, walk.start.column)
    stations = np.array([metres(row, column) for row, column in walk.places])
    step = (start[0] - now[0], start[1] - now[1])
    return PlaceFound(
        probability=min(1.0, walk.now.chance),
        now_m=now,
        start_m=start,
        now=position_at(land.crs, *now),
        start=position_at(land.crs, *start),
        covariance_m2=walk.now.covariance_m2,
        stations_m=stations,
        back_azimuth_deg=direction_deg(*step),
        back_m=float(np.hypot(*step)),
    )
