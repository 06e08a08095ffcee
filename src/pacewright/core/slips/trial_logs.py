"""Many trial logs, in which a leg or a reading is otherwise than written.

A trial is the log as written with one leg, or two, changed, or with a reading changed or set aside. Only
the changed legs' shares of the sums and of their covariance differ from one trial to the next, so that
all trials are one batch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.pace.walker import Walker
from pacewright.core.slips.leg_state import LegStates, steps_of
from pacewright.core.slips.observation_rows import ObservationRows
from pacewright.core.slips.sight_lines import place_variances

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

COMPASS, HANDLING, SCALE = 0, 1, 2
"""Shared errors of all legs, in this order; the classes of ground follow, and then the pulls of trials."""


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """One changed leg in each of h trials, or what was read backward along it.

    Attributes
    ----------
    leg
        From 0; the number of legs where no leg is changed; shape (h,).
    shift
        What is added to its east, north and azimuth, shape (3, h).
    lever
        What is added to its east and north where shared errors are told, shape (2, h).
    own
        What is added to its covariance, shape (3, 3, h).
    back_turn
        What is added to the reading taken backward along it, in radians, shape (h,).
    back_off
        Whether that reading is set aside, shape (h,).
    pull
        Which pull of the trials it answers to; None for none.
    pulled
        By how much the leg's azimuth answers to that pull, shape (h,).
    back_pulled
        By how much the reading backward, less the leg's azimuth, answers to it, shape (h,).
    is_extra
        True for legs put in before the one of that number, which stays as it is.
    """

    leg: Ints
    shift: Array
    lever: Array
    own: Array
    back_turn: Array
    back_off: Bools
    pull: int | None
    pulled: Array
    back_pulled: Array
    is_extra: bool = False

    def take(self, index: Ints) -> Change:
        """The change of some of the trials."""
        return replace(
            self,
            leg=self.leg[index],
            shift=self.shift[:, index],
            lever=self.lever[:, index],
            own=self.own[:, :, index],
            back_turn=self.back_turn[index],
            back_off=self.back_off[index],
            pulled=self.pulled[index],
            back_pulled=self.back_pulled[index],
        )


@dataclass(frozen=True, slots=True, eq=False)
class BearingChange:
    """What is added to each bearing, in radians, and whether it is set aside; both of shape (b, h)."""

    turn: Array
    off: Bools

    def take(self, index: Ints) -> BearingChange:
        """The change of some of the trials."""
        return BearingChange(self.turn[:, index], self.off[:, index])


@dataclass(frozen=True, slots=True, eq=False)
class Moved:
    """A place that lies elsewhere by a normal variable in each coordinate.

    Attributes
    ----------
    enters
        How it enters what pairs and bearings were placed by, shape (p + b, h).
    variance
        Of each coordinate, shape (h,).
    """

    enters: Array
    variance: Array

    def take(self, index: Ints) -> Moved:
        """The place of some of the trials."""
        return Moved(self.enters[:, index], self.variance[index])


@dataclass(frozen=True, slots=True, eq=False)
class Pull:
    """What pulls the compass at a station, as a normal variable told about a value that is already in.

    Attributes
    ----------
    at_rad
        That value, shape (h,).
    sd_rad
        Of the pull about nought.
    bearings
        Which bearings it turns, shape (b, h), 1 or 0.
    """

    at_rad: Array
    sd_rad: float
    bearings: Array

    def take(self, index: Ints) -> Pull:
        """The pull of some of the trials."""
        return Pull(self.at_rad[index], self.sd_rad, self.bearings[:, index])


@dataclass(frozen=True, slots=True, eq=False)
class Trials:
    """Trial logs: what is changed in each.

    Attributes
    ----------
    changes
        Changed legs.
    turn_rad
        The turn of the azimuths where all of them are turned, shape (h,).
    bearings, moved, pulls
        Changed bearings, places that lie elsewhere, pulls of the compass.
    """

    changes: tuple[Change, ...]
    turn_rad: Array
    bearings: BearingChange | None = None
    moved: tuple[Moved, ...] = ()
    pulls: tuple[Pull, ...] = ()

    @property
    def size(self) -> int:
        """The number of trials."""
        return int(self.turn_rad.size)

    def take(self, index: Ints) -> Trials:
        """Some of the trials."""
        return Trials(
            tuple(change.take(index) for change in self.changes),
            self.turn_rad[index],
            self.bearings.take(index) if self.bearings else None,
            tuple(one.take(index) for one in self.moved),
            tuple(pull.take(index) for pull in self.pulls),
        )


def together(one: Trials, other: Trials) -> Trials:
    """Trials that hold what two trials change, number by number; no leg may be changed by both."""
    bearings = one.bearings or other.bearings
    if one.bearings and other.bearings:
        turn, off = one.bearings.turn + other.bearings.turn, one.bearings.off | other.bearings.off
        bearings = BearingChange(turn, off)
    first = len(one.pulls)
    changes = [
        change if change.pull is None else replace(change, pull=change.pull + first)
        for change in other.changes
    ]
    return Trials(
        (*one.changes, *changes),
        one.turn_rad + other.turn_rad,
        bearings,
        (*one.moved, *other.moved),
        (*one.pulls, *other.pulls),
    )


NOTHING: Final = Trials((), np.zeros(1))
"""The log as written, as one trial."""


class LogModel:
    """A log's legs and observations, against which trials are held.

    Parameters
    ----------
    states
        The legs as written.
    rows
        The observations.
    walker
        For the sizes of shared errors.
    """

    __slots__ = ("class_of_leg", "own", "place_variance", "rows", "shared_variance", "states", "steps")

    def __init__(self, states: LegStates, rows: ObservationRows, walker: Walker) -> None:
        everything = np.arange(states.size)
        self.states = states
        self.rows = rows
        # A last leg of no length stands for no leg at all.
        self.steps = np.pad(steps_of(states.azimuth_rad, states.length), ((0, 0), (0, 1)))
        own = states.scatter.covariances(everything, states.azimuth_rad, states.length)
        self.own = np.pad(own, ((0, 0), (0, 0), (0, 1)))
        self.class_of_leg = np.pad(states.class_of_leg, ((0, 0), (0, 1)))
        half_bias = math.radians(walker.compass.bias_sd_deg) ** 2 / 2.0
        scale = (walker.count.scale_sd_pct / 100.0) ** 2
        self.shared_variance = np.array([half_bias, half_bias, scale, *states.class_variance])
        self.place_variance = rows.place_variance + place_variances(rows, self.steps)

    def changed_leg(self, leg: Ints, azimuth_rad: Array, length: Array) -> Change:
        """The change that makes legs read and measure otherwise."""
        shift = steps_of(azimuth_rad, length) - self.steps[:, leg]
        # An azimuth is the same a full circle round.
        shift[2] = (shift[2] + np.pi) % (2.0 * np.pi) - np.pi
        own = self.states.scatter.covariances(leg, azimuth_rad, length) - self.own[:, :, leg]
        return replace(self.unchanged(leg.size), leg=leg, shift=shift, lever=shift[:2], own=own)

    def unchanged(self, trials: int) -> Change:
        """The change that changes nothing."""
        zero = np.zeros(trials)
        return Change(
            leg=np.full(trials, self.states.size, dtype=np.int64),
            shift=np.zeros((3, trials)),
            lever=np.zeros((2, trials)),
            own=np.zeros((3, 3, trials)),
            back_turn=zero,
            back_off=np.zeros(trials, dtype=bool),
            pull=None,
            pulled=zero,
            back_pulled=zero,
        )
