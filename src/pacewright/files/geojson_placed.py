"""A placed log to GeoJSON (RFC 7946): longitude and latitude on WGS 84."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pacewright.answers.placing import PlacedLog
from pacewright.core.log.travel_log import TravelLog
from pacewright.files.placed_shapes import Shape, placed_shapes
from pacewright.files.result_json import encode

_KINDS = {"station": "Point", "bearing": "Point", "leg": "LineString", "region": "Polygon"}


def write_placed_geojson(
    log: TravelLog, placed: PlacedLog, probability: float, doubts: Sequence[str] = ()
) -> bytes:
    """Write stations, legs, bearings and regions, to seven decimals (a centimetre).

    `doubts` says what may be wrong with the log, in sentences.
    """
    collection = {
        "type": "FeatureCollection",
        "title": log.heading.title,
        "doubts": list(doubts),
        "grid": str(placed.on_grid.zone),
        "features": [_feature(shape) for shape in placed_shapes(log, placed, probability)],
    }
    return encode(collection) + b"\n"


def _feature(shape: Shape) -> dict[str, Any]:
    return {
        "type": "Feature",
        "geometry": _geometry(shape),
        "properties": {"what": shape.what, **shape.properties},
    }


def _geometry(shape: Shape) -> dict[str, Any]:
    kind = _KINDS[shape.what]
    parts = [[(round(east, 7), round(north, 7)) for east, north in part] for part in shape.parts]
    if kind == "Point":
        return {"type": kind, "coordinates": parts[0][0]}
    coordinates: list[Any] = [[part] for part in parts] if kind == "Polygon" else parts
    if len(parts) == 1:
        return {"type": kind, "coordinates": coordinates[0]}
    return {"type": f"Multi{kind}", "coordinates": coordinates}
