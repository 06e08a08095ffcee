"""The compass rule and the transit rule as the textbooks give them: a traverse worked by hand.

A leg's latitude is its north part, its departure its east part. The sums of both should equal the way
from the start to the point closed on, nothing for a loop; what they miss is shared out among the legs:
by length in the compass (Bowditch) rule, by the size of the part itself in the transit rule.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.core.compass import direction_deg, unit_vectors
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]

TraverseRule = Literal["compass", "transit"]
ORIGIN: Final = (0.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Traverse:
    """A traverse adjusted by one of the textbook rules; lengths in the unit they came in.

    Attributes
    ----------
    rule
        `compass` or `transit`.
    azimuth_deg, length
        Of every leg as measured, shape (n,).
    departure, latitude
        East and north part of every leg, shape (n,).
    start, close_on
        East and north of the first point, and of the one the last leg should end at.
    misclosure_east, misclosure_north
        Where the legs as measured end, less where they should.
    departure_correction, latitude_correction
        Added to every leg, shape (n,); they sum to the misclosure with its sign turned.
    adjusted_departure, adjusted_latitude, adjusted_azimuth_deg, adjusted_length
        The legs after it, shape (n,).
    east, north
        Adjusted coordinates of every point, the start first, shape (n + 1,).
    """

    rule: TraverseRule
    azimuth_deg: Array
    length: Array
    departure: Array
    latitude: Array
    start: tuple[float, float]
    close_on: tuple[float, float]
    misclosure_east: float
    misclosure_north: float
    departure_correction: Array
    latitude_correction: Array
    adjusted_departure: Array
    adjusted_latitude: Array
    adjusted_azimuth_deg: Array
    adjusted_length: Array
    east: Array
    north: Array

    @property
    def perimeter(self) -> float:
        """The legs' lengths together."""
        return float(self.length.sum())

    @property
    def misclosure(self) -> float:
        """The length of the gap: the linear misclosure."""
        return math.hypot(self.misclosure_east, self.misclosure_north)

    @property
    def area(self) -> float | None:
        """The area that the adjusted figure encloses, in its unit squared; None where it is no loop.

        References
        ----------
        Area by coordinates (common practice of surveyors; C. F. Gauss's formula).
        """
        if self.start != self.close_on or len(self.length) < 3:
            return None
        twice = self.east[:-1] @ self.north[1:] - self.east[1:] @ self.north[:-1]
        return abs(float(twice)) / 2

    @property
    def misclosure_azimuth_deg(self) -> float:
        """The direction from where the traverse should end to where it ends as measured."""
        return direction_deg(self.misclosure_east, self.misclosure_north)

    @property
    def ratio(self) -> float | None:
        """The n of 1:n, perimeter over misclosure; None where nothing is missed."""
        return self.perimeter / self.misclosure if self.misclosure > 0 else None


def departures_latitudes(azimuth_deg: ArrayLike, length: ArrayLike) -> tuple[Array, Array]:
    """The east and the north part of every leg.

    Parameters
    ----------
    azimuth_deg, length
        Of every leg, shape (n,).

    Raises
    ------
    ValueComplaint
        A value is no azimuth or no length, or the two are not equally many.

    Examples
    --------
    >>> departure, latitude = departures_latitudes([90, 180], [10, 5])
    >>> departure.tolist(), latitude.tolist()
    ([10.0, 0.0], [0.0, -5.0])
    """
    azimuth, lengths = _column("azimuths", azimuth_deg), _column("lengths", length)
    _check_lengths(lengths, azimuth.size)
    east, north = unit_vectors(azimuth)
    return east * lengths, north * lengths


def closing_side(departure: ArrayLike, latitude: ArrayLike) -> tuple[float, float]:
    """Azimuth and length of the side that closes a loop whose other sides are known.

    Parameters
    ----------
    departure, latitude
        East and north parts of the known sides, or their sums.

    Examples
    --------
    >>> azimuth_deg, length = closing_side([0, -30], [40, 0])
    >>> round(azimuth_deg, 2), length
    (143.13, 50.0)
    """
    east = -float(_column("departures", departure).sum())
    north = -float(_column("latitudes", latitude).sum())
    return direction_deg(east, north), math.hypot(east, north)


