"""Where along a track each station of a log lies.

The stations are laid along the track in order, start and end free, so that the straight lines between
them are the legs and the track keeps to those lines. What compass and pace count are off all day is
set free and found on the way. First coarsely over the whole track, then finely about what was found:
dynamic programming both times, so that of all ways of laying them the likeliest is taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from pacewright.ground.track_path import PathPoints, TrackPath, bow

Array = NDArray[np.float64]
Indexes = NDArray[np.intp]

TURN_FREE_DEG: Final = 6.0
SCALE_FREE: Final = 0.10
"""How far compass and pace count may be off all day, beyond what the walker's figures allow, for a track
still to be matched (chosen: a declination left out, a pace count of another season)."""

BOW_EVERY_M: Final = 50.0
BOW_SD_M: Final = 5.0
BOW_SHARE: Final = 0.02
"""A walker strays from the line of the leg by so much, and by so much of the leg; independently every so
often (assumed)."""

REST_EVERY_M: Final = 500.0
REST_MOST: Final = 4.0
"""Track before the start or behind the end tells a little against a match, and never more than this."""

TIME_SD_S: Final = 90.0
"""A time is noted to the minute, and not on the minute (assumed)."""

_LEAST_POINTS: Final = 400
_MOST_POINTS: Final = 2_000
_POINTS_A_LEG: Final = 8
_FINE_POINTS: Final = 49
_FINE_ROUNDS: Final = (4.0, 3.0, 2.0, 1.0, 1.0)
"""Half widths of the windows, in coarse steps."""


@dataclass(frozen=True, slots=True, eq=False)
class LegVectors:
    """What a log says of its legs, in grid metres.

    Attributes
    ----------
    step
        East and north of every leg, shape (n, 2).
    own
        Covariance of its own scatter, shape (n, 2, 2).
    boxed_m
        How far aside each leg was walked round an obstacle.
    turn_sd_rad, scale_sd
        What compass and pace count may be off all day.
    time_s
        Of every station in the track's time, shape (n + 1,); not a number where it is not known.
    """

    step: Array
    own: Array
    boxed_m: Array
    turn_sd_rad: float
    scale_sd: float
    time_s: Array


@dataclass(frozen=True, slots=True, eq=False)
class Match:
    """Stations on a track.

    Attributes
    ----------
    arc_m, arc_sd_m
        How far along the track each station lies, and how sure that is along it, shape (n + 1,).
    place_m
        East and north on the grid, shape (n + 1, 2).
    misfit2
        How badly each leg fits, in squared standard deviations, shape (n,).
    """

    arc_m: Array
    arc_sd_m: Array
    place_m: Array
    misfit2: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Costs:
    """What every pass needs of the legs: the expected step, its whitening, and the weight of a bow."""

    step: Array
    white: Array
    bow_weight: Array

    def of(self, leg: int, start: Array, end: Array, bowed: Array) -> Array:
        off = end - start - self.step[leg]
        east, north = off[..., 0], off[..., 1]
        (a, b), (_, c) = self.white[leg]
        cost: Array = a * east * east + 2.0 * b * east * north + c * north * north
        return cost + self.bow_weight[leg] * bowed


def match_stations(legs: LegVectors, path: TrackPath, track_sd_m: float) -> Match:
    """Give where the stations of a log lie along a track."""
    turn_sd, scale_sd = (
        math.hypot(legs.turn_sd_rad, math.radians(TURN_FREE_DEG)),
        math.hypot(legs.scale_sd, SCALE_FREE),
    )
    count = min(_MOST_POINTS, max(_LEAST_POINTS, _POINTS_A_LEG * len(legs.step)))
    coarse = path.at(np.linspace(0.0, path.length_m, count))
    turn = scale = 0.0
    loose = (turn_sd, scale_sd)
    chosen = coarse.arc[:1].repeat(len(legs.step) + 1)
    for free in (loose, (0.0, 0.0)):
        costs = _costs(legs, turn, scale, free, track_sd_m)
        chosen = coarse.arc[_lay_coarse(legs, coarse, costs, _node_costs(legs, path, coarse.arc))]
        turn, scale = _shared(legs, path.at(chosen).place, track_sd_m, turn_sd, scale_sd)
    spacing = path.length_m / (count - 1)
    for half in _FINE_ROUNDS:
        costs = _costs(legs, turn, scale, (0.0, 0.0), track_sd_m)
        chosen, arc_sd, misfit2 = _lay_fine(legs, path, costs, chosen, max(half * spacing, 4.0 * track_sd_m))
        turn, scale = _shared(legs, path.at(chosen).place, track_sd_m, turn_sd, scale_sd)
    return Match(chosen, arc_sd, path.at(chosen).place + path.middle_m, misfit2)


def _costs(
    legs: LegVectors, turn_rad: float, scale: float, free: tuple[float, float], track_sd_m: float
) -> _Costs:
    sine, cosine = math.sin(turn_rad), math.cos(turn_rad)
    turned = legs.step @ np.array([[cosine, -sine], [sine, cosine]])
    step = turned * math.exp(scale)
    spread = legs.own + 2.0 * track_sd_m**2 * np.eye(2)
    across = np.stack([step[:, 1], -step[:, 0]], axis=1)
    spread = spread + free[0] ** 2 * across[:, :, None] * across[:, None, :]
    spread = spread + free[1] ** 2 * step[:, :, None] * step[:, None, :]
    length = np.hypot(*legs.step.T)
    strays2 = track_sd_m**2 + BOW_SD_M**2 + (BOW_SHARE * length) ** 2 + legs.boxed_m**2
    return _Costs(step, np.linalg.inv(spread), 1.0 / (BOW_EVERY_M * strays2))


def _node_costs(legs: LegVectors, path: TrackPath, arc: Array) -> Array:
    """Give what it costs to lay each station at each place, shape (n + 1, m)."""
    cost = np.zeros((len(legs.step) + 1, len(arc)))
    cost[0] += np.minimum(arc / REST_EVERY_M, REST_MOST)
    cost[-1] += np.minimum((path.length_m - arc) / REST_EVERY_M, REST_MOST)
    timed = np.flatnonzero(np.isfinite(legs.time_s))
    if timed.size:
        late = (path.time_at(arc)[None, :] - legs.time_s[timed, None]) / TIME_SD_S
        cost[timed] += np.minimum(late**2, 100.0)
    return cost


def _lay_coarse(legs: LegVectors, coarse: PathPoints, costs: _Costs, node: Array) -> Indexes:
    """Give the place of every station among evenly spaced ones."""
    spacing = coarse.arc[1]
    size = np.sqrt(np.trace(legs.own, axis1=1, axis2=2))
    way = 2.0 * (1.5 * np.hypot(*costs.step.T) + 3.0 * size + legs.boxed_m) + 100.0
    reach = np.minimum(np.ceil(way / spacing).astype(np.intp), len(coarse.arc) - 1)
    widest = int(reach.max())
    # Row t of a window holds the places t - widest to t.
    from_place, from_sums = _windows(coarse.place, widest), _windows(coarse.sums, widest)
    bowed = bow(from_place, coarse.place[:, None], from_sums, coarse.sums[:, None])
    best = node[0]
    came_from = np.zeros((len(legs.step), len(coarse.arc)), dtype=np.intp)
    for leg, width in enumerate(reach):
        near = slice(widest - width, widest + 1)
        so_far = sliding_window_view(np.concatenate([np.full(width, np.inf), best]), width + 1)
        total = so_far + costs.of(leg, from_place[:, near], coarse.place[:, None], bowed[:, near])
        back = total.argmin(axis=1)
        came_from[leg] = np.arange(len(best)) - width + back
        best = total[np.arange(len(best)), back] + node[leg + 1]
    chosen = [int(best.argmin())]
    for leg in reversed(range(len(legs.step))):
        chosen.append(max(0, int(came_from[leg, chosen[-1]])))
    return np.array(chosen[::-1])


def _windows(values: Array, width: int) -> Array:
    padded = np.concatenate([np.repeat(values[:1], width, axis=0), values])
    return np.moveaxis(sliding_window_view(padded, width + 1, axis=0), -1, 1)


def _lay_fine(
    legs: LegVectors, path: TrackPath, costs: _Costs, about: Array, half_m: float
) -> tuple[Array, Array, Array]:
    """Give arc, its standard deviation, and each leg's misfit, with windows about what was found."""
    arcs = about[:, None] + np.linspace(-half_m, half_m, _FINE_POINTS)
    arcs = np.clip(arcs, 0.0, path.length_m)
    flat = path.at(arcs.ravel())
    place = flat.place.reshape(*arcs.shape, 2)
    sums = flat.sums.reshape(*arcs.shape, 6)
    node = np.stack([_node_costs(legs, path, row)[k] for k, row in enumerate(arcs)])
    between = np.empty((len(legs.step), _FINE_POINTS, _FINE_POINTS))
    for leg in range(len(legs.step)):
        start, end = place[leg][:, None], place[leg + 1][None, :]
        bowed = bow(start, end, sums[leg][:, None], sums[leg + 1][None, :])
        ordered = arcs[leg][:, None] <= arcs[leg + 1][None, :]
        between[leg] = np.where(ordered, costs.of(leg, start, end, bowed), np.inf)
    chosen = _likeliest(between, node)
    rows = np.arange(len(arcs))
    misfit2 = between[rows[:-1], chosen[:-1], chosen[1:]]
    return arcs[rows, chosen], _spread_along(between, node, arcs), misfit2


