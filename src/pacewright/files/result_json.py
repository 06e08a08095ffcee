"""The keys of --json."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.tally import Tally
from pacewright.core.pace.walker import Walker
from pacewright.core.way.reckoning import Reckoning
from pacewright.core.way.regions import Region
from pacewright.core.way.way_back import WayBack
from pacewright.wording.walk import say_questions
from pacewright.wording.walker import say_doubtful_figures


def encode(data: Any) -> bytes:
    """One line of JSON; a number that is not finite becomes null."""
    try:
        return msgspec.json.encode(data, enc_hook=_plain)
    except UnicodeEncodeError:
        # A file name that is no text (half a character) goes out as JSON escapes.
        return json.dumps(msgspec.to_builtins(data, enc_hook=_plain)).encode("ascii")


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"{type(value).__name__} has no place in JSON")


def reading_keys(log: TravelLog, walker: Walker) -> dict[str, Any]:
    """What was taken where a heading said nothing, and what log and walker make one ask."""
    questions = [*say_questions(log, walker), *say_doubtful_figures(walker)]
    return {"assumed": log.heading.assumed, "questions": questions}


def reckoning_keys(reckoning: Reckoning) -> dict[str, Any]:
    """A reckoning as the keys of `reckon`, `adjust`'s stations the same."""
    covariances = reckoning.covariances()
    return {
        "frame": reckoning.frame.kind,
        "unit": reckoning.frame.unit,
        "azimuth_reference": reckoning.frame.azimuth_reference,
        "stations": station_keys(reckoning.names, reckoning.place, covariances),
        "remarks": list(reckoning.remarks),
    }


def station_keys(
    names: tuple[str | None, ...], place: NDArray[np.float64], covariances: NDArray[np.float64]
) -> list[dict[str, Any]]:
    """Stations as a list of keys; place is (n + 1, 2), covariances (n + 1, 2, 2)."""
    rows = zip(names, place.tolist(), covariances.tolist(), strict=True)
    return [
        {
            "index": k,
            "name": name,
            "leg": k or None,
            "east": east,
            "north": north,
            "covariance": covariance,
        }
        for k, (name, (east, north), covariance) in enumerate(rows)
    ]


def region_keys(region: Region) -> dict[str, Any]:
    """A region as keys: its shape, its share and its outline."""
    return {
        "shape": region.shape,
        "probability": region.probability,
        "outline": region.outline().round(3).tolist(),
    }


def tally_keys(tally: Tally | None) -> dict[str, Any] | None:
    """A setting of the cord as keys."""
    return (
        None
        if tally is None
        else {"thousands": tally.thousands, "hundreds": tally.hundreds, "paces": tally.paces}
    )


def way_back_keys(way: WayBack) -> dict[str, Any]:
    """The way back as the keys of `back`."""
    figure = way.map_figure
    return {
        "from": way.from_name if way.from_name else way.from_station,
        "to": way.to_name if way.to_name else way.to_station,
        "from_index": way.from_station,
        "to_index": way.to_station,
        "frame": "walker",
        "unit": way.unit,
        "azimuth_reference": way.azimuth_reference,
        "azimuth_deg": way.azimuth_deg,
        "count": way.count,
        "tally": tally_keys(way.tally),
        "ground": [{"class": name, "share": share} for name, share in way.ground],
        "other_counts": dict(way.other_counts),
        "covariance": way.covariance.tolist(),
        "probability": way.probability,
        "along": way.along,
        "across": way.across,
        "map": None if figure is None else dataclasses.asdict(figure),
    }
