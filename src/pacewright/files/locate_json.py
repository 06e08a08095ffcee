"""The keys of `locate --json`, and its places as GeoJSON."""

from __future__ import annotations

import json
from typing import Any

from pacewright.answers.locate import LocateAnswer, PlaceFound
from pacewright.ground.grid_text import Position, format_place
from pacewright.wording.locating import say_advice, say_worst


def locate_keys(answer: LocateAnswer) -> dict[str, Any]:
    """An answer as the keys of `locate --json`; east and north are on the terrain's own grid."""
    return {
        "candidates": [_candidate(one) for one in answer.candidates],
        "region_km2": answer.region.km2 if answer.agrees else None,
        "holds": answer.region.holds,
        "can_tell": answer.can_tell,
        "advice": say_advice(answer),
        "grid_epsg": answer.grid_epsg,
        "agrees": answer.agrees,
        "worst": say_worst(answer),
        "within_m": 100.0,
        "start_region_km2": answer.start_region.km2,
        "remarks": [*answer.remarks, *answer.terrain.remarks],
    }


def write_candidates(answer: LocateAnswer) -> bytes:
    """The likely places, their starts and the figures between as GeoJSON."""
    from pyproj import Transformer

    to_degrees = Transformer.from_crs(answer.terrain.crs, "EPSG:4326", always_xy=True).transform
    features = []
    for number, one in enumerate(answer.candidates, 1):
        said = {"candidate": number, "probability": round(one.probability, 4)}
        for what, place in (("now", one.now), ("start", one.start)):
            point = {"type": "Point", "coordinates": _lon_lat(place)}
            features.append({"type": "Feature", "properties": {"what": what, **said}, "geometry": point})
        line = [[round(x, 7) for x in to_degrees(east, north)] for east, north in one.stations_m]
        features.append(
            {
                "type": "Feature",
                "properties": {"what": "figure", **said},
                "geometry": {"type": "LineString", "coordinates": line},
            }
        )
    return json.dumps({"type": "FeatureCollection", "features": features}, indent=1).encode()


def _candidate(one: PlaceFound) -> dict[str, Any]:
    return {
        "probability": one.probability,
        "start": _place(one.start_m, one.start),
        "now": _place(one.now_m, one.now),
        "covariance": one.covariance_m2,
        "stations": one.stations_m,
        "back": {"azimuth_deg": one.back_azimuth_deg, "distance_m": one.back_m},
    }


def _place(metres: tuple[float, float], place: Position) -> dict[str, Any]:
    return {
        "east": metres[0],
        "north": metres[1],
        "lat": place.latitude_deg,
        "lon": place.longitude_deg,
        "mgrs": format_place(place, "mgrs"),
    }


def _lon_lat(place: Position) -> list[float]:
    return [round(place.longitude_deg, 7), round(place.latitude_deg, 7)]
