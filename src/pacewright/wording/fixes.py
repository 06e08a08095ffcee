"""Fixes by bearings, in plain sentences: your own place, or that of something you saw."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.bearings.fix_entries import PlacedBearing
from pacewright.core.bearings.intersection import Intersection
from pacewright.core.bearings.log_fixes import LandmarkFix, StationFix
from pacewright.core.bearings.resection import Resection
from pacewright.core.compass import AzimuthUnit, direction_deg
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.way.frames import Frame, LengthUnit
from pacewright.core.way.regions import ellipse_axes, reach_of
from pacewright.ground.map_anchor import MapAnchor
from pacewright.wording.closure import say_how_often
from pacewright.wording.numbers import say_azimuth, say_length, say_odds, say_place, say_whole
from pacewright.wording.placing import say_grid_place

CAUTION: Final = "Caution: check on the ground. Local rules and qualified instruction come first."
"""Said beside every fix."""


@dataclass(frozen=True, slots=True)
class Terms:
    """In what terms a place is said: unit of length, unit of azimuths, what it is counted from.

    `anchor` is what holds a log on the map: the place is then said as one of the map.
    """

    length_unit: LengthUnit = "metre"
    azimuth_unit: AzimuthUnit = "degrees"
    origin: str = "the origin"
    anchor: MapAnchor | None = None

    def place(self, place: NDArray[np.float64], covariance: NDArray[np.float64]) -> str:
        """Say a place: east and north, and distance and azimuth; on the map as latitude, longitude and MGRS."""
        east, north = place.tolist()
        if self.anchor is not None:
            reach_m = reach_of(DEFAULT_PROBABILITY) * ellipse_axes(covariance)[0]
            return f"at {say_grid_place(self.anchor, east, north, reach_m)}"
        said = (
            f"{say_whole(abs(east))} {'east' if east >= 0 else 'west'} and {say_whole(abs(north))} "
            f"{'north' if north >= 0 else 'south'} of {self.origin}"
        )
        if round(math.hypot(east, north)) == 0:
            return said
        away = say_length(math.hypot(east, north), self.length_unit)
        return f"{said} ({away} on azimuth {say_azimuth(direction_deg(east, north), self.azimuth_unit)})"

    def region(self, covariance: NDArray[np.float64], probability: float) -> str:
        """Say how sure a place is."""
        long_sd, short_sd, azimuth_deg = ellipse_axes(covariance)
        reach, chance = reach_of(probability), say_odds(probability)
        along, across = (say_length(reach * sd, self.length_unit) for sd in (long_sd, short_sd))
        azimuth = say_azimuth(azimuth_deg, self.azimuth_unit)
        which = "azimuth" if self.anchor is None else "grid azimuth"
        return f"Give or take {along} along {which} {azimuth} and {across} across it ({chance})."


def log_terms(log: TravelLog, frame: Frame) -> Terms:
    """The terms of a log's own fixes: from its start, azimuths as it writes them."""
    return Terms(frame.unit, log.heading.azimuth_unit, say_place(log.heading.start, 0))


def say_station_fix(log: TravelLog, fix: StationFix, anchor: MapAnchor | None = None) -> list[str]:
    """Say where a station of a log lies by bearings, and how that sits beside the reckoning."""
    where = say_place(fix.name, fix.station)
    terms = replace(log_terms(log, fix.frame), anchor=anchor)
    said = say_resection(fix.resection, fix.seen, terms, f"{where[0].upper()}{where[1:]} lies")
    if fix.reckoned is None or fix.gap_p_value is None:
        return said
    apart = say_length(float(np.hypot(*(fix.resection.place - fix.reckoned))), fix.frame.unit)
    if fix.is_apart:
        return [
            *said,
            f"The legs put it {apart} away from there, more than scatter explains "
            f"({say_how_often(fix.gap_p_value)}): look for a mistake in the legs or in the bearings.",
        ]
    return [*said, f"The legs put it {apart} away from there, which scatter explains."]


def say_landmark_fix(log: TravelLog, fix: LandmarkFix) -> list[str]:
    """Say where something seen from stations of a log lies, from its start."""
    names = log.station_names()
    seen_from = [say_place(names[station], station) for station in fix.stations]
    said = say_intersection(fix.intersection, seen_from, log_terms(log, fix.frame), fix.name)
    if fix.frame.unit == "pace":
        said.append("These are your own paces, by your own compass.")
    return said


