"""Lines of sight: how they cross, what the crossing is worth, and the place that fits several best."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, Literal, Protocol, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.core.compass import unit_vectors
from pacewright.exceptions import Complaint, ValueComplaint

Array = NDArray[np.float64]

Worth = Literal["good", "fair", "poor"]

GOOD_FROM_DEG: Final = 60.0
FAIR_FROM_DEG: Final = 30.0
"""Lines of sight that cross at 60 degrees and more give a good fix, below 30 a poor one (common
practice)."""
OPEN_BELOW_SD: Final = 3.0
"""Lines that cross at less than so many sds of the angle between them may as well be parallel."""
CONTRADICTION_BELOW: Final = 0.01
"""Bearings that scatter alone would bring so far apart less often than this contradict each other."""
AGREEMENT_FROM: Final = 0.05
_GUESSES: Final = 4
_ROUNDS: Final = 60
_SETTLED: Final = 1e-10


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Unknowns fitted to bearings: values, covariance, what remains, its weighted square sum."""

    values: Array
    covariance: Array
    remains_rad: Array
    chi2: float


class Placed(Protocol):
    """A place found from bearings, with how often scatter alone leaves as much over."""

    @property
    def p_value(self) -> float | None:
        """The chance, None where nothing is to spare."""


P = TypeVar("P", bound=Placed)


def worth_of_crossing(crossing_deg: float) -> Worth:
    """What lines of sight that cross at this angle are worth.

    >>> worth_of_crossing(88), worth_of_crossing(40), worth_of_crossing(12)
    ('good', 'fair', 'poor')
    """
    if crossing_deg >= GOOD_FROM_DEG:
        return "good"
    return "fair" if crossing_deg >= FAIR_FROM_DEG else "poor"


def best_crossing_deg(azimuth_deg: Array) -> float:
    """The angle nearest to a right one at which any two of the lines cross, 0 to 90."""
    return max(
        (_crossing_deg(first, second) for first, second in itertools.combinations(azimuth_deg.tolist(), 2)),
        default=0.0,
    )


def chance_of(chi2: float, redundancy: int) -> float | None:
    """How often ordinary scatter alone leaves as much over or more; None with nothing to spare.

    Notes
    -----
    The chi-square distribution's upper tail, by recurrence from one or two degrees of freedom.

    >>> round(chance_of(5.991, 2), 3), round(chance_of(3.841, 1), 3), round(chance_of(7.815, 3), 3)
    (0.05, 0.05, 0.05)
    """
    if redundancy <= 0:
        return None
    half = chi2 / 2.0
    if half > 700.0:
        return 0.0
    odd = redundancy % 2 == 1
    tail, order = (math.erfc(math.sqrt(half)), 0.5) if odd else (math.exp(-half), 1.0)
    while order < redundancy / 2.0:
        tail += math.exp(order * math.log(half) - half - math.lgamma(order + 1.0)) if half > 0 else 0.0
        order += 1.0
    return min(1.0, tail)


def look_along(place: Array, targets: Array) -> tuple[Array, Array]:
    """The azimuth to each target and how a move of the target turns it.

    Parameters
    ----------
    place, targets
        Shapes (2,) or (n, 2), east and north.

    Returns
    -------
    azimuth_rad, turning
        Shape (n,), and (n, 2) in radians a unit; a move of the place turns it the other way.
    """
    step = np.atleast_2d(targets - place)
    distance2 = np.maximum(np.einsum("ni,ni->n", step, step), np.finfo(float).tiny)
    turning = np.stack([step[:, 1], -step[:, 0]], axis=1) / distance2[:, None]
    return np.arctan2(step[:, 0], step[:, 1]), turning


def half_turn(angle_rad: Array) -> Array:
    """Angles as turns from -pi up to pi."""
    turned: Array = (angle_rad + np.pi) % (2.0 * np.pi) - np.pi
    return turned


def cross_in_pairs(anchors: Array, azimuth_deg: Array, sign: int) -> Array:
    """Where the lines cross two by two, only the crossings that lie ahead on both.

    Parameters
    ----------
    anchors, azimuth_deg
        A point of every line and its azimuth, shapes (n, 2) and (n,).
    sign
        1 where ahead is along the azimuth (the anchor is where the bearing was taken), -1 where it is
        the other way (the anchor is what was seen).

    Returns
    -------
    Array
        Shape (m, 2), m from 0 up.
    """
    along = sign * np.stack(unit_vectors(azimuth_deg), axis=1)
    found = []
    for i, j in itertools.combinations(range(len(anchors)), 2):
        turn = _cross(along[i], along[j])
        if abs(turn) < 1e-12:
            continue
        step = anchors[j] - anchors[i]
        ahead_i, ahead_j = _cross(step, along[j]) / turn, _cross(step, along[i]) / turn
        if ahead_i > 0 and ahead_j > 0:
            found.append(anchors[i] + ahead_i * along[i])
    return np.array(found).reshape(-1, 2)


