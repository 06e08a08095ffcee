"""A bearing written with its place in one line, for a fix without a log.

`Fire tower=local 120 300=45.5` is a bearing of 45.5 to the known Fire tower; `local 0 0=38` is a
bearing of 38 taken at a known place to something that is looked for.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pacewright.core.bearings.intersection import Intersection, intersect
from pacewright.core.bearings.log_fixes import BIAS_SHARE
from pacewright.core.bearings.resection import Resection, resect
from pacewright.core.compass import AzimuthUnit, parse_azimuth
from pacewright.core.log.log_heading import parse_heading
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.walker import Walker
from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint


@dataclass(frozen=True, slots=True)
class PlacedBearing:
    """A bearing with the known place at one of its ends.

    Attributes
    ----------
    name
        Of the place; empty where none was given.
    east, north
        In metres.
    sd_m
        Standard deviation of each coordinate.
    azimuth_deg
        As read.
    sd_stated
        False where `sd_m` was not written and is the default.
    """

    name: str
    east: float
    north: float
    sd_m: float
    azimuth_deg: float
    sd_stated: bool = False


def parse_bearing_to(text: str, unit: AzimuthUnit = "degrees") -> PlacedBearing:
    """The bearing to a known thing that `NAME=PLACE=AZIMUTH` stands for.

    A place with no stated uncertainty is taken at 10 m, as in the heading of a log.

    Examples
    --------
    >>> tower = parse_bearing_to("Fire tower=local 120 300 +-5 m=45.5")
    >>> tower.name, tower.east, tower.north, tower.sd_m, tower.azimuth_deg
    ('Fire tower', 120.0, 300.0, 5.0, 45.5)

    Raises
    ------
    Complaint
        The text is none.
    """
    named, _, azimuth = text.rpartition("=")
    name, _, place = named.partition("=")
    if not (name.strip() and place.strip() and azimuth.strip()):
        raise FormatComplaint(
            f"{text[:60] or 'nothing'} is not a bearing to a known thing",
            "Write NAME=PLACE=AZIMUTH, such as Fire tower=local 120 300=45.5",
        )
    return _placed(name.strip(), place, azimuth, unit)


def parse_bearing_from(text: str, unit: AzimuthUnit = "degrees") -> PlacedBearing:
    """The bearing taken at a known place that `PLACE=AZIMUTH` or `NAME=PLACE=AZIMUTH` stands for.

    A place with no stated uncertainty is taken at 10 m, as in the heading of a log; `+-0 m` is exact.

    Examples
    --------
    >>> base = parse_bearing_from("local 75 0=338")
    >>> base.name, base.east, base.north, base.sd_m, base.azimuth_deg
    ('', 75.0, 0.0, 10.0, 338.0)

    Raises
    ------
    Complaint
        The text is none.
    """
    named, _, azimuth = text.rpartition("=")
    name, _, place = named.rpartition("=")
    if not (place.strip() and azimuth.strip()):
        raise FormatComplaint(
            f"{text[:60] or 'nothing'} is not a bearing taken at a known place",
            "Write PLACE=AZIMUTH, such as local 75 0=338",
        )
    bearing = _placed(name.strip() or "here", place, azimuth, unit)
    return replace(bearing, name=name.strip())


def own_place(
    bearings: Sequence[PlacedBearing],
    walker: Walker | None = None,
    by_angles: bool = False,
    probability: float = DEFAULT_PROBABILITY,
) -> Resection:
    """Your own place from bearings you took of known things.

    Raises
    ------
    Complaint
        As `resect`.
    """
    compass = (walker or Walker()).compass
    return resect(
        _places(bearings),
        [one.azimuth_deg for one in bearings],
        _reading_sd_deg(walker),
        known_sd=[one.sd_m for one in bearings],
        bias_sd_deg=BIAS_SHARE * compass.bias_sd_deg,
        by_angles=by_angles,
        probability=probability,
    )


def seen_place(
    bearings: Sequence[PlacedBearing],
    walker: Walker | None = None,
    probability: float = DEFAULT_PROBABILITY,
) -> Intersection:
    """The place of something from bearings taken at known places.

    Raises
    ------
    Complaint
        As `intersect`.
    """
    compass = (walker or Walker()).compass
    variances = np.repeat([one.sd_m**2 for one in bearings], 2)
    return intersect(
        _places(bearings),
        [one.azimuth_deg for one in bearings],
        _reading_sd_deg(walker),
        station_covariance=np.diag(variances),
        bias_sd_deg=BIAS_SHARE * compass.bias_sd_deg,
        probability=probability,
    )


def _places(bearings: Sequence[PlacedBearing]) -> NDArray[np.float64]:
    return np.array([(one.east, one.north) for one in bearings])


def _reading_sd_deg(walker: Walker | None) -> float:
    compass = (walker or Walker()).compass
    return math.hypot(compass.sighting_sd_deg, compass.reading_interval_deg / math.sqrt(12.0))


def _placed(name: str, place: str, azimuth: str, unit: AzimuthUnit) -> PlacedBearing:
    try:
        point = parse_heading([(1, "known", f"{name} = {place}")]).known[0]
    except Complaint as complaint:
        # The heading's line and column say nothing to the one who typed an option.
        raise type(complaint)(complaint.what, complaint.do) from None
    if point.local_m is None:
        raise MissingComplaint(
            f"without a map there is no telling where {point.place[:40]} lies",
            "Give the place as local EAST NORTH in metres, all from one origin",
        )
    stated = any(sign in place for sign in ("+-", "+/-", "±"))
    return PlacedBearing(name, *point.local_m, point.sd_m, parse_azimuth(azimuth, unit), stated)
