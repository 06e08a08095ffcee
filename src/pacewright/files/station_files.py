"""The stations and legs of a log as a file for other programs, by the kind of file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal, get_args

from pacewright.exceptions import MissingComplaint

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker
    from pacewright.core.way.frames import FrameKind
    from pacewright.ground.grid_text import Position
    from pacewright.ground.map_frame import PlacedLog

StationFile = Literal["csv", "geojson", "gpx", "gpkg"]
STATION_FILES: Final[tuple[StationFile, ...]] = get_args(StationFile)
ENDINGS: Final[dict[StationFile, str]] = {
    "csv": ".stations.csv",
    "geojson": ".geojson",
    "gpx": ".gpx",
    "gpkg": ".gpkg",
}
ON_THE_MAP_ONLY: Final[tuple[StationFile, ...]] = ("gpx", "gpkg")
"""Kinds that can hold places on the map alone."""


def find_placed(
    log: TravelLog,
    walker: Walker,
    start: Position | None = None,
    start_sd_m: float = 10.0,
    *,
    is_needed: bool = False,
) -> tuple[PlacedLog | None, MissingComplaint | None]:
    """Give a log on the map if its heading or a start places it, or why it is not placed.

    Parameters
    ----------
    log, walker
        The log, and who walked it.
    start, start_sd_m
        The place of the start and how sure it is, where the heading does not hold it.
    is_needed
        True where there is no answer without the map: what is missing is then raised.

    Raises
    ------
    Complaint
        The log cannot be placed, and must be.
    """
    from pacewright.files.placing import open_placed
    from pacewright.ground.map_frame import has_places

    if start is None and not is_needed and not has_places(log):
        return None, None
    try:
        return open_placed(log, walker, start, start_sd_m), None
    except MissingComplaint as complaint:
        if is_needed or start is not None:
            raise
        return None, complaint


def write_from_start(
    estimate: Estimate, kind: StationFile, probability: float = 0.95, frame: FrameKind | None = None
) -> bytes:
    """Write stations as east and north from the start: CSV or GeoJSON."""
    from pacewright.core.way.regions import named_regions
    from pacewright.files.geojson import write_local_geojson
    from pacewright.files.stations_csv import write_stations

    stations = estimate.stations(frame)
    if kind == "csv":
        return write_stations(stations)
    return write_local_geojson(estimate.log, stations, named_regions(stations, probability))


def write_on_the_map(
    log: TravelLog, placed: PlacedLog, kind: StationFile, probability: float = 0.95
) -> bytes:
    """Write stations on the map, in any kind of file."""
    if kind == "csv":
        from pacewright.files.stations_csv import write_placed_stations

        return write_placed_stations(placed)
    if kind == "gpx":
        from pacewright.files.gpx import write_gpx

        return write_gpx(log.heading.title or "Travel log", placed, probability)
    if kind == "gpkg":
        from pacewright.files.geopackage import write_geopackage

        return write_geopackage(log, placed, probability)
    from pacewright.files.geojson_placed import write_placed_geojson

    return write_placed_geojson(log, placed, probability)
