"""What a track tells of compass and pace count, with where the stations lie left open.

Where exactly a station lies along the track is not known, least of all on a straight stretch. To take
the likeliest places for the true ones would make every leg look as the walker's figures say. So the
figures are those that make the track most probable, summed over all the places where the stations
near it may lie.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SCATTER_FREE: Final = 1.0
"""The walker's scatter may be another by a factor of e, one standard deviation (chosen, to keep a short
log from telling that there is none)."""

ODD_SHARE: Final = 0.02
ODD_WIDTH: Final = 0.5
"""One leg in fifty is taken to hold a mistake, which may put it off by half its length (assumed)."""

_SCALE_LIMITS: Final = (-50.0, 50.0)
_LIMITS: Final = ((-30.0, 30.0), _SCALE_LIMITS, (-3.0, 2.0), (-3.0, 2.0))
_SCALE_STEP: Final = 0.2
_STEP: Final = (0.1, _SCALE_STEP, 0.05, 0.05)
"""Steps of numerical derivatives: degrees, hundredths, and logarithms of the two scatters."""

TURN: Final = 0
COUNT_SCATTER: Final = 2
AZIMUTH_SCATTER: Final = 3
"""Where a figure stands among all; for the scales ask `scale_rows`."""


@dataclass(frozen=True, slots=True, eq=False)
class Windows:
    """Places where the stations may lie: k of them for each, and what does not depend on the figures.

    Attributes
    ----------
    ratio, turn_rad
        Every chord: its length over the leg's, and its turn from the leg's azimuth, clockwise, (n, k, k).
    fixed
        Cost of a chord by the track's bow; infinite where its ends are in the wrong order, (n, k, k).
    node
        Cost of a place by itself, (n + 1, k).
    count_more, turn_more
        Relative variance along and across that is not the walker's usual scatter: what the track
        adds, rounding, boxes, estimates, (n,).
    count_sd, turn_sd_rad
        The walker's usual scatter, relative.
    turn_free_rad
        What the compass may be off all day.
    ground
        On which ground each leg lies, the ordinary one being 0, (n,).
    scale_prior
        Covariance of what the pace counts on those grounds may be off all day, (g, g).
    """

    ratio: Array
    turn_rad: Array
    fixed: Array
    node: Array
    count_more: Array
    turn_more: Array
    count_sd: float
    turn_sd_rad: float
    turn_free_rad: float
    ground: NDArray[np.intp]
    scale_prior: Array

    def costs(self, figures: Array) -> tuple[Array, Array]:
        """The cost of every chord, shape (n, k, k), and the chance that it holds a mistake."""
        turn_rad, scale, count_variance, turn_variance = self._read(figures)
        scale = scale[:, None, None]
        along2 = (np.exp(-scale) * self.ratio - 1.0) ** 2
        across2 = (self.turn_rad - turn_rad) ** 2
        v, w = count_variance[:, None, None], turn_variance[:, None, None]
        usual = along2 / v + across2 / w + np.log(v * w) - 2.0 * math.log(1.0 - ODD_SHARE)
        v, w = v + ODD_WIDTH**2, w + ODD_WIDTH**2
        odd = along2 / v + across2 / w + np.log(v * w) - 2.0 * math.log(ODD_SHARE)
        least = np.minimum(usual, odd)
        both = least - 2.0 * np.log1p(np.exp(-np.abs(usual - odd) / 2.0))
        return both + 2.0 * scale + self.fixed, np.exp((both - odd) / 2.0)

    def prior_cost(self, figures: Array) -> float:
        """What it costs to leave the walker's own figures."""
        return float(figures @ np.linalg.solve(self.prior(), figures))

    def prior(self) -> Array:
        """The covariance of the figures before the track is asked, about nothing off."""
        rows = scale_rows(len(self.scale_prior))
        covariance = np.diag(np.full(3 + len(rows), SCATTER_FREE**2))
        covariance[TURN, TURN] = math.degrees(self.turn_free_rad) ** 2
        covariance[np.ix_(rows, rows)] = 1e4 * self.scale_prior
        return covariance

    def _read(self, figures: Array) -> tuple[float, Array, Array, Array]:
        count_sd = self.count_sd * math.exp(figures[COUNT_SCATTER])
        turn_sd_rad = self.turn_sd_rad * math.exp(figures[AZIMUTH_SCATTER])
        scale = figures[scale_rows(len(self.scale_prior))] / 100.0
        return (
            math.radians(figures[TURN]),
            scale[self.ground],
            count_sd**2 + self.count_more,
            turn_sd_rad**2 + self.turn_more,
        )


def scale_rows(grounds: int) -> list[int]:
    """Where the scales of so many grounds stand among the figures, the ordinary ground first.

    >>> scale_rows(3)
    [1, 4, 5]
    """
    return [1, *range(4, 3 + grounds)]


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """What the track tells.

    Attributes
    ----------
    figures
        Turn in degrees, scale in hundredths of a logarithm, logarithms of the scatter of counts and of
        azimuths over the walker's usual; then the scales on further grounds, shape (f,).
    covariance, prior
        Their covariance now and before the track was asked, shape (f, f).
    share
        How likely each station lies at each place, shape (n + 1, k).
    chosen
        The likeliest way to lay all, shape (n + 1,).
    odd
        For every leg as chosen, the chance that it holds a mistake.
    """

    figures: Array
    covariance: Array
    prior: Array
    share: Array
    chosen: NDArray[np.intp]
    odd: Array

    @property
    def sd(self) -> Array:
        """Standard deviations of the figures, shape (f,)."""
        deviation: Array = np.sqrt(np.diag(self.covariance))
        return deviation


