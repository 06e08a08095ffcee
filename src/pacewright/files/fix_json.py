"""Fixes as the keys of --json."""

from __future__ import annotations

from typing import Any

from pacewright.core.bearings.intersection import Intersection
from pacewright.core.bearings.log_fixes import LandmarkFix, StationFix
from pacewright.core.bearings.resection import Resection
from pacewright.ground.grid import unproject
from pacewright.ground.map_anchor import MapAnchor


def resection_keys(fix: Resection, name: str | None, unit: str = "metre") -> dict[str, Any]:
    """Your own place as keys."""
    return {
        "kind": "resection",
        "name": name,
        **_keys(fix, unit),
        # What the compass reads too much, not what puts it right.
        "bias_deg": 0.0 - fix.bias_deg,
        "bias_sd_deg": fix.bias_sd_deg,
        "observable": fix.observable,
        "by_angles": fix.by_angles,
        "danger_circle": fix.on_danger_circle,
    }


def intersection_keys(fix: Intersection, name: str | None, unit: str = "metre") -> dict[str, Any]:
    """The place of something seen as keys."""
    # What the bearings have in common does not show in where they cross.
    return {
        "kind": "intersection",
        "name": name,
        **_keys(fix, unit),
        "bias_deg": None,
        "bias_sd_deg": None,
        "observable": False,
    }


def station_fix_keys(fix: StationFix, anchor: MapAnchor | None = None) -> dict[str, Any]:
    """A station of a log as keys; on the map as well where something holds the log there."""
    reckoned = None if fix.reckoned is None else fix.reckoned.tolist()
    return {
        **resection_keys(fix.resection, fix.name, fix.frame.unit),
        "station": fix.station,
        "seen": list(fix.seen),
        "reckoned": reckoned,
        "reckoned_p_value": fix.gap_p_value,
        "on_map": None if anchor is None else _on_map(fix, anchor),
    }


def _on_map(fix: StationFix, anchor: MapAnchor) -> dict[str, Any]:
    east_m, north_m = anchor.east_m + fix.resection.place[0], anchor.north_m + fix.resection.place[1]
    latitude, longitude = unproject(anchor.on_grid.zone, east_m, north_m)
    return {
        "latitude_deg": float(latitude),
        "longitude_deg": float(longitude),
        "grid": str(anchor.on_grid.zone),
        "east_m": float(east_m),
        "north_m": float(north_m),
    }


def landmark_fix_keys(fix: LandmarkFix) -> dict[str, Any]:
    """A landmark of a log as keys."""
    return {
        **intersection_keys(fix.intersection, fix.name, fix.frame.unit),
        "frame": fix.frame.kind,
        "stations": list(fix.stations),
    }


def _keys(fix: Resection | Intersection, unit: str) -> dict[str, Any]:
    east, north = fix.place.tolist()
    rest = fix.without_odd_one
    return {
        "unit": unit,
        "east": east,
        "north": north,
        "covariance": fix.covariance.tolist(),
        "probability": fix.probability,
        "crossing_deg": fix.crossing_deg,
        "worth": fix.worth,
        "open": fix.is_open,
        "p_value": fix.p_value,
        "residuals_deg": fix.remains_deg.tolist(),
        "odd_one": fix.odd_one,
        "without_odd_one": None if rest is None else rest.place.tolist(),
        "region": fix.region.outline().round(3).tolist(),
    }
