"""Stations held by what is known of some of them: places, and markers met again.

The reckoned stations are jointly normal, with a covariance in which whatever the legs share is
whole. Where the start lies is open. Knowing a few stations then moves all the others, and says how
sure each is; this is exact while places, not bearings, are what is known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.bearings.sightings import chance_of
from pacewright.core.way.frames import ASSUMED_PACE_M
from pacewright.core.way.observations import MARKER_SD_M, marker_ties
from pacewright.core.way.reckoning import Reckoning
from pacewright.exceptions import MissingComplaint

Array = NDArray[np.float64]
Indexes = NDArray[np.intp]

_STATIONS_AT_ONCE: Final = 2000


@dataclass(frozen=True, slots=True)
class Hold:
    """What is known of a station, or of one station as seen from another.

    Attributes
    ----------
    station
        The station.
    east, north
        Where it is; with `seen_from`, where it is from there. In the reckoning's unit and north.
    sd
        Standard deviation of each.
    seen_from
        Another station, or None where the place itself is known.
    """

    station: int
    east: float
    north: float
    sd: float
    seen_from: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class HeldStations:
    """The stations after holding.

    Attributes
    ----------
    place, covariance
        Shape (n + 1, 2) and (n + 1, 2, 2).
    misfit2
        How far what is known disagrees with the log, squared, in standard deviations.
    freedom
        How many numbers were left to disagree: twice the holds, less the two of the start.
    """

    place: Array
    covariance: Array
    misfit2: float
    freedom: int

    @property
    def chance(self) -> float:
        """The chance of at least this disagreement under ordinary scatter; 1 where nothing can disagree."""
        chance = chance_of(self.misfit2, self.freedom)
        return 1.0 if chance is None else chance


def hold(reckoning: Reckoning, holds: Sequence[Hold]) -> HeldStations:
    """Give all stations where some are known.

    Parameters
    ----------
    reckoning
        The log reckoned in the frame of the known places.
    holds
        At least one that is not seen from another station.

    Raises
    ------
    MissingComplaint
        No hold says where any station is.

    References
    ----------
    Best linear unbiased prediction with an unknown mean (universal kriging): N. Cressie, Statistics for
    Spatial Data (1993), section 3.4 (from memory).
    """
    if not any(one.seen_from is None for one in holds):
        raise MissingComplaint(
            "no station of the log is at a known place", "Name one that is, the start for example"
        )
    at = np.array([one.station for one in holds])
    from_ = np.array([-1 if one.seen_from is None else one.seen_from for one in holds])
    is_place = from_ < 0
    gap = _gaps(reckoning, holds, at, from_, is_place)
    spread = _observed_covariance(reckoning, at, from_, is_place)
    spread += np.diag(np.repeat([one.sd**2 for one in holds], 2))
    design = np.kron(is_place.astype(float)[:, None], np.eye(2))
    solved = np.linalg.solve(spread, np.column_stack([gap, design]))
    shift_covariance = np.linalg.inv(design.T @ solved[:, 1:])
    shift = shift_covariance @ (design.T @ solved[:, 0])
    rest = solved[:, 0] - solved[:, 1:] @ shift
    misfit2 = float((gap - design @ shift) @ rest)
    place, covariance = _predict(
        reckoning, at, from_, is_place, spread, design, shift, shift_covariance, rest
    )
    return HeldStations(place, covariance, max(0.0, misfit2), 2 * len(holds) - 2)


def find_ties(reckoning: Reckoning) -> list[Hold]:
    """Give the holds that markers met again make: each later visit is where the first one was."""
    sd = MARKER_SD_M if reckoning.frame.unit == "metre" else MARKER_SD_M / ASSUMED_PACE_M
    return [Hold(tie.second, 0.0, 0.0, tie.sd, tie.first) for tie in marker_ties(reckoning.names, sd)]


def _gaps(
    reckoning: Reckoning, holds: Sequence[Hold], at: Indexes, from_: Indexes, is_place: NDArray[np.bool_]
) -> Array:
    reckoned = reckoning.place[at] - np.where(is_place[:, None], 0.0, reckoning.place[np.maximum(from_, 0)])
    known = np.array([(one.east, one.north) for one in holds])
    gap: Array = (known - reckoned).ravel()
    return gap


def _joint(reckoning: Reckoning, rows: Indexes, columns: Indexes) -> Array:
    """Give Cov(P_row, P_column) for every pair, shape (r, 2, c, 2)."""
    nearer = np.minimum(rows[:, None], columns[None, :])
    joint = reckoning.own_sum[nearer].transpose(0, 2, 1, 3).copy()
    for term in reckoning.shared:
        joint += term.variance * term.lever[rows][:, :, None, None] * term.lever[columns][None, None, :, :]
    return joint


def _with_observed(
    reckoning: Reckoning, rows: Indexes, at: Indexes, from_: Indexes, is_place: NDArray[np.bool_]
) -> Array:
    """Give Cov(P_row, what was observed), shape (r, 2, m, 2)."""
    seen_from = _joint(reckoning, rows, np.maximum(from_, 0))
    seen_from[:, :, is_place, :] = 0.0
    crossed: Array = _joint(reckoning, rows, at) - seen_from
    return crossed


def _observed_covariance(
    reckoning: Reckoning, at: Indexes, from_: Indexes, is_place: NDArray[np.bool_]
) -> Array:
    of_ends = _with_observed(reckoning, at, at, from_, is_place)
    of_origins = _with_observed(reckoning, np.maximum(from_, 0), at, from_, is_place)
    of_origins[is_place] = 0.0
    size = 2 * len(at)
    observed: Array = (of_ends - of_origins).reshape(size, size)
    return observed


def _predict(
    reckoning: Reckoning,
    at: Indexes,
    from_: Indexes,
    is_place: NDArray[np.bool_],
    spread: Array,
    design: Array,
    shift: Array,
    shift_covariance: Array,
    rest: Array,
) -> tuple[Array, Array]:
    place, covariance = reckoning.place + shift, reckoning.covariances()
    for start in range(0, len(place), _STATIONS_AT_ONCE):
        rows = np.arange(start, min(start + _STATIONS_AT_ONCE, len(place)))
        crossed = _with_observed(reckoning, rows, at, from_, is_place).reshape(2 * len(rows), -1)
        gain = np.linalg.solve(spread, crossed.T).T
        place[rows] += (crossed @ rest).reshape(-1, 2)
        open_part = (np.tile(np.eye(2), (len(rows), 1)) - gain @ design).reshape(-1, 2, 2)
        covariance[rows] -= np.einsum(
            "nim,njm->nij", gain.reshape(len(rows), 2, -1), crossed.reshape(len(rows), 2, -1)
        )
        covariance[rows] += open_part @ shift_covariance @ open_part.transpose(0, 2, 1)
    return place, covariance