def fit_figures(windows: Windows) -> Fit:
    """The figures under which the track is most probable, and how sure they are."""
    from scipy.optimize import minimize

    def cost(figures: Array) -> float:
        between, _ = windows.costs(figures)
        return windows.prior_cost(figures) / 2.0 - _log_chance(between, windows.node)

    more = len(windows.scale_prior) - 1
    limits = (*_LIMITS, *(_SCALE_LIMITS for _ in range(more)))
    found = minimize(
        cost, np.zeros(4 + more), method="L-BFGS-B", bounds=limits, options={"ftol": 1e-7, "maxiter": 60}
    )
    figures = np.asarray(found.x, dtype=np.float64)
    between, odd = windows.costs(figures)
    chosen = likeliest(between, windows.node)
    legs = np.arange(len(between))
    return Fit(
        figures=figures,
        covariance=_covariance(cost, figures, (*_STEP, *(_SCALE_STEP for _ in range(more)))),
        prior=windows.prior(),
        share=_shares(between, windows.node),
        chosen=chosen,
        odd=odd[legs, chosen[:-1], chosen[1:]],
    )


def track_alone(fit: Fit) -> tuple[Array, Array]:
    """The figures that the track alone tells, and their covariance: what was believed is taken out.

    Where the track tells next to nothing the variance is a hundred times that believed.
    """
    root = np.linalg.cholesky(fit.prior)
    inverse = np.linalg.inv(fit.covariance)
    values, vectors = np.linalg.eigh(root.T @ inverse @ root)
    spread = root @ vectors
    covariance: Array = (spread / np.maximum(values - 1.0, 0.01)) @ spread.T
    return covariance @ inverse @ fit.figures, covariance


def likeliest(between: Array, node: Array) -> NDArray[np.intp]:
    """The cheapest way through: one place of each station, shape (n + 1,)."""
    best, came_from = node[0], []
    for leg, cost in enumerate(between):
        total = best[:, None] + cost
        came_from.append(total.argmin(axis=0))
        best = total.min(axis=0) + node[leg + 1]
    chosen = [int(best.argmin())]
    for back in reversed(came_from):
        chosen.append(int(back[chosen[-1]]))
    return np.array(chosen[::-1])


def _log_chance(between: Array, node: Array) -> float:
    weight, total = -node[0] / 2.0, 0.0
    chances = _scaled(between)
    for leg, (chance, least) in enumerate(zip(*chances, strict=True)):
        most = weight.max()
        summed = np.exp(weight - most) @ chance
        with np.errstate(divide="ignore"):
            weight = np.log(summed) - node[leg + 1] / 2.0
        total += most - least / 2.0
    most = weight.max()
    return float(total + most + math.log(float(np.exp(weight - most).sum())))


def _scaled(between: Array) -> tuple[Array, Array]:
    least = between.min(axis=(1, 2))
    return np.exp((least[:, None, None] - between) / 2.0), least


def _shares(between: Array, node: Array) -> Array:
    """How likely each place is, forward and backward over all ways."""
    chance, _ = _scaled(between)
    at_node = np.exp((node.min(axis=1, keepdims=True) - node) / 2.0)
    forward, backward = [at_node[0]], [np.ones(node.shape[1])]
    for leg in range(len(chance)):
        ahead = (forward[-1] @ chance[leg]) * at_node[leg + 1]
        forward.append(ahead / ahead.sum())
    for leg in reversed(range(len(chance))):
        behind = chance[leg] @ (at_node[leg + 1] * backward[-1])
        backward.append(behind / behind.sum())
    share: Array = np.stack(forward) * np.stack(backward[::-1])
    share /= share.sum(axis=1, keepdims=True)
    return share


def _covariance(cost: Callable[[Array], float], figures: Array, steps: tuple[float, ...]) -> Array:
    """The covariance of the figures from the curvature of the cost at its least."""
    size = len(figures)
    step = np.diag(steps)
    curved = np.empty((size, size))
    middle = cost(figures)
    for i in range(size):
        up, down = cost(figures + step[i]), cost(figures - step[i])
        curved[i, i] = (up - 2.0 * middle + down) / steps[i] ** 2
        for j in range(i):
            corners = [
                cost(figures + a * step[i] + b * step[j]) for a, b in ((1, 1), (1, -1), (-1, 1), (-1, -1))
            ]
            curved[i, j] = curved[j, i] = (corners[0] - corners[1] - corners[2] + corners[3]) / (
                4.0 * steps[i] * steps[j]
            )
    values, vectors = np.linalg.eigh(curved)
    # Where the cost is flat the prior still bounds it.
    values = np.maximum(values, 1e-4)
    covariance: Array = (vectors / values) @ vectors.T
    return covariance
