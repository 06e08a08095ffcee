"""How long this traveller's legs are, and, if asked, which way they go.

The lengths are taken as lognormal with a mean and a scatter learnt from the log itself: a leg that a
slip would leave far from the others is that much less likely to be what stood on the page.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

USUAL_LEG_M: Final = 400.0
"""Where a log says little: legs of some 400 m, each a factor of 2.2 about it (assumed)."""
USUAL_SPREAD: Final = 0.8
GENERAL_SD_DEG: Final = 45.0
GENERAL_SHARE: Final = 0.8
"""Of an open log's legs, four in five go within 45 degrees (one sd) of its general direction, the fifth
anywhere (assumed)."""
LOOP_SD_DEG: Final = 30.0
LOOP_SHARE: Final = 0.95
"""Of a loop's legs nearly all keep to its steady turn, within 30 degrees (assumed)."""


@dataclass(frozen=True, slots=True, eq=False)
class LengthPrior:
    """Log-lengths as a normal sample whose mean and variance are not known.

    Attributes
    ----------
    log_length
        Of the legs as written, shape (n,).
    counts
        Which of them tell of the traveller's legs: all but the offsets of detours, shape (n,).
    usual, spread
        Mean and standard deviation of the log-length expected beforehand.
    legs_behind_usual, legs_behind_spread
        How many legs each of them is worth; large for a traveller whose legs are well known.

    References
    ----------
    Normal sample with conjugate prior: Gelman et al., Bayesian Data Analysis, sec. 3.3 (from memory).
    """

    log_length: Array
    counts: NDArray[np.bool_]
    usual: float
    spread: float = USUAL_SPREAD
    legs_behind_usual: float = 1.0
    legs_behind_spread: float = 6.0

    def log_ratio(self, leg: NDArray[np.int64], log_length: Array) -> Array:
        """How much likelier the log's lengths are with a leg changed, as a logarithm.

        Parameters
        ----------
        leg
            The changed leg of each trial, from 0, shape (h,).
        log_length
            Its length instead, shape (h,).
        """
        old = self.log_length[leg]
        known = self.log_length[self.counts]
        counted = self.counts[leg]
        total = known.sum() + np.where(counted, log_length - old, 0.0)
        squares = (known**2).sum() + np.where(counted, log_length**2 - old**2, 0.0)
        shape = (self.legs_behind_spread + known.size) / 2.0
        changed: Array = -shape * np.log(self._scatter(total, squares) / self._scatter_as_written())
        # A density of lengths, not of their logarithms.
        changed -= log_length - old
        return np.where(counted, changed, 0.0)

    def log_density(self, length: ArrayLike) -> Array:
        """The log density of one more leg's length.

        Taken as lognormal: the heavier tails of a scatter learnt from few legs would make legs of no
        length at all the likeliest.
        """
        mean, scale, _ = self._predictive()
        log_length = np.log(np.maximum(np.asarray(length, dtype=np.float64), 1e-9))
        z = (log_length - mean) / scale
        density: Array = -0.5 * z**2 - math.log(scale * math.sqrt(2.0 * math.pi)) - log_length
        return density

    def mean_square(self) -> float:
        """The mean square length of one more leg."""
        mean, scale, _ = self._predictive()
        return math.exp(2.0 * mean + 2.0 * min(scale, 1.2) ** 2)

    def _scatter(self, total: ArrayLike, squares: ArrayLike) -> Array:
        n = np.count_nonzero(self.counts)
        mean = np.asarray(total) / max(1, n)
        within = np.asarray(squares) - n * mean**2
        between = self.legs_behind_usual * n / (self.legs_behind_usual + n) * (mean - self.usual) ** 2
        scatter: Array = self.legs_behind_spread * self.spread**2 + within + between
        return scatter

    def _scatter_as_written(self) -> float:
        known = self.log_length[self.counts]
        return float(self._scatter(known.sum(), (known**2).sum()))

    def _predictive(self) -> tuple[float, float, float]:
        known = self.log_length[self.counts]
        weight = self.legs_behind_usual + known.size
        mean = (self.legs_behind_usual * self.usual + float(known.sum())) / weight
        freedom = self.legs_behind_spread + known.size
        variance = self._scatter_as_written() / freedom * (1.0 + 1.0 / weight)
        return mean, math.sqrt(variance), freedom


