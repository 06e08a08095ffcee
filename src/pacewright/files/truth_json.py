"""A log beside a recorded track as the keys of --json."""

from __future__ import annotations

import dataclasses
from typing import Any

from pacewright.ground.track_truth import TrackComparison


def truth_keys(comparison: TrackComparison) -> dict[str, Any]:
    """A comparison as keys; a figure has its value, sd and the interval that holds it 95 in 100."""
    places = zip(
        comparison.on_grid.reckoning.names,
        comparison.latitude_deg.tolist(),
        comparison.longitude_deg.tolist(),
        comparison.along_sd_m.tolist(),
        strict=True,
    )
    per_100_m = comparison.per_100_m
    return {
        "matched_by": comparison.matched_by,
        "fits": comparison.fits,
        "azimuth_off_deg": dataclasses.asdict(comparison.azimuth_off_deg),
        "count_off_pct": dataclasses.asdict(comparison.count_off_pct),
        "per_100_m": None if per_100_m is None else dataclasses.asdict(per_100_m),
        "azimuth_sd_deg": dataclasses.asdict(comparison.azimuth_sd_deg),
        "count_sd_pct": dataclasses.asdict(comparison.count_sd_pct),
        "assumed_pace_m": comparison.assumed_pace_m,
        "legs": [dataclasses.asdict(leg) for leg in comparison.legs],
        "stations": [
            {"index": k, "name": name, "latitude_deg": lat, "longitude_deg": lon, "along_sd_m": sd_m}
            for k, (name, lat, lon, sd_m) in enumerate(places)
        ],
    }
