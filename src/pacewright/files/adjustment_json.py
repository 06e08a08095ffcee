"""The keys of `adjust --json`."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.adjustment import Adjustment
from pacewright.core.adjust.rule_adjustment import RuleAdjustment, turned_by_deg
from pacewright.core.adjust.traverse_rules import Traverse
from pacewright.core.learn.learning import Learnt
from pacewright.core.way.reckoning import Reckoning
from pacewright.files.result_json import station_keys


def adjustment_keys(adjustment: Adjustment) -> dict[str, Any]:
    """An adjustment as keys; a bias or scale that the log does not tell is null."""
    reckoning, observations = adjustment.reckoning, adjustment.observations
    return {
        **_head(reckoning),
        "rule": "least-squares",
        "adjusted": not adjustment.is_as_written,
        "stations": station_keys(reckoning.names, adjustment.place, adjustment.covariances()),
        "parameters": _parameters(adjustment),
        "residuals": _residuals(
            reckoning, adjustment.residual, adjustment.leg_redundancies(), adjustment.weights.legs
        ),
        "redundancy": adjustment.redundancy,
        "misfit2": adjustment.misfit2,
        "landmarks": [
            {"name": name, "east": east, "north": north}
            for name, (east, north) in adjustment.landmarks.items()
        ],
        "used": {
            "ties": len(observations.ties),
            "known_points": len(observations.fixes),
            "bearings": len(observations.bearings),
            "back_azimuths": len(observations.back_azimuths),
        },
        "unused": list(observations.unused),
        "remarks": list(reckoning.remarks),
    }


def rule_keys(adjustment: RuleAdjustment) -> dict[str, Any]:
    """An adjustment by a textbook rule as keys; what the rule cannot tell is null."""
    reckoning = adjustment.reckoning
    none = np.zeros((len(reckoning.names), 2, 2))
    stations = station_keys(reckoning.names, adjustment.place, none)
    residuals = _residuals(reckoning, adjustment.residual, None, None)
    return {
        **_head(reckoning),
        "rule": adjustment.rule,
        "stations": [{**station, "covariance": None} for station in stations],
        "parameters": {**dict.fromkeys(_SHARED), "observable": []},
        "residuals": residuals,
        "redundancy": adjustment.redundancy,
        "traverses": [
            _traverse_keys(traverse, first)
            for first, traverse in zip(adjustment.controls, adjustment.traverses, strict=False)
        ],
        "unused": list(adjustment.observations.unused),
        "remarks": list(reckoning.remarks),
    }


def _traverse_keys(traverse: Traverse, first: int) -> dict[str, Any]:
    """The working of one stretch; its legs are those after station `first`."""
    columns = {
        "azimuth_deg": traverse.azimuth_deg,
        "length": traverse.length,
        "latitude": traverse.latitude,
        "departure": traverse.departure,
        "latitude_correction": traverse.latitude_correction,
        "departure_correction": traverse.departure_correction,
        "adjusted_latitude": traverse.adjusted_latitude,
        "adjusted_departure": traverse.adjusted_departure,
        "adjusted_azimuth_deg": traverse.adjusted_azimuth_deg,
        "adjusted_length": traverse.adjusted_length,
        "north": traverse.north[1:],
        "east": traverse.east[1:],
    }
    return {
        "misclosure": traverse.misclosure,
        "misclosure_north": traverse.misclosure_north,
        "misclosure_east": traverse.misclosure_east,
        "perimeter": traverse.perimeter,
        "ratio": traverse.ratio,
        "area": traverse.area,
        "legs": [
            {"leg": first + k + 1, **{key: float(column[k]) for key, column in columns.items()}}
            for k in range(len(traverse.length))
        ],
    }


def learnt_keys(learnt: Learnt) -> dict[str, Any]:
    """What was learnt as keys: before and after, each with its uncertainty."""
    return {"learnt": [dataclasses.asdict(change) for change in learnt.changes], "says": list(learnt.said)}


_SHARED = ("compass_bias_deg", "compass_bias_sd_deg", "pace_scale", "pace_scale_sd")


def _head(reckoning: Reckoning) -> dict[str, Any]:
    frame = reckoning.frame
    return {"frame": frame.kind, "unit": frame.unit, "azimuth_reference": frame.azimuth_reference}


def _parameters(adjustment: Adjustment) -> dict[str, Any]:
    bias, scale = adjustment.find_parameter("compass bias"), adjustment.find_parameter("pace scale")
    handling = adjustment.find_parameter("handling bias")
    return {
        "compass_bias_deg": bias.value if bias else None,
        "compass_bias_sd_deg": bias.sd if bias else None,
        "pace_scale": scale.value if scale else None,
        "pace_scale_sd": scale.sd if scale else None,
        "handling_bias_deg": handling.value if handling else None,
        "handling_bias_sd_deg": handling.sd if handling else None,
        "grounds": [
            {"name": one.name.removeprefix("ground "), "factor": one.value, "sd": one.sd}
            for one in adjustment.parameters
            if one.name.startswith("ground ")
        ],
        "observable": [one.name.replace(" ", "_") for one in adjustment.parameters if one.observable],
    }


def _residuals(
    reckoning: Reckoning,
    residual: NDArray[np.float64],
    redundancy: NDArray[np.float64] | None,
    trust: NDArray[np.float64] | None,
) -> list[dict[str, Any]]:
    turned = turned_by_deg(reckoning.length, residual)
    return [
        {
            "leg": k + 1,
            "azimuth_deg": float(turned[k]),
            "along": float(along),
            "across": float(across),
            "redundancy": None if redundancy is None else float(redundancy[k]),
            "trust": None if trust is None else min(1.0, float(trust[k])),
        }
        for k, (along, across) in enumerate(residual)
    ]