def settle(guess: Array, look: Callable[[Array], tuple[Array, Array, Array]]) -> Fit | None:
    """Fit unknowns to observations by least squares, again and again until they stay.

    Parameters
    ----------
    guess
        Where to begin, shape (u,).
    look
        For unknowns, what the observations leave over (m,), how it turns with the unknowns (m, u), and
        its covariance (m, m).

    Returns
    -------
    Fit or None
        None where the observations do not settle the unknowns.
    """
    values = guess
    for _ in range(_ROUNDS):
        remains, slope, noise = look(values)
        try:
            root = np.asarray(np.linalg.cholesky(noise), dtype=np.float64)
            white, white_slope = np.linalg.solve(root, remains), np.linalg.solve(root, slope)
            step = -np.linalg.lstsq(white_slope, white, rcond=None)[0]
            moved = _shorten(values, step, root, float(white @ white), look)
        except np.linalg.LinAlgError:
            return None
        done = float(np.abs(moved - values).max()) <= _SETTLED * (1.0 + float(np.abs(values).max()))
        values = moved
        if done:
            break
    return _summary(values, look)


def _shorten(
    values: Array,
    step: Array,
    root: Array,
    before: float,
    look: Callable[[Array], tuple[Array, Array, Array]],
) -> Array:
    # A full step from far away can overshoot: half it until what remains does not grow.
    for halving in range(20):
        moved: Array = values + step * 0.5**halving
        white = np.linalg.solve(root, look(moved)[0])
        if float(white @ white) <= before * (1.0 + 1e-12):
            return moved
    return values


def _summary(values: Array, look: Callable[[Array], tuple[Array, Array, Array]]) -> Fit | None:
    remains, slope, noise = look(values)
    try:
        weighted = np.linalg.solve(noise, slope)
        normal = slope.T @ weighted
        scale = np.sqrt(np.diag(normal))
        if not (scale > 0).all():
            return None
        even = normal / np.outer(scale, scale)
        if np.linalg.eigvalsh(even)[0] < 1e-12:
            return None
        covariance = np.linalg.inv(even) / np.outer(scale, scale)
        chi2 = float(remains @ np.linalg.solve(noise, remains))
    except np.linalg.LinAlgError:
        return None
    return Fit(values, covariance, remains, chi2) if np.isfinite(covariance).all() else None


def settle_ahead(
    guesses: Array,
    look: Callable[[Array], tuple[Array, Array, Array]],
    read: slice,
) -> Fit | None:
    """Fit from the likeliest of several guesses, and give the best fit that looks ahead.

    Parameters
    ----------
    guesses
        Shape (g, u).
    look
        As in `settle`.
    read
        Which of the observations are bearings: none of them may look the other way.
    """
    left = [float(remains @ remains) for remains in (look(guess)[0][read] for guess in guesses)]
    fits = [settle(guesses[i], look) for i in np.argsort(left)[:_GUESSES]]
    ahead = [fit for fit in fits if fit is not None and looks_ahead(fit.remains_rad[read])]
    return min(ahead, key=lambda fit: fit.chi2, default=None)


def looks_ahead(remains_rad: Array) -> bool:
    """Whether every line of sight runs towards the place and not away from it."""
    return bool((np.abs(remains_rad) < np.pi / 2.0).all())


def leave_one_out(bearings: int, again: Callable[[Sequence[int]], P]) -> tuple[int | None, P | None]:
    """The one bearing without which the rest agree, and the place they give.

    Parameters
    ----------
    bearings
        How many there are.
    again
        For the indices that are kept, the place they give.

    Returns
    -------
    index, place
        None and None where no bearing or more than one would do.
    """
    found: list[tuple[int, P]] = []
    for out in range(bearings):
        try:
            rest = again([k for k in range(bearings) if k != out])
        except Complaint:
            continue
        if rest.p_value is not None and rest.p_value >= AGREEMENT_FROM:
            found.append((out, rest))
    return found[0] if len(found) == 1 else (None, None)


def check_bearings(
    places: ArrayLike, azimuth_deg: ArrayLike, sd_deg: ArrayLike
) -> tuple[Array, Array, Array]:
    """Places (n, 2), azimuths (n,) and sds (n,) as arrays, one sd spread over all bearings.

    Raises
    ------
    ValueComplaint
        They are not equally many, or a value is not finite or no standard deviation.
    """
    where = np.asarray(places, dtype=np.float64).reshape(-1, 2)
    azimuth = np.atleast_1d(np.asarray(azimuth_deg, dtype=np.float64)).ravel()
    if len(where) != len(azimuth):
        raise ValueComplaint(
            f"there are {len(where)} places and {len(azimuth)} bearings", "Give one bearing for every place"
        )
    sd = np.broadcast_to(np.asarray(sd_deg, dtype=np.float64), azimuth.shape).copy()
    if not (np.isfinite(where).all() and np.isfinite(azimuth).all() and np.isfinite(sd).all()):
        raise ValueComplaint("a place or a bearing is not a number", "Correct it or leave it out")
    if (sd <= 0).any():
        raise ValueComplaint("a bearing has no scatter", "Give a standard deviation of more than 0 degrees")
    return where, azimuth, sd


def _cross(first: Array, second: Array) -> float:
    return float(first[0] * second[1] - first[1] * second[0])


def _crossing_deg(first_deg: float, second_deg: float) -> float:
    between = abs(first_deg - second_deg) % 180.0
    return min(between, 180.0 - between)
