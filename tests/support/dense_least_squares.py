"""The adjustment once more, by brute force: every station unknown, one dense matrix, no folding.

Written without the tool's own code and in other coordinates: places on the map instead of the figure
as walked, and every derivative by a complex step instead of by hand, so that neither can hide a
fault of the other. For a few hundred to a thousand legs.

Complex-step derivatives: W. Squire and G. Trapp, SIAM Review 40, 1998 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np


@dataclass
class Solved:
    """Stations (n + 1, 2), their covariances, landmarks, shared unknowns and the weighted sum of squares.

    `joint` is the covariance of all unknowns: stations from the second, landmarks, shared unknowns.
    """

    place: np.ndarray
    covariance: np.ndarray
    landmarks: dict
    shared: np.ndarray
    misfit2: float
    joint: np.ndarray


@dataclass
class Dense:
    """What was observed; all places in one unit, all angles in radians.

    `steps` (n, 2) and `own` (n, 2, 2) are the legs as read; `ties` (first, second, sd); `fixes`
    (station, east, north, sd); `known` landmarks by name (east, north, sd); `bearings` (station,
    target, azimuth, sd), the target a station or a landmark's name; `backs` (leg from 0, azimuth, sd).
    `grounds` are leg masks with the sd of their scale. `as_walked` leaves compass and pace as they are:
    bearings alone then turn, by the handling bias. Fixes and known landmarks are counted from station
    `origin`, whose own place is known to `origin_sd` (the last two shared unknowns).
    """

    steps: np.ndarray
    own: np.ndarray
    instrument_sd: float
    handling_sd: float
    scale_sd: float
    ties: list = field(default_factory=list)
    fixes: list = field(default_factory=list)
    known: dict = field(default_factory=dict)
    unknown: list = field(default_factory=list)
    bearings: list = field(default_factory=list)
    backs: list = field(default_factory=list)
    grounds: list = field(default_factory=list)
    origin: int = 0
    origin_sd: float = 0.0
    as_walked: bool = False

    def __post_init__(self) -> None:
        self.whiten = np.linalg.inv(np.linalg.cholesky(self.own))

    @property
    def landmarks(self) -> list:
        return [*self.known, *self.unknown]

    def shared_priors(self) -> np.ndarray:
        return np.array(
            [
                self.instrument_sd,
                self.handling_sd,
                self.scale_sd,
                *(sd for _, sd in self.grounds),
                *([self.origin_sd] * 2 if self.origin_sd else []),
            ]
        )

    def residuals(self, z: np.ndarray) -> np.ndarray:
        """Every misfit over its standard deviation; `z` holds places, landmarks, shared unknowns."""
        n, extra = len(self.steps), len(self.landmarks)
        place = np.concatenate([np.zeros((1, 2)), z[: 2 * n].reshape(n, 2)])
        mark = dict(zip(self.landmarks, z[2 * n : 2 * (n + extra)].reshape(extra, 2), strict=True))
        shared = z[2 * (n + extra) :]
        instrument, handling, log_scale = shared[:3]
        legs_turn = 0.0 if self.as_walked else instrument + handling
        bearings_turn = -handling if self.as_walked else instrument
        cosine, sine, shrink = np.cos(legs_turn), np.sin(legs_turn), np.exp(-log_scale)
        turn_back = shrink * np.array([[cosine, -sine], [sine, cosine]])
        as_walked = np.diff(place, axis=0) @ turn_back.T
        longer = sum((mask * shared[3 + k] for k, (mask, _) in enumerate(self.grounds)), np.zeros(n))
        error = as_walked - self.steps * (1 + longer)[:, None]
        parts = [np.einsum("nij,nj->ni", self.whiten, error).ravel()]
        parts += [turn_back @ (place[j] - place[i]) / sd for i, j, sd in self.ties]
        start = -place[self.origin] + (shared[-2:] if self.origin_sd else 0.0)
        parts += [(start + place[k] - np.array([e, no])) / sd for k, e, no, sd in self.fixes]
        parts += [(start + mark[name] - np.array([e, no])) / sd for name, (e, no, sd) in self.known.items()]
        for station, target, azimuth, sd in self.bearings:
            towards = (mark[target] if isinstance(target, str) else place[target]) - place[station]
            true = azimuth + bearings_turn
            along = towards[0] * np.sin(true) + towards[1] * np.cos(true)
            across = towards[0] * np.cos(true) - towards[1] * np.sin(true)
            # arctan bears complex numbers; a bearing more than a quarter circle off would not.
            parts.append(np.array([np.arctan(across / along) / sd]))
        for leg, azimuth, sd in self.backs:
            length = np.hypot(*self.steps[leg])
            east, north = self.steps[leg] / length
            turned = (error[leg][0] * north - error[leg][1] * east) / length
            read = np.arctan2(east, north)
            told = np.mod(azimuth - np.pi - read + np.pi, 2 * np.pi) - np.pi
            # The leg's own turn and the handling bias are what a back azimuth sees of a leg.
            parts.append(np.array([(turned + handling - told) / sd]))
        sds = self.shared_priors()
        held = sds > 0
        parts.append(shared[held] / sds[held])
        return np.concatenate(parts)

    def solve(self, landmark_guess: dict | None = None, rounds: int = 60) -> Solved:
        """Find the figure that fits best, without the bearings first so as to begin near the truth."""
        n = len(self.steps)
        sds = self.shared_priors()
        places = [np.cumsum(self.steps, axis=0).ravel()]
        for name in self.landmarks:
            places.append(np.array(self.known.get(name, (landmark_guess or {}).get(name, (0, 0)))[:2]))
        z = np.concatenate([*places, np.zeros(sds.size)])
        free = np.concatenate([np.ones(z.size - sds.size, bool), sds > 0])
        spared, self.bearings = self.bearings, [] if not self.unknown else self.bearings
        for stage in range(2):
            for _ in range(rounds):
                misfit = self.residuals(z)
                jacobian = self._jacobian(z, free, misfit.size)
                step = np.linalg.solve(jacobian.T @ jacobian, -jacobian.T @ misfit)
                part = 1.0
                while part > 1e-6:
                    moved = z.copy()
                    moved[free] += part * step
                    if np.sum(self.residuals(moved) ** 2) <= np.sum(misfit**2) * (1 + 1e-12) + 1e-12:
                        break
                    part /= 2
                z = moved
                if np.abs(step).max() < 1e-10 * (1 + np.abs(z).max()):
                    break
            self.bearings = spared
            if stage == 0 and not spared:
                break
        inverse = np.linalg.inv(np.linalg.qr(self._jacobian(z, free, misfit.size), mode="r"))
        covariance = np.zeros((z.size, z.size))
        covariance[np.ix_(free, free)] = inverse @ inverse.T
        stations = np.concatenate([np.zeros((1, 2)), z[: 2 * n].reshape(n, 2)])
        spread = np.zeros((n + 1, 2, 2))
        for k in range(n):
            spread[k + 1] = covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2]
        marks = dict(zip(self.landmarks, z[2 * n : z.size - sds.size].reshape(-1, 2), strict=True))
        misfit2 = float(np.sum(self.residuals(z) ** 2))
        return Solved(stations, spread, marks, z[z.size - sds.size :], misfit2, covariance)

    def _jacobian(self, z: np.ndarray, free: np.ndarray, size: int) -> np.ndarray:
        # Only columns of what is free; each costs one evaluation with a tiny imaginary step.
        columns = np.flatnonzero(free)
        jacobian = np.empty((size, columns.size))
        for k, column in enumerate(columns):
            nudged = z.astype(complex)
            nudged[column] += 1e-30j
            jacobian[:, k] = self.residuals(nudged).imag / 1e-30
        return jacobian