def _likeliest(between: Array, node: Array) -> Indexes:
    best, came_from = node[0], []
    for leg, cost in enumerate(between):
        total = best[:, None] + cost
        came_from.append(total.argmin(axis=0))
        best = total.min(axis=0) + node[leg + 1]
    chosen = [int(best.argmin())]
    for back in reversed(came_from):
        chosen.append(int(back[chosen[-1]]))
    return np.array(chosen[::-1])


def _spread_along(between: Array, node: Array, arcs: Array) -> Array:
    """Give how sure each station is along the track: forward and backward over all ways of laying."""
    forward, backward = [node[0] / 2.0], [np.zeros(_FINE_POINTS)]
    for leg, cost in enumerate(between):
        forward.append(_soft_min(forward[-1][:, None] + cost / 2.0, axis=0) + node[leg + 1] / 2.0)
    for leg in reversed(range(len(between))):
        onward = between[leg] / 2.0 + (node[leg + 1] / 2.0 + backward[-1])[None, :]
        backward.append(_soft_min(onward, axis=1))
    weighed = np.stack(forward) + np.stack(backward[::-1])
    share = np.exp(weighed.min(axis=1, keepdims=True) - weighed)
    share /= share.sum(axis=1, keepdims=True)
    mean = (share * arcs).sum(axis=1, keepdims=True)
    spread: Array = np.sqrt((share * (arcs - mean) ** 2).sum(axis=1))
    return spread


