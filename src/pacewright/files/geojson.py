"""Stations, legs and regions to GeoJSON (RFC 7946).

Without a known start there is no longitude and latitude: coordinates are then east and north from the
start in the frame's unit. RFC 7946 section 4 allows other coordinates by prior arrangement only, so
the collection says so in its foreign members and most map programs will put it near 0, 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from pacewright.core.compass import normal_azimuth
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.way.reckoning import Reckoning
from pacewright.core.way.regions import Region
from pacewright.files.result_json import encode


def write_local_geojson(
    log: TravelLog, reckoning: Reckoning, regions: tuple[Region, ...], doubts: Sequence[str] = ()
) -> bytes:
    """Write a log's stations, legs, bearings and regions, east and north from the start.

    `doubts` says what may be wrong with the log, in sentences.
    """
    frame = reckoning.frame
    features = [*_stations(reckoning), *_legs(log, reckoning), *_bearings(log, reckoning)]
    features += [_region(region) for region in regions]
    collection = {
        "type": "FeatureCollection",
        "coordinates_are": f"east and north from the start in {frame.unit}s, not longitude and latitude",
        "azimuth_reference": frame.azimuth_reference,
        "frame": frame.kind,
        "title": log.heading.title,
        "doubts": list(doubts),
        "features": features,
    }
    return encode(collection) + b"\n"


def _feature(kind: str, coordinates: Any, properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "Feature",
        "geometry": {"type": kind, "coordinates": coordinates},
        "properties": properties,
    }


def _stations(reckoning: Reckoning) -> list[dict[str, Any]]:
    covariances = reckoning.covariances()
    return [
        _feature("Point", place, {"what": "station", "station": k, "name": name, "covariance": covariance})
        for k, (name, place, covariance) in enumerate(
            zip(reckoning.names, _rounded(reckoning.place), covariances.tolist(), strict=True)
        )
    ]


def _legs(log: TravelLog, reckoning: Reckoning) -> list[dict[str, Any]]:
    places = _rounded(reckoning.place)
    return [
        _feature(
            "LineString",
            [places[k], places[k + 1]],
            {
                "what": "leg",
                "leg": k + 1,
                "azimuth_deg": float(reckoning.azimuth_deg[k]),
                "length": float(reckoning.length[k]),
                "notes": leg.cells.notes,
            },
        )
        for k, leg in enumerate(log.legs)
    ]


def _bearings(log: TravelLog, reckoning: Reckoning) -> list[dict[str, Any]]:
    places = _rounded(reckoning.place)
    turn_deg = reckoning.frame.sighting_turn_deg
    return [
        _feature(
            "Point",
            places[station],
            {
                "what": "bearing",
                "station": station,
                "azimuth_deg": normal_azimuth(seen.azimuth_deg + turn_deg),
                "name": seen.name,
            },
        )
        for station, seen in log.sightings()
    ]


def _region(region: Region) -> dict[str, Any]:
    # RFC 7946 section 3.1.6: an outer ring runs counterclockwise.
    ring = _rounded(region.outline())
    area2 = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(ring))
    ring = ring if area2 > 0 else ring[::-1]
    ring[-1] = ring[0]
    return _feature(
        "Polygon", [ring], {"what": "region", "probability": region.probability, "shape": region.shape}
    )


def _rounded(points: Any) -> list[list[float]]:
    rounded: list[list[float]] = points.round(3).tolist()
    return rounded
