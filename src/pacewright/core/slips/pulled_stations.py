"""Stations where something pulls the compass: all that is read there is turned by one angle.

The forward azimuth of a leg that sets out there, the reading backward along a leg that ends there, the
bearings taken there. Where only one number was read, a pull is that number's own slip.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.slips.normal_batch import factor
from pacewright.core.slips.reading_slips import PLACE_WEIGHT, ReadingSlip
from pacewright.core.slips.residuals import lay, told_terms
from pacewright.core.slips.trial_logs import BearingChange, Change, LogModel, Pull, Trials
from pacewright.core.way.observations import Observations

Array = NDArray[np.float64]

PULL_SD_DEG: Final = 12.0
"""How far a station pulls, either way (assumed); half a circle is a reading not turned round."""
_FARTHEST_DEG: Final = 60.0
_ROUNDS: Final = 2


@dataclass(frozen=True, slots=True)
class PulledPlace:
    """All that was read at one place, however often it was met.

    Attributes
    ----------
    stations
        The visits, the first one first.
    name
        Of the marker, if it has one.
    leaving
        Legs that set out there, from 0.
    looking_back
        Legs that end there and were read backward, from 0.
    bearings
        Bearings taken there, by their number among those observed.
    """

    stations: tuple[int, ...]
    name: str | None
    leaving: tuple[int, ...]
    looking_back: tuple[int, ...]
    bearings: tuple[int, ...]

    @property
    def readings(self) -> int:
        """How many numbers were read there."""
        return len(self.leaving) + len(self.looking_back) + len(self.bearings)


def find_places_read_at(
    names: Sequence[str | None], model: LogModel, observations: Observations
) -> tuple[PulledPlace, ...]:
    """The places where two readings or more could show a pull.

    Parameters
    ----------
    names
        Of the stations; a name met again is the same place.
    model, observations
        The log, laid out.
    """
    visits: dict[object, list[int]] = {}
    for station, name in enumerate(names):
        visits.setdefault(name or station, []).append(station)
    read = set(model.rows.backs.legs.tolist())
    found = []
    for stations in visits.values():
        place = PulledPlace(
            tuple(stations),
            names[stations[0]],
            tuple(station for station in stations if station < model.states.size),
            tuple(station - 1 for station in stations if station - 1 in read),
            tuple(k for k, one in enumerate(observations.bearings) if one.station in stations),
        )
        # A forward azimuth alone says nothing of a pull: something else must have been read there.
        if place.readings >= 2 and (place.looking_back or place.bearings):
            found.append(place)
    return tuple(found)


def best_pulls(places: Sequence[PulledPlace], model: LogModel) -> tuple[tuple[ReadingSlip, ...], Trials]:
    """The pull that explains the log best at each place, and the log without it.

    The readings are turned by the pull found so far and the rest is taken as linear, until that is small.
    """
    at_rad = np.zeros(len(places))
    for _ in range(_ROUNDS if places else 0):
        at_rad = at_rad + _more(model, _trials(places, model, at_rad))
        at_rad = np.clip(at_rad, -math.radians(_FARTHEST_DEG), math.radians(_FARTHEST_DEG))
    slips = tuple(
        ReadingSlip(
            "station_pulled",
            "station",
            PLACE_WEIGHT,
            station=place.stations[0],
            name=place.name,
            turn_deg=-math.degrees(pull_rad),
        )
        for place, pull_rad in zip(places, at_rad.tolist(), strict=True)
    )
    return slips, _trials(places, model, at_rad)


def _more(model: LogModel, trials: Trials) -> Array:
    """By how much each pull is off its value so far, given all that was observed."""
    held = lay(model, trials).at()
    off: Array = held.told.mean[1].copy()
    if len(held.residual):
        factored = factor(held.covariance)
        read = held.lever[told_terms(model, trials)]
        across = np.einsum("dh,dmh->mh", held.told.covariance[1], read)
        white = factored.whiten(across)
        off += np.einsum("mh,mh->h", white, factored.whiten(held.residual))
    return off


def _trials(places: Sequence[PulledPlace], model: LogModel, at_rad: Array) -> Trials:
    h, none = len(places), model.states.size
    legs = [sorted({*place.leaving, *place.looking_back}) for place in places]
    changes = []
    for number in range(max(map(len, legs), default=0)):
        leg = np.array([mine[number] if number < len(mine) else none for mine in legs], dtype=np.int64)
        leaves = np.array([leg[i] in place.leaving for i, place in enumerate(places)])
        looks = np.array([leg[i] in place.looking_back for i, place in enumerate(places)])
        changes.append(_turned_leg(model, leg, leaves.astype(np.float64), looks.astype(np.float64), at_rad))
    seen = np.zeros((model.rows.bearings.size, h))
    for i, place in enumerate(places):
        seen[list(place.bearings), i] = 1.0
    bearings = BearingChange(-at_rad * seen, np.zeros(seen.shape, dtype=bool))
    pull = Pull(at_rad, math.radians(PULL_SD_DEG), seen)
    return Trials(tuple(changes), np.zeros(h), bearings, (), (pull,))


def _turned_leg(
    model: LogModel, leg: NDArray[np.int64], leaves: Array, looks: Array, at_rad: Array
) -> Change:
    """The change of a leg that sets out at the place, or that was read backward from it, or both."""
    azimuth_rad = np.append(model.states.azimuth_rad, 0.0)[leg] - leaves * at_rad
    known = np.minimum(leg, model.states.size - 1)
    change = model.changed_leg(known, azimuth_rad, np.append(model.states.length, 0.0)[leg])
    is_leg = leg < model.states.size
    return replace(
        change,
        leg=leg,
        shift=change.shift * is_leg,
        lever=change.lever * is_leg,
        own=change.own * is_leg,
        back_turn=-looks * at_rad,
        pull=0,
        pulled=-leaves,
        back_pulled=looks - leaves,
    )