def _soft_min(cost: Array, axis: int) -> Array:
    least = cost.min(axis=axis, keepdims=True)
    least = np.where(np.isfinite(least), least, 0.0)
    with np.errstate(divide="ignore"):
        soft: Array = -np.log(np.exp(least - cost).sum(axis=axis)) + np.squeeze(least, axis)
    return soft


def _shared(
    legs: LegVectors, place: Array, track_sd_m: float, turn_sd: float, scale_sd: float
) -> tuple[float, float]:
    """Give what compass (radians) and pace count (a logarithm) are off all day: medians by weight."""
    step = np.diff(place, axis=0)
    length, walked = np.hypot(*legs.step.T), np.hypot(*step.T)
    used = (length > 4.0 * track_sd_m) & (walked > track_sd_m)
    if not used.any():
        return 0.0, 0.0
    step, own, said = step[used], legs.own[used], legs.step[used]
    length, walked = length[used], walked[used]
    along = said / length[:, None]
    across = np.stack([along[:, 1], -along[:, 0]], axis=1)
    turn = np.arctan2(np.einsum("ni,ni->n", step, across), np.einsum("ni,ni->n", step, along))
    found = []
    for off, axis, wide in ((turn, across, turn_sd), (np.log(walked / length), along, scale_sd)):
        variance = (np.einsum("ni,nij,nj->n", axis, own, axis) + 2.0 * track_sd_m**2) / length**2
        weight = 1.0 / variance
        order = np.argsort(off)
        middle = np.searchsorted(np.cumsum(weight[order]), weight.sum() / 2.0)
        of_median = math.pi / 2.0 / float(weight.sum())
        found.append(float(off[order[middle]]) * wide**2 / (wide**2 + of_median))
    return found[0], found[1]