def adjust_traverse(
    azimuth_deg: ArrayLike,
    length: ArrayLike,
    *,
    rule: TraverseRule = "compass",
    start: tuple[float, float] = ORIGIN,
    close_on: tuple[float, float] | None = None,
) -> Traverse:
    """Adjust a traverse given by azimuths and lengths.

    Parameters
    ----------
    azimuth_deg, length
        Of every leg, shape (n,).
    rule
        `compass` shares the misclosure out by length, `transit` by latitude and departure.
    start, close_on
        East and north of the first point and of the point closed on; by default the start, a loop.

    Raises
    ------
    ValueComplaint
        A value is no azimuth or no length, or the rule has nothing to share the misclosure out by.

    References
    ----------
    NAVEDTRA 14069, ch. 13; Wolf & Ghilani, Elementary Surveying (from memory).

    Examples
    --------
    >>> square = adjust_traverse([0, 90, 180, 270], [100, 100, 100, 104])
    >>> square.misclosure_east, square.ratio, square.departure_correction.round(2).tolist()
    (-4.0, 101.0, [0.99, 0.99, 0.99, 1.03])
    """
    departure, latitude = departures_latitudes(azimuth_deg, length)
    measured = _column("azimuths", azimuth_deg), _column("lengths", length)
    return _adjust(measured, departure, latitude, rule, start, close_on)


def adjust_parts(
    departure: ArrayLike,
    latitude: ArrayLike,
    *,
    length: ArrayLike | None = None,
    rule: TraverseRule = "compass",
    start: tuple[float, float] = ORIGIN,
    close_on: tuple[float, float] | None = None,
) -> Traverse:
    """Adjust a traverse given by the departures and latitudes of its legs.

    Parameters
    ----------
    departure, latitude
        East and north part of every leg, shape (n,).
    length
        As measured, where the book gives them; else worked out from the parts.
    rule, start, close_on
        As in `adjust_traverse`.

    Raises
    ------
    ValueComplaint
        As in `adjust_traverse`.
    """
    east, north = _column("departures", departure), _column("latitudes", latitude)
    if east.size != north.size:
        raise ValueComplaint(
            f"there are {east.size} departures and {north.size} latitudes", "Give both for every leg"
        )
    lengths = np.hypot(east, north) if length is None else _column("lengths", length)
    _check_lengths(lengths, east.size)
    return _adjust((_azimuths(east, north), lengths), east, north, rule, start, close_on)


def _adjust(
    measured: tuple[Array, Array],
    departure: Array,
    latitude: Array,
    rule: TraverseRule,
    start: tuple[float, float],
    close_on: tuple[float, float] | None,
) -> Traverse:
    azimuth_deg, length = measured
    goal = start if close_on is None else close_on
    for name, value in (("start", start), ("point closed on", goal)):
        if not all(math.isfinite(part) for part in value):
            raise ValueComplaint(f"the {name} has no place", "Give east and north as numbers")
    missed_east = float(departure.sum()) - (goal[0] - start[0])
    missed_north = float(latitude.sum()) - (goal[1] - start[1])
    by_east, by_north = (length, length) if rule == "compass" else (np.abs(departure), np.abs(latitude))
    east_correction = _share_out(-missed_east, by_east, "departure", rule)
    north_correction = _share_out(-missed_north, by_north, "latitude", rule)
    east, north = departure + east_correction, latitude + north_correction
    still = (east == 0) & (north == 0)
    return Traverse(
        rule=rule,
        azimuth_deg=azimuth_deg,
        length=length,
        departure=departure,
        latitude=latitude,
        start=start,
        close_on=goal,
        misclosure_east=missed_east,
        misclosure_north=missed_north,
        departure_correction=east_correction,
        latitude_correction=north_correction,
        adjusted_departure=east,
        adjusted_latitude=north,
        # A leg of no length keeps the azimuth it was read with.
        adjusted_azimuth_deg=np.where(still, azimuth_deg, _azimuths(east, north)),
        adjusted_length=np.hypot(east, north),
        east=start[0] + np.concatenate([[0.0], np.cumsum(east)]),
        north=start[1] + np.concatenate([[0.0], np.cumsum(north)]),
    )


def _share_out(missing: float, by: Array, part: str, rule: TraverseRule) -> Array:
    total = float(by.sum())
    if total > 0:
        return missing * by / total
    if missing == 0:
        return np.zeros_like(by)
    nothing = "no leg has a length" if rule == "compass" else f"no leg has a {part}"
    raise ValueComplaint(
        f"the traverse does not close and {nothing}, so the {rule} rule cannot share the misclosure out",
        "Give the legs their lengths" if rule == "compass" else "Take the compass rule",
    )


def _azimuths(east: Array, north: Array) -> Array:
    return np.array([direction_deg(e, n) for e, n in zip(east.tolist(), north.tolist(), strict=True)])


def _column(name: str, values: ArrayLike) -> Array:
    column = np.atleast_1d(np.asarray(values, dtype=np.float64)).ravel()
    if column.size == 0:
        raise ValueComplaint(f"there are no {name}", "Give one for every leg")
    if not np.isfinite(column).all():
        raise ValueComplaint(f"one of the {name} is not a number", "Correct it or leave that leg out")
    return column


def _check_lengths(length: Array, legs: int) -> None:
    if length.size != legs:
        raise ValueComplaint(
            f"there are {legs} legs and {length.size} lengths", "Give one length for every leg"
        )
    if (length < 0).any():
        raise ValueComplaint("a length is less than nothing", "Write lengths of 0 and more")
