"""Stations of a reckoning to CSV, for a spreadsheet."""

from __future__ import annotations

from collections.abc import Sequence

from pacewright.answers.placing import PlacedLog
from pacewright.core.way.reckoning import Reckoning
from pacewright.files.csv_table import write_table
from pacewright.ground.grid_text import Position, format_place


def write_stations(reckoning: Reckoning, doubts: Sequence[str] = ()) -> bytes:
    """Write the stations as CSV: every length in the frame's unit, which the column names carry.

    What may be wrong with the log stands in the last column of every row.
    """
    unit = reckoning.frame.unit
    rows: list[list[object]] = []
    lengths = [f"{name}_{unit}" for name in ("length", "east", "north")]
    spreads = [f"{name}_{unit}2" for name in ("var_east", "cov_east_north", "var_north")]
    heading = [
        "station",
        "name",
        f"azimuth_{reckoning.frame.azimuth_reference}_deg",
        *lengths,
        *spreads,
        "doubt",
    ]
    covariances, doubt = reckoning.covariances(), " ".join(doubts)
    for k, name in enumerate(reckoning.names):
        leg = ["", ""]
        if k:
            leg = [f"{reckoning.azimuth_deg[k - 1]:.4f}", f"{reckoning.length[k - 1]:.4f}"]
        east, north = reckoning.place[k]
        (ee, en), (_, nn) = covariances[k]
        spread = [f"{value:.4f}" for value in (ee, en, nn)]
        rows.append([k, name or "", *leg, f"{east:.4f}", f"{north:.4f}", *spread, doubt])
    return write_table(heading, rows)


def write_placed_stations(placed: PlacedLog, doubts: Sequence[str] = ()) -> bytes:
    """Write the stations of a placed log as CSV: degrees on WGS 84, metres on the grid, MGRS.

    What may be wrong with the log stands in the last column of every row.
    """
    rows: list[list[object]] = []
    degrees = ["latitude_deg", "longitude_deg"]
    grid = ["grid", "east_m", "north_m", "var_east_m2", "cov_east_north_m2", "var_north_m2", "mgrs", "doubt"]
    heading = ["station", "name", "azimuth_grid_deg", "length_m", *degrees, *grid]
    reckoning, zone = placed.on_grid.reckoning, placed.on_grid.zone
    for k, name in enumerate(placed.names):
        leg = ["", ""]
        if k:
            length_m = reckoning.length[k - 1] / placed.on_grid.scale
            leg = [f"{reckoning.azimuth_deg[k - 1]:.4f}", f"{length_m:.4f}"]
        latitude, longitude = float(placed.latitude_deg[k]), float(placed.longitude_deg[k])
        (ee, en), (_, nn) = placed.covariance_m2[k]
        numbers = [f"{value:.4f}" for value in (*placed.place_m[k], ee, en, nn)]
        mgrs = format_place(Position(latitude, longitude), "mgrs")
        row = [k, name or "", *leg, f"{latitude:.7f}", f"{longitude:.7f}", str(zone)]
        rows.append([*row, *numbers, mgrs, " ".join(doubts)])
    return write_table(heading, rows)
