"""Opening what a plan lies on: the terrain about it, the user's features, places on its grid, the north."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pacewright.answers.plan_question import MapHeld, Named, PlanNorth, ground_bounds
from pacewright.core.compass import AzimuthReference
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint
from pacewright.files.elevation import read_terrain
from pacewright.files.plan_features import Features, read_features
from pacewright.ground.grid_text import Position, parse_place
from pacewright.ground.locate.layers import working_terrain
from pacewright.ground.terrain import Terrain, window

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate


def onto_grid(position: Position, crs: str) -> tuple[float, float]:
    """Metres east and north of a place on a grid."""
    from pyproj import Transformer

    east, north = Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform(
        position.longitude_deg, position.latitude_deg
    )
    if not np.isfinite([east, north]).all():
        raise ValueComplaint("a place lies off the grid of the terrain", "Give a place inside the terrain")
    return float(east), float(north)


def place_typed(text: str) -> Position:
    """The place that a text holds: latitude and longitude, UTM or MGRS.

    Raises
    ------
    Complaint
        It holds none; the text is named.
    """
    try:
        return parse_place(text)
    except Complaint as complaint:
        raise type(complaint)(f"{text[:60]}: {complaint.what}", complaint.do) from None


def place_on(text: str, crs: str) -> tuple[tuple[float, float], Position]:
    """Metres east and north of a typed place on a grid, and the place; `grid EAST NORTH` is on it already.

    Raises
    ------
    Complaint
        The text holds no place.
    """
    from pyproj import Transformer

    word, *parts = text.replace(",", " ").split()[:3] or [""]
    if word.casefold() != "grid":
        position = place_typed(text)
        return onto_grid(position, crs), position
    try:
        east, north = (float(part) for part in parts)
    except ValueError:
        raise ValueComplaint(f"{text[:60]} is no place on the grid", "Write grid, east and north") from None
    to_degrees = Transformer.from_crs(crs, "EPSG:4326", always_xy=True).transform
    longitude, latitude = to_degrees(east, north)
    if not np.isfinite([longitude, latitude]).all():
        raise ValueComplaint(f"{text[:60]} lies off the grid", "Give a place inside the terrain")
    return (east, north), Position(float(latitude), float(longitude), "degrees", 1.0)


def cut_map(terrain: Terrain, places: Sequence[tuple[float, float]], *known: Features) -> MapHeld:
    """The map round about places on a terrain that is read already, with what is known of the land."""
    about = window(terrain, ground_bounds(places))
    return MapHeld(working_terrain(about), *_together(known))


def open_map(
    path: str, features: Sequence[str], places: Sequence[tuple[str, Position]], room_m: float | None = None
) -> tuple[MapHeld, list[Named]]:
    """Read the terrain round about places, and features on its grid.

    Returns
    -------
    held, named
        The map, and the places on its grid.
    """
    crs = read_terrain(path, most_cells=250_000).crs
    named = [Named(name, onto_grid(position, crs)) for name, position in places]
    terrain = working_terrain(read_terrain(path, ground_bounds([one.place_m for one in named], room_m)))
    read = [read_features(one, crs) for one in features]
    return MapHeld(terrain, *_together(read)), named


def _together(read: Sequence[Features]) -> tuple[tuple, tuple, tuple]:  # type: ignore[type-arg]
    return (
        tuple(line for one in read for line in one.lines),
        tuple(point for one in read for point in one.points),
        tuple(area for one in read for area in one.barred),
    )


def open_north(
    north: AzimuthReference, place: Position, crs: str, date: str, declination: str | None
) -> PlanNorth:
    """The north of a plan against the terrain's grid, at its start.

    Raises
    ------
    Complaint
        The date or the declination cannot be read.
    """
    from pacewright.core.log.log_heading import parse_declination
    from pacewright.files.field_model import bundled_field_model
    from pacewright.ground.norths_at import norths_at

    convergence_deg = _convergence_deg(place, crs)
    if north == "grid":
        return PlanNorth(north, 0.0)
    if north == "true":
        return PlanNorth(north, -convergence_deg)
    if declination is not None:
        return PlanNorth(north, parse_declination(declination) - convergence_deg)
    relation = norths_at(bundled_field_model(), place, date).relation
    return PlanNorth(north, relation.declination_deg - convergence_deg, relation.declination_sd_deg)


def _convergence_deg(place: Position, crs: str) -> float:
    from pyproj import Proj

    factors = Proj(crs).get_factors(place.longitude_deg, place.latitude_deg)
    return float(factors.meridian_convergence)


@dataclass(frozen=True, slots=True)
class StandingAfter:
    """Where a log ends on the map.

    Attributes
    ----------
    name, position
        Its last station.
    spread
        Variance east, covariance, variance north, in square metres.
    mistake
        The chance of a mistake in the log; None where none is likely.
    """

    name: str
    position: Position
    spread: tuple[float, float, float]
    mistake: float | None


def standing_after(log: TravelLog, walker: Walker) -> StandingAfter:
    """Where a log ends on the map, how sure that is, and whether the log may hold a mistake.

    Raises
    ------
    MissingComplaint
        The log is not on the map.
    """
    from pacewright.files.known_places import open_estimate

    return standing_of(open_estimate(log, walker))


def standing_of(estimate: Estimate) -> StandingAfter:
    """The same of a log that is put together already.

    Raises
    ------
    MissingComplaint
        The log is not on the map.
    """
    from pacewright.answers.placing import place_log

    placed = place_log(estimate)
    last = placed.last
    (ee, en), (_, nn) = placed.covariance_m2[last].tolist()
    if not np.isfinite([ee, en, nn]).all():
        raise MissingComplaint("how sure the log's last station is cannot be told", "Give its place as FROM")
    position = Position(float(placed.latitude_deg[last]), float(placed.longitude_deg[last]))
    name = placed.names[last] or f"station {last}"
    chance = 1.0 if estimate.findings is None else estimate.findings.mistake_probability
    mistake = chance if estimate.is_condemned else None
    return StandingAfter(name, position, (ee + 1.0, en, nn + 1.0), mistake)
