"""Bearings to known things and stations at known places: how likely each cell of a land makes them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.layers import GroundLayers

Floats = NDArray[np.float64]

WRONG_READING: Final = 0.01
"""The share of bearings and of known places that are plainly wrong (assumed)."""


@dataclass(frozen=True, slots=True)
class KnownThing:
    """A station of a log and a place on the land's grid that it sees, or that it is.

    Attributes
    ----------
    station
        The station.
    east_m, north_m, sd_m
        The place, and how well it is known.
    azimuth_deg, azimuth_sd_deg
        Of the bearing to it by the land's grid; None where the station is the place itself.
    """

    station: int
    east_m: float
    north_m: float
    sd_m: float
    azimuth_deg: float | None = None
    azimuth_sd_deg: float = 0.0


def maps_of(
    things: tuple[KnownThing, ...], layers: GroundLayers, stations: int
) -> tuple[NDArray[np.float32], tuple[int, ...]]:
    """Maps of chances, and which of them holds for each station (-1 for none)."""
    rows, columns = layers.shape
    east = np.asarray(layers.west_m + (np.arange(columns)[None, :] + 0.5) * layers.cell_m, np.float64)
    north = np.asarray(layers.north_m - (np.arange(rows)[:, None] + 0.5) * layers.cell_m, np.float64)
    made: list[NDArray[np.float32]] = []
    number = [-1] * stations
    for thing in things:
        chance = _chance(thing, east, north, layers.cell_m).astype(np.float32)
        if number[thing.station] < 0:
            number[thing.station] = len(made)
            made.append(chance)
        else:
            made[number[thing.station]] *= chance
    if not made:
        return np.zeros((0, 1, 1), np.float32), tuple(number)
    return np.stack(made), tuple(number)


def _chance(thing: KnownThing, east: Floats, north: Floats, cell_m: float) -> Floats:
    off_east, off_north = thing.east_m - east, thing.north_m - north
    away_m = np.hypot(off_east, off_north)
    if thing.azimuth_deg is None:
        sd_m = np.hypot(thing.sd_m, cell_m / 2.0)
        return np.asarray((1.0 - WRONG_READING) * np.exp(-0.5 * (away_m / sd_m) ** 2) + WRONG_READING * 1e-3)
    off_deg = np.degrees(np.arctan2(off_east, off_north)) - thing.azimuth_deg
    off_deg = (off_deg + 180.0) % 360.0 - 180.0
    of_place_deg = np.degrees(np.hypot(thing.sd_m, cell_m / 3.0) / np.maximum(away_m, cell_m))
    sd_deg = np.hypot(thing.azimuth_sd_deg, of_place_deg)
    # A density over the circle, told in shares of the circle: 1 says nothing.
    density = np.exp(-0.5 * (off_deg / sd_deg) ** 2) * 360.0 / (sd_deg * np.sqrt(2.0 * np.pi))
    return np.asarray((1.0 - WRONG_READING) * density + WRONG_READING)
