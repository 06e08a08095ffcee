"""A placed log as the keys of --json."""

from __future__ import annotations

from typing import Any

from pacewright.answers.placing import PlacedLog
from pacewright.ground.grid_text import PlaceForm, Position, format_place
from pacewright.ground.mgrs_squares import format_mgrs
from pacewright.wording.placing import mgrs_digits


def placed_keys(placed: PlacedLog, probability: float) -> dict[str, Any]:
    """A placed log as keys; covariances in square metres on the grid, rows east, north."""
    norths, found = placed.on_grid.norths, placed.on_grid.declination
    return {
        "grid": str(placed.on_grid.zone),
        "held_by": list(placed.held_by),
        "not_reached": list(placed.not_reached),
        "chance": placed.chance,
        "declination_deg": norths.declination_deg if placed.on_grid.knows_magnetic else None,
        "declination_sd_deg": norths.declination_sd_deg if placed.on_grid.knows_magnetic else None,
        "declination_model": None if found is None else found.model,
        "convergence_deg": norths.convergence_deg,
        "turned_deg": placed.on_grid.reckoning.frame.turn_deg,
        "grid_scale": placed.on_grid.scale,
        "remarks": list(placed.remarks),
        "stations": [
            {"index": k, "name": name, "position": _position(placed, k, probability)}
            for k, name in enumerate(placed.names)
        ],
    }


def _position(placed: PlacedLog, station: int, probability: float) -> dict[str, Any]:
    latitude, longitude = float(placed.latitude_deg[station]), float(placed.longitude_deg[station])
    zone = placed.on_grid.zone
    form: PlaceForm = "polar" if zone.is_polar else "utm"
    return {
        "latitude_deg": latitude,
        "longitude_deg": longitude,
        "mgrs": format_mgrs(latitude, longitude, mgrs_digits(placed, station, probability)),
        "utm": format_place(Position(latitude, longitude, zone=zone), form),
        "east_m": float(placed.place_m[station, 0]),
        "north_m": float(placed.place_m[station, 1]),
        "covariance_m2": placed.covariance_m2[station].tolist(),
    }
