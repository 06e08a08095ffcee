"""Where a log lies on the map, in plain sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from pacewright.answers.placing import PlacedLog
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.way.regions import ellipse_axes, reach_of
from pacewright.exceptions import Complaint
from pacewright.ground.any_grid import OnGrid
from pacewright.ground.grid import unproject
from pacewright.ground.lat_lon_text import METRES_PER_DEGREE, format_lat_lon
from pacewright.ground.map_anchor import MapAnchor
from pacewright.ground.mgrs_squares import format_mgrs
from pacewright.wording.closure import say_how_often
from pacewright.wording.norths import say_angle, say_compass_zone, say_step
from pacewright.wording.numbers import say_azimuth, say_length, say_odds, say_place, say_whole

ORDINARY_CHANCE: Final = 0.01
"""Known points that the log misses by more than this chance allows are said to disagree."""


def say_placed(log: TravelLog, placed: PlacedLog, probability: float) -> list[str]:
    """Say where the last station lies on the map, what holds it there, and what to look at."""
    last, unit = placed.last, log.heading.azimuth_unit
    where = say_place(placed.names[last], last)
    region = placed.region(last, probability)
    _, _, axis_deg = ellipse_axes(region.covariance)
    along, across = region.half_widths(axis_deg)
    return [
        f"On the map {where} is at {say_lat_lon(placed, last, probability)}, MGRS {say_mgrs(placed, last, probability)} "
        f"({placed.on_grid.zone}).",
        f"Give or take {say_length(along, 'metre')} along grid azimuth {say_azimuth(axis_deg, unit)} and "
        f"{say_whole(across)} across it ({say_odds(probability)}). This rests on {_and(placed.held_by)}.",
        say_norths(log, placed),
        *([] if placed.on_grid.declination is None else say_compass_zone(placed.on_grid.declination)),
        *(f"{_capital(remark)}." for remark in placed.remarks),
        *say_not_reached(placed),
        *say_disagreement(placed),
    ]


def say_on_grid(place: OnGrid) -> str:
    """A place on a grid by its letters and its code, the convergence there, how good the change of datum is."""
    written = f"{place.letters}, {place}" if place.letters else str(place)
    good = "" if not place.accuracy_m else f"; the change of datum is good to {place.accuracy_m:g} m"
    return f"On {place.name}: {written} (convergence {say_angle(place.convergence_deg)}{good})."


def say_lat_lon(placed: PlacedLog, station: int, probability: float) -> str:
    """Write a station's latitude and longitude, to no more decimals than it is sure."""
    decimals = math.ceil(math.log10(METRES_PER_DEGREE / _reach_m(placed, station, probability)))
    latitude, longitude = float(placed.latitude_deg[station]), float(placed.longitude_deg[station])
    return format_lat_lon(latitude, longitude, "degrees", max(0, decimals))


def say_mgrs(placed: PlacedLog, station: int, probability: float) -> str:
    """Write a station as MGRS: the square it lies in, its side no longer than the place is unsure."""
    latitude, longitude = float(placed.latitude_deg[station]), float(placed.longitude_deg[station])
    return format_mgrs(latitude, longitude, mgrs_digits(placed, station, probability), spaced=True)


def say_grid_place(anchor: MapAnchor, east: float, north: float, reach_m: float) -> str:
    """Write a place, in metres from what holds a log on the map, as latitude, longitude and MGRS."""
    zone, reach_m = anchor.on_grid.zone, max(1.0, reach_m)
    latitude, longitude = unproject(zone, anchor.east_m + east, anchor.north_m + north)
    decimals = max(0, math.ceil(math.log10(METRES_PER_DEGREE / reach_m)))
    digits = max(0, min(5, 5 - math.floor(math.log10(reach_m))))
    written = format_lat_lon(float(latitude), float(longitude), "degrees", decimals)
    return f"{written}, MGRS {format_mgrs(float(latitude), float(longitude), digits, spaced=True)} ({zone})"


def mgrs_digits(placed: PlacedLog, station: int, probability: float) -> int:
    """The digits of MGRS each way that a station's uncertainty supports, 0 to 5."""
    return max(0, min(5, 5 - math.floor(math.log10(_reach_m(placed, station, probability)))))


def _reach_m(placed: PlacedLog, station: int, probability: float) -> float:
    long_sd, _, _ = ellipse_axes(placed.covariance_m2[station])
    return max(1.0, reach_of(probability) * long_sd)


def say_norths(log: TravelLog, placed: PlacedLog) -> str:
    """Say what was added to the log's azimuths to make them grid azimuths, and where it came from."""
    reference, norths = log.heading.azimuth_reference, placed.on_grid.norths
    if reference == "grid":
        return "The log's azimuths are grid azimuths: nothing was added to them."
    step = say_step(norths.added_deg(reference, "grid"))
    convergence = f"grid convergence {say_angle(norths.convergence_deg)}"
    if reference == "true":
        return f"From true to grid azimuths: {step} ({convergence})."
    found = placed.on_grid.declination
    if found is None:
        source = "from the log's heading"
    else:
        source = f"by {found.model} for {log.heading.date}, +-{found.declination_sd_deg:.1f} deg"
    return f"From magnetic to grid azimuths: {step} (declination {say_angle(norths.declination_deg)} {source}; {convergence})."


def say_not_reached(placed: PlacedLog) -> list[str]:
    """Say which known points hold nothing here."""
    if not placed.not_reached:
        return []
    return [f"Known, and of no use here: {', '.join(placed.not_reached)}."]


def say_disagreement(placed: PlacedLog) -> list[str]:
    """Say that what is known does not agree with the log."""
    if placed.chance >= ORDINARY_CHANCE:
        return []
    return [
        f"What is known does not agree with the log: scatter alone misses by so much {say_how_often(placed.chance)}. Check the places, the "
        "declination and the log before you rely on this."
    ]


def say_not_placed(complaint: Complaint) -> str:
    """Say why a log with known points has no place on the map."""
    return f"Not placed on the map: {complaint}"


def say_written(target: str, placed: PlacedLog | None) -> str:
    """Say what was written, and in which coordinates."""
    if placed is None:
        return f"Written: {target} (east and north from the start)"
    return f"Written: {target} (on the map, {placed.on_grid.zone}, by {_and(placed.held_by)})"


def _and(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