@dataclass(frozen=True, slots=True, eq=False)
class RoutePrior:
    """Which way a leg is expected to go: about the general direction, or round a loop.

    Attributes
    ----------
    expected_rad
        For every leg, what the others let expect, shape (n,); not a number for offsets of a detour.
    between_rad
        The same for a leg missing after each station, shape (n + 1,).
    sd_rad, share
        Scatter of the legs that keep to it, and their share; the others go anywhere.
    azimuth_rad
        As written, shape (n,).
    """

    expected_rad: Array
    between_rad: Array
    sd_rad: float
    share: float
    azimuth_rad: Array

    def log_ratio(self, leg: NDArray[np.int64], azimuth_rad: Array) -> Array:
        """How much likelier a leg's azimuth is when changed, as a logarithm, shape (h,)."""
        expected = self.expected_rad[leg]
        ratio: Array = self._log_density(azimuth_rad - expected)
        ratio -= self._log_density(self.azimuth_rad[leg] - expected)
        return np.where(np.isnan(ratio), 0.0, ratio)

    def log_density(self, station: int, azimuth_rad: Array) -> Array:
        """The log density of the azimuth of a leg missing after a station."""
        return self._log_density(azimuth_rad - self.between_rad[station])

    def _log_density(self, off_rad: Array) -> Array:
        off = (off_rad + np.pi) % (2.0 * np.pi) - np.pi
        steady = np.exp(-0.5 * (off / self.sd_rad) ** 2) / (math.sqrt(2.0 * np.pi) * self.sd_rad)
        density: Array = np.log(self.share * steady + (1.0 - self.share) / (2.0 * np.pi))
        return density


def fit_length_prior(length: Array, counts: NDArray[np.bool_], units_per_metre: float) -> LengthPrior:
    """Fit the prior of lengths to the legs of a log that count, in the units of its frame."""
    return LengthPrior(log_lengths(length), counts, math.log(USUAL_LEG_M * units_per_metre))


def log_lengths(length: ArrayLike) -> Array:
    """The logarithms of lengths, a leg of no length counted as half a unit."""
    logs: Array = np.log(np.maximum(np.asarray(length, dtype=np.float64), 0.5))
    return logs


def fit_route_prior(azimuth_rad: Array, closes: bool, counts: NDArray[np.bool_]) -> RoutePrior:
    """Fit the general direction of a log, or the steady turn of one that comes back to its start.

    Parameters
    ----------
    azimuth_rad
        Of the legs as written, shape (n,).
    closes
        True where the last station is the start again.
    counts
        Which legs tell of the route: all but the offsets of detours, shape (n,).
    """
    progress = np.cumsum(counts) - 1.0
    whole = max(1.0, float(np.count_nonzero(counts)))
    senses = (1.0, -1.0) if closes else (0.0,)
    fits = []
    for sense in senses:
        turn_rad = sense * 2.0 * np.pi * progress / whole
        vectors = np.where(counts, np.exp(1j * (azimuth_rad - turn_rad)), 0.0)
        fits.append((abs(vectors.sum()), sense, turn_rad, vectors))
    _, sense, turn_rad, vectors = max(fits, key=lambda fit: fit[0])
    # What one leg is held against leaves that leg itself out.
    expected = np.angle(vectors.sum() - vectors) + turn_rad
    between = np.angle(vectors.sum()) + sense * 2.0 * np.pi * (np.append(progress, whole) - 0.5) / whole
    sd_deg, share = (LOOP_SD_DEG, LOOP_SHARE) if closes else (GENERAL_SD_DEG, GENERAL_SHARE)
    expected = np.where(counts, expected, np.nan)
    return RoutePrior(expected, between, math.radians(sd_deg), share, azimuth_rad)