def say_resection(
    fix: Resection, seen: Sequence[str], terms: Terms | None = None, who: str = "You are"
) -> list[str]:
    """Say your own place from bearings to known things.

    Parameters
    ----------
    fix
        The place.
    seen
        Names of what was sighted, in the order of the bearings.
    terms
        In what to say it.
    who
        Who or what is there, with its verb.
    """
    terms = terms or Terms()
    how = "by the angles alone" if fix.by_angles else "by their azimuths"
    said = [
        f"{who} {terms.place(fix.place, fix.covariance)}, from {len(seen)} bearings {how}: {_and(seen)}.",
        terms.region(fix.covariance, fix.probability),
        _crossing(fix),
    ]
    if fix.on_danger_circle:
        said.append(
            "That place is on or near the circle through what was sighted (the danger circle): there a compass "
            "that is off moves the fix along the circle unseen."
        )
    if fix.observable:
        said.append(_bias(fix))
    return said + _contradiction(fix, seen, terms) if fix.contradicts else said


def say_intersection(
    fix: Intersection, seen_from: Sequence[str], terms: Terms | None = None, name: str = "It"
) -> list[str]:
    """Say the place of something seen from two or more stations.

    Parameters
    ----------
    fix
        The place.
    seen_from
        Names of the stations, in the order of the bearings.
    terms
        In what to say it.
    name
        What was seen.
    """
    terms = terms or Terms()
    said = [
        f"{name} lies {terms.place(fix.place, fix.covariance)}, by {len(seen_from)} bearings from {_and(seen_from)}.",
        terms.region(fix.covariance, fix.probability),
        _crossing(fix),
    ]
    return said + _contradiction(fix, seen_from, terms) if fix.contradicts else said


def say_taken_places(bearings: Sequence[PlacedBearing]) -> list[str]:
    """Say how sure the places of bearings were taken to be where that was not written."""
    taken = [one for one in bearings if not one.sd_stated]
    if not taken:
        return []
    return [
        f"Places without +- are taken as known to {taken[0].sd_m:g} m; +-0 m behind the place makes it exact."
    ]


def _crossing(fix: Resection | Intersection) -> str:
    best = f"The lines of sight cross at {fix.crossing_deg:.0f} deg at best"
    if fix.is_open:
        return (
            f"{best}, as good as parallel: the far end of the region is open. Take it for a direction, not for "
            "a place, and sight something that crosses at 60 deg or more."
        )
    advice = {
        "good": ": a good fix.",
        "fair": ": a fair fix; between 60 and 90 would be better.",
        "poor": ": a poor fix. Sight something that crosses at 60 deg or more.",
    }
    return best + advice[fix.worth]


def _bias(fix: Resection) -> str:
    give = f"give or take {fix.bias_sd_deg:.1f} deg"
    if abs(fix.bias_deg) < 2 * fix.bias_sd_deg:
        return f"The bearings together show no compass that is off ({fix.bias_deg:+.1f} deg, {give})."
    way = "low" if fix.bias_deg > 0 else "high"
    return (
        f"All bearings together read {abs(fix.bias_deg):.1f} deg too {way} ({give}): the compass, or a "
        "declination not allowed for. The fix has that taken out."
    )


def _contradiction(fix: Resection | Intersection, names: Sequence[str], terms: Terms) -> list[str]:
    said = [
        "These bearings contradict each other: scatter alone sets them so far apart "
        f"{say_how_often(fix.p_value or 0.0)}. One of the bearings or of the places is wrong, and the region "
        "cannot be trusted."
    ]
    if fix.odd_one is None or fix.without_odd_one is None:
        more = (
            ", or fix by the angles alone if the compass or the declination may be off for all of them"
            if isinstance(fix, Resection) and not fix.by_angles
            else ""
        )
        return [
            *said,
            f"Which one it is cannot be told from these. Take each bearing again, or add one more{more}.",
        ]
    return [
        *said,
        f"Without {names[fix.odd_one]} the rest agree, at a place "
        f"{terms.place(fix.without_odd_one.place, fix.without_odd_one.covariance)}: "
        f"look at the bearing and the place of {names[fix.odd_one]} first.",
    ]


def _and(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
