"""Many trial logs laid against the observations at once.

A trial is the log as written with one leg, or two, changed. Only the changed legs' shares of the sums
and of their covariance differ from one trial to the next, so that all trials are one batch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacewright.core.pace.walker import Walker
from pacewright.core.slips.leg_state import LegStates, steps_of
from pacewright.core.slips.observation_rows import ObservationRows
from pacewright.core.slips.sight_lines import place_variances

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """One changed leg in each of h trials.

    Attributes
    ----------
    leg
        From 0; the number of legs where no leg is changed; shape (h,).
    shift
        What is added to its east, north and azimuth, shape (3, h).
    lever
        What is added to its east, north and azimuth where shared errors are told, shape (3, h).
    own
        What is added to its covariance, shape (3, 3, h).
    on_ground
        1 where it lies on the leg's class of ground, 0 for a leg that the log does not hold, shape (h,).
    """

    leg: Ints
    shift: Array
    lever: Array
    own: Array
    on_ground: Array


@dataclass(frozen=True, slots=True, eq=False)
class Trials:
    """Trial logs: the changes of each, and the turn of the azimuths where all of them are turned."""

    changes: tuple[Change, ...]
    turn_rad: Array

    @property
    def size(self) -> int:
        """The number of trials."""
        return int(self.turn_rad.size)

    def take(self, index: Ints) -> Trials:
        """Give some of the trials."""
        changes = tuple(
            Change(c.leg[index], c.shift[:, index], c.lever[:, index], c.own[:, :, index], c.on_ground[index])
            for c in self.changes
        )
        return Trials(changes, self.turn_rad[index])


@dataclass(frozen=True, slots=True, eq=False)
class Sums:
    """Linear sums over the legs of h trials, m of them; or what changes add to them.

    Attributes
    ----------
    value
        Shape (m, h).
    own
        Covariance by the legs' own scatter, shape (m, m, h).
    lever
        What one unit of each shared error adds: compass, handling, pace scale, classes of ground;
        shape (terms, m, h).
    """

    value: Array
    own: Array
    lever: Array

    @property
    def size(self) -> int:
        """The number of trials."""
        return int(self.value.shape[-1])

    def plus(self, other: Sums) -> Sums:
        """Give the sums with what changes add to them."""
        return Sums(self.value + other.value, self.own + other.own, self.lever + other.lever)

    def take(self, index: Ints) -> Sums:
        """Give the sums of some of the trials."""
        return Sums(self.value[:, index], self.own[:, :, index], self.lever[:, :, index])


class LogModel:
    """A log's legs and observations, against which trials are laid.

    Parameters
    ----------
    states
        The legs as written.
    rows
        The observations.
    walker
        For the sizes of shared errors.
    """

    __slots__ = ("_own", "_steps", "place_variance", "rows", "shared_variance", "states")

    def __init__(self, states: LegStates, rows: ObservationRows, walker: Walker) -> None:
        self.states = states
        self.rows = rows
        everything = np.arange(states.size)
        self._steps = steps_of(states.azimuth_rad, states.length)
        self._own = states.scatter.covariances(everything, states.azimuth_rad, states.length)
        half_bias = math.radians(walker.compass.bias_sd_deg) ** 2 / 2.0
        scale = (walker.count.scale_sd_pct / 100.0) ** 2
        self.shared_variance = np.array([half_bias, half_bias, scale, *states.class_variance])
        self.place_variance = place_variances(rows, self._steps)

    @property
    def steps(self) -> Array:
        """East, north and azimuth of the legs as written, shape (3, n)."""
        return self._steps

    @property
    def own(self) -> Array:
        """Covariance of the legs as written, shape (3, 3, n)."""
        return self._own

    def changed_leg(self, leg: Ints, azimuth_rad: Array, length: Array) -> Change:
        """Give the change that makes legs read and measure otherwise."""
        shift = steps_of(azimuth_rad, length) - self._steps[:, leg]
        # An azimuth is the same a full circle round.
        shift[2] = (shift[2] + np.pi) % (2.0 * np.pi) - np.pi
        own = self.states.scatter.covariances(leg, azimuth_rad, length) - self._own[:, :, leg]
        return Change(leg, shift, shift, own, np.ones(leg.size))

    def unchanged(self, trials: int) -> Change:
        """Give the change that changes nothing."""
        zero = np.zeros((3, trials))
        leg = np.full(trials, self.states.size, dtype=np.int64)
        return Change(leg, zero, zero, np.zeros((3, 3, trials)), np.zeros(trials))

    @property
    def seen_sign(self) -> Array:
        """How the legs enter the rows, and then east and north of the station of every bearing."""
        rows = self.rows
        return np.concatenate([rows.sign, np.repeat(rows.sign[rows.controls :], 2, axis=0)])

    @property
    def seen_part(self) -> Array:
        """The part of a leg that each of these takes."""
        return np.concatenate([self.rows.part, np.tile(np.eye(3)[:2], (self.rows.bearings.size, 1))])

    def sums_as_written(self, sign: Array, part: Array) -> Sums:
        """Give sums over the legs as written, as one trial.

        Parameters
        ----------
        sign
            How each leg enters each sum, shape (m, n + 1).
        part
            The part of a leg that each sum takes, shape (m, 3).
        """
        parts = part[None, :, :] * sign[:, :-1].T[:, :, None]
        value = np.einsum("nma,an->m", parts, self._steps)
        own = np.einsum("nia,abn,njb->ij", parts, self._own, parts, optimize=True)
        lever = np.stack(
            [np.einsum("nma,an,n->m", parts, one, on, optimize=True) for one, on in self.terms_of_legs()]
        )
        return Sums(value[:, None], own[:, :, None], lever[:, :, None])

    def sums_of_change(self, sign: Array, part: Array, change: Change) -> Sums:
        """Give what one change in each of h trials adds to the sums."""
        entering = sign[:, change.leg]
        spread = np.einsum("ia,abh,jb->ijh", part, change.own, part, optimize=True)
        return Sums(
            entering * (part @ change.shift),
            entering[:, None] * entering[None] * spread,
            entering * self.term_changes(part, change),
        )

    def sums(self, sign: Array, part: Array, trials: Trials) -> Sums:
        """Give sums over the legs for every trial."""
        total = self.sums_as_written(sign, part)
        for change in trials.changes:
            total = total.plus(self.sums_of_change(sign, part, change))
        h = trials.size
        return Sums(_wide(total.value, h), _wide(total.own, h), _wide(total.lever, h))

    def terms_of_legs(self) -> list[tuple[Array, Array]]:
        """Give, for every shared error, what one unit of it adds to each leg, and which legs share it."""
        clockwise, outward = _levers(self._steps)
        every = np.ones(self.states.size)
        turn = (np.concatenate([clockwise[:2], np.ones((1, every.size))]), every)
        scale = (outward, every)
        return [turn, turn, scale, *((outward, on) for on in self.states.class_of_leg)]

    def term_changes(self, part: Array, change: Change) -> Array:
        """Give what one unit of each shared error adds by a change, shape (terms, m, h)."""
        clockwise, outward = _levers(change.lever)
        turned, scaled = part @ clockwise, part @ outward
        on_class = np.pad(self.states.class_of_leg, ((0, 0), (0, 1)))
        grounds = [scaled * on[change.leg] * change.on_ground for on in on_class]
        return np.stack([turned, turned, scaled, *grounds])


def _levers(step: Array) -> tuple[Array, Array]:
    east, north, _ = step
    zero = np.zeros_like(east)
    return np.stack([north, -east, zero]), np.stack([east, north, zero])


def _wide(array: Array, h: int) -> Array:
    wide: Array = np.broadcast_to(array, (*array.shape[:-1], h))
    return wide
