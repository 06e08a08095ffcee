"""Stations of a reckoning to CSV, for a spreadsheet."""

from __future__ import annotations

import csv
import io

from pacewright.core.reckoning import Reckoning


def write_stations(reckoning: Reckoning) -> bytes:
    """Write the stations as CSV: every length in the frame's unit, which the column names carry."""
    unit = reckoning.frame.unit
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    lengths = [f"{name}_{unit}" for name in ("length", "east", "north")]
    spreads = [f"{name}_{unit}2" for name in ("var_east", "cov_east_north", "var_north")]
    writer.writerow(
        ["station", "name", f"azimuth_{reckoning.frame.azimuth_reference}_deg", *lengths, *spreads]
    )
    covariances = reckoning.covariances()
    for k, name in enumerate(reckoning.names):
        leg = ["", ""]
        if k:
            leg = [f"{reckoning.azimuth_deg[k - 1]:.4f}", f"{reckoning.length[k - 1]:.4f}"]
        east, north = reckoning.place[k]
        (ee, en), (_, nn) = covariances[k]
        spread = [f"{value:.4f}" for value in (ee, en, nn)]
        writer.writerow([k, _harmless(name or ""), *leg, f"{east:.4f}", f"{north:.4f}", *spread])
    return out.getvalue().encode("utf-8")


def _harmless(name: str) -> str:
    # A spreadsheet would run a name that begins like a formula.
    return f"'{name}" if name[:1] in ("=", "+", "-", "@", "\t", "\r") else name
