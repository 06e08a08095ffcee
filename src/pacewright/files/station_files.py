"""The stations and legs of a log as a file for other programs, by the kind of file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal, get_args

from pacewright.exceptions import MissingComplaint

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate
    from pacewright.answers.placing import PlacedLog
    from pacewright.core.way.frames import FrameKind

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
    estimate: Estimate, *, is_needed: bool = False
) -> tuple[PlacedLog | None, MissingComplaint | None]:
    """A log on the map if its heading or a start places it, or why it is not placed.

    Parameters
    ----------
    estimate
        The log put together with what a map tells.
    is_needed
        True where there is no answer without the map: what is missing is then raised.

    Raises
    ------
    Complaint
        The log cannot be placed, and must be.
    """
    from pacewright.answers.placing import place_log

    known = estimate.known
    if not is_needed and known.anchor is None and known.refused is None:
        return None, None
    try:
        return place_log(estimate), None
    except MissingComplaint as complaint:
        if is_needed:
            raise
        return None, complaint


def write_from_start(
    estimate: Estimate, kind: StationFile, probability: float = 0.95, frame: FrameKind | None = None
) -> bytes:
    """Write stations as east and north from the start: CSV or GeoJSON."""
    from pacewright.core.way.regions import named_regions
    from pacewright.files.geojson import write_local_geojson
    from pacewright.files.stations_csv import write_stations
    from pacewright.wording.estimate import say_condemned

    stations, doubts = estimate.stations(frame), say_condemned(estimate)
    if kind == "csv":
        return write_stations(stations, doubts)
    return write_local_geojson(estimate.log, stations, named_regions(stations, probability), doubts)


def write_on_the_map(
    estimate: Estimate, placed: PlacedLog, kind: StationFile, probability: float = 0.95
) -> bytes:
    """Write stations on the map, in any kind of file."""
    from pacewright.wording.estimate import say_condemned

    log, doubts = estimate.log, say_condemned(estimate)
    if kind == "csv":
        from pacewright.files.stations_csv import write_placed_stations

        return write_placed_stations(placed, doubts)
    if kind == "gpx":
        from pacewright.files.gpx import write_gpx

        return write_gpx(log.heading.title or "Travel log", placed, probability, doubts)
    if kind == "gpkg":
        from pacewright.files.geopackage import write_geopackage

        return write_geopackage(log, placed, probability, doubts)
    from pacewright.files.geojson_placed import write_placed_geojson

    return write_placed_geojson(log, placed, probability, doubts)
