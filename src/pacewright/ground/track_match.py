"""Where along a track each station of a log lies.

The stations are laid along the track in order, start and end free, so that the straight lines between
them are the legs and the track keeps to those lines. What compass and pace count are off all day is
set free and found on the way. First coarsely over the whole track, then finely about what was found:
dynamic programming both times, so that of all ways of laying them the likeliest is taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from pacewright.ground.station_costs import station_costs
from pacewright.ground.track_fit import TURN, Fit, Windows, fit_figures, likeliest, scale_rows, track_alone
from pacewright.ground.track_path import PathPoints, TrackPath, bow

Array = NDArray[np.float64]
Indexes = NDArray[np.intp]

TURN_FREE_DEG: Final = 6.0
SCALE_FREE: Final = 0.10
"""How far compass and pace count may be off all day, beyond what the walker's figures allow, for a track
still to be matched (chosen: a declination left out, a pace count of another season)."""

GROUND_FREE: Final = 0.05
"""The same for a class of ground beside the ordinary one."""

BOW_EVERY_M: Final = 50.0
"""A track strays from the line of a leg anew every so often (assumed: a minute's walk, in which neither
walker nor receiver changes its mind)."""

DRIFT_EVERY_M: Final = 150.0
"""The same for how sure a station's place is said to be: a receiver's drift may last two minutes, and what
it makes look like a corner is none (found with made-up walks)."""

STRAY_SD_M: Final = 5.0
"""How far a walker strays from the line, to begin with; the track itself then tells (assumed)."""

_TOO_SURE: Final = 1.25
"""The curvature says the shared figures too surely by as much (found with made-up walks): what the receiver
scatters is partly taken up in where the stations are laid."""
_LEAST_POINTS: Final = 400
_MOST_POINTS: Final = 2_000
_POINTS_A_LEG: Final = 8
_FINE_POINTS: Final = 33
_WINDOW_SDS: Final = 3.0
_FINE_ROUNDS: Final = (4.0, 2.0, 1.0)
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
    azimuth_sd_rad, count_sd
        The walker's usual scatter of azimuths and, as a fraction, of counts.
    turn_sd_rad, scale_sd
        What compass and pace count may be off all day.
    ground, ground_sd
        On which ground each leg lies, the ordinary one being 0, (n,); what the pace count of each may be off
        beside the ordinary one, the first being 0, (g,).
    time_s
        Of every station in the track's time, shape (n + 1,); not a number where it is not known.
    """

    step: Array
    own: Array
    boxed_m: Array
    azimuth_sd_rad: float
    count_sd: float
    turn_sd_rad: float
    scale_sd: float
    ground: Indexes
    ground_sd: Array
    time_s: Array


@dataclass(frozen=True, slots=True, eq=False)
class Match:
    """Stations on a track.

    Attributes
    ----------
    arc_m
        How far along the track each station lies, shape (n + 1,).
    along_sd_m
        How sure that is, in the direction of walking, shape (n + 1,).
    place_m
        East and north on the grid, shape (n + 1, 2).
    fit
        What the track tells of compass and pace count.
    strays2_m2
        How far the track usually strays from the lines of the legs, squared.
    alone, alone_covariance
        The figures of the fit as the track alone has them, and their covariance, shapes (f,) and (f, f).
    """

    arc_m: Array
    along_sd_m: Array
    place_m: Array
    fit: Fit
    strays2_m2: float
    alone: Array
    alone_covariance: Array


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
        cost = a * east * east + 2.0 * b * east * north + c * north * north
        total: Array = cost + self.bow_weight[leg] * bowed
        return total


def match_stations(legs: LegVectors, path: TrackPath, track_sd_m: float) -> Match:
    """Where the stations of a log lie along a track."""
    turn_sd, scale_sd = (
        math.hypot(legs.turn_sd_rad, math.radians(TURN_FREE_DEG)),
        math.hypot(legs.scale_sd, SCALE_FREE),
    )
    count = min(_MOST_POINTS, max(_LEAST_POINTS, _POINTS_A_LEG * len(legs.step)))
    coarse = path.at(np.linspace(0.0, path.length_m, count))
    turn = scale = 0.0
    strays2_m2 = track_sd_m**2 + STRAY_SD_M**2
    loose = (turn_sd, scale_sd)
    chosen = coarse.arc[:1].repeat(len(legs.step) + 1)
    for free in (loose, (0.0, 0.0)):
        costs = _costs(legs, turn, scale, free, track_sd_m, strays2_m2)
        chosen = coarse.arc[_lay_coarse(legs, coarse, costs, station_costs(path, coarse.arc, legs.time_s))]
        turn, scale = _shared(legs, path.at(chosen).place, track_sd_m, turn_sd, scale_sd)
    spacing = path.length_m / (count - 1)
    for steps in _FINE_ROUNDS:
        costs = _costs(legs, turn, scale, (0.0, 0.0), track_sd_m, strays2_m2)
        half_m = np.full(len(chosen), max(steps * spacing, 4.0 * track_sd_m))
        chosen = _lay_fine(legs, path, costs, chosen, half_m)
        strays2_m2 = _strays2_m2(path.at(chosen))
        turn, scale = _shared(legs, path.at(chosen).place, track_sd_m, turn_sd, scale_sd)
    fine = _fine_places(legs, path, chosen, _half_widths(legs, chosen, track_sd_m))
    fit = fit_figures(_windows_of(legs, fine, costs, track_sd_m))
    rows = np.arange(len(chosen))
    arc = fine.arc[rows, fit.chosen]
    along_sd_m = _along_sd_m(fine.place, fit.share, fine.place[rows, fit.chosen])
    cut = _cut_share(fine.place[rows, fit.chosen], along_sd_m)
    alone, alone_covariance = _mended(*track_alone(fit), cut)
    figures, covariance = _mended(fit.figures, fit.covariance, cut)
    return Match(
        arc_m=arc,
        along_sd_m=along_sd_m,
        place_m=fine.place[rows, fit.chosen] + path.middle_m,
        fit=replace(fit, figures=figures, covariance=covariance),
        strays2_m2=strays2_m2,
        alone=alone,
        alone_covariance=alone_covariance,
    )


def _mended(figures: Array, covariance: Array, cut: tuple[float, float]) -> tuple[Array, Array]:
    """Figures with the corners put back that were cut, and no surer than they are."""
    scales = np.zeros(len(figures))
    scales[scale_rows(len(figures) - 3)] = 100.0
    doubt = np.where(scales > 0, _TOO_SURE, 1.0)
    doubt[TURN] = _TOO_SURE
    spread = covariance * np.outer(doubt, doubt) + cut[1] ** 2 * np.outer(scales, scales)
    return figures + cut[0] * scales, spread


def _strays2_m2(stations: PathPoints) -> float:
    """How far the track strays from the lines of the legs, squared: usually, not where it is odd."""
    place, sums, run = stations.place, stations.sums, np.diff(stations.arc)
    bowed = bow(place[:-1], place[1:], sums[:-1], sums[1:])
    # The middle of such squares lies below their mean.
    return max(1.0, 1.3 * float(np.median(bowed / np.maximum(run, 20.0))))


def _along_sd_m(places: Array, share: Array, chosen: Array) -> Array:
    """How widely each station's places lie along the way through it, shape (n + 1,)."""
    step = np.diff(chosen, axis=0)
    step /= np.maximum(np.hypot(*step.T), 1.0)[:, None]
    through = np.concatenate([step[:1], step[:-1] + step[1:], step[-1:]])
    through /= np.maximum(np.hypot(*through.T), 1e-6)[:, None]
    along = np.einsum("nkc,nc->nk", places, through)
    mean = (share * along).sum(axis=1, keepdims=True)
    spread: Array = np.sqrt((share * (along - mean) ** 2).sum(axis=1))
    return spread


def _cut_share(place: Array, along_sd_m: Array) -> tuple[float, float]:
    """What cut corners take off the legs, as a fraction of their length, and its sd.

    A station may lie a little to either side of its corner of the track, and on both sides the legs
    that meet there are together shorter than by way of the corner.
    """
    step = np.diff(place, axis=0)
    length = np.hypot(*step.T)
    if len(step) < 2 or not length.all():
        return 0.0, 0.0
    along = step / length[:, None]
    bend = 1.0 - np.einsum("nc,nc->n", along[:-1], along[1:])
    beside_m = math.sqrt(2.0 / math.pi) * along_sd_m[1:-1]
    share = float((bend * beside_m).sum() / length.sum())
    return share, share / 2.0


def _half_widths(legs: LegVectors, arc: Array, track_sd_m: float) -> Array:
    """How far along the track a station may lie from where it was found."""
    size = np.sqrt(np.trace(legs.own, axis1=1, axis2=2))
    either = np.maximum(np.append(size, 0.0), np.insert(size, 0, 0.0))
    # A straight log may also be found too long or too short as a whole.
    stretched = legs.scale_sd * np.abs(arc - (arc[0] + arc[-1]) / 2.0)
    wide: Array = np.maximum(_WINDOW_SDS * np.hypot(either, stretched), 6.0 * track_sd_m)
    return wide


def _costs(
    legs: LegVectors,
    turn_rad: float,
    scale: float,
    free: tuple[float, float],
    track_sd_m: float,
    strays2_m2: float,
) -> _Costs:
    sine, cosine = math.sin(turn_rad), math.cos(turn_rad)
    turned = legs.step @ np.array([[cosine, -sine], [sine, cosine]])
    step = turned * math.exp(scale)
    spread = legs.own + 2.0 * track_sd_m**2 * np.eye(2)
    across = np.stack([step[:, 1], -step[:, 0]], axis=1)
    spread = spread + free[0] ** 2 * across[:, :, None] * across[:, None, :]
    spread = spread + free[1] ** 2 * step[:, :, None] * step[:, None, :]
    return _Costs(step, np.linalg.inv(spread), 1.0 / (BOW_EVERY_M * (strays2_m2 + legs.boxed_m**2)))


def _lay_coarse(legs: LegVectors, coarse: PathPoints, costs: _Costs, node: Array) -> Indexes:
    """The place of every station among evenly spaced ones."""
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


def _lay_fine(legs: LegVectors, path: TrackPath, costs: _Costs, about: Array, half_m: Array) -> Array:
    """How far along the track each station lies, with windows about what was found."""
    fine = _fine_places(legs, path, about, half_m)
    between = np.stack(
        [
            costs.of(leg, fine.place[leg][:, None], fine.place[leg + 1][None, :], fine.bowed[leg])
            for leg in range(len(legs.step))
        ]
    )
    chosen = likeliest(between, fine.node)
    arc: Array = fine.arc[np.arange(len(about)), chosen]
    return arc


@dataclass(frozen=True, slots=True, eq=False)
class _Fine:
    arc: Array
    place: Array
    bowed: Array
    node: Array


def _fine_places(legs: LegVectors, path: TrackPath, about: Array, half_m: Array) -> _Fine:
    arc = about[:, None] + half_m[:, None] * np.linspace(-1.0, 1.0, _FINE_POINTS)
    arc = np.clip(arc, 0.0, path.length_m)
    flat = path.at(arc.ravel())
    place, sums = flat.place.reshape(*arc.shape, 2), flat.sums.reshape(*arc.shape, 6)
    bowed = bow(place[:-1, :, None], place[1:, None, :], sums[:-1, :, None], sums[1:, None, :])
    ordered = arc[:-1, :, None] <= arc[1:, None, :]
    node = station_costs(path, arc, legs.time_s)
    return _Fine(arc, place, np.where(ordered, bowed, np.inf), node)


def _windows_of(legs: LegVectors, fine: _Fine, costs: _Costs, track_sd_m: float) -> Windows:
    length = np.maximum(np.hypot(*legs.step.T), 1.0)
    along = legs.step / length[:, None]
    along[~along.any(axis=1)] = (0.0, 1.0)
    across = np.stack([along[:, 1], -along[:, 0]], axis=1)
    chord = (fine.place[1:, None, :] - fine.place[:-1, :, None]) / length[:, None, None, None]
    own = [np.einsum("ni,nij,nj->n", axis, legs.own, axis) / length**2 for axis in (along, across)]
    # Of a receiver's scatter at a station the half along the track is in where the station may lie.
    track = track_sd_m**2 / length**2
    return Windows(
        ratio=np.hypot(chord[..., 0], chord[..., 1]),
        turn_rad=np.arctan2(
            np.einsum("nstc,nc->nst", chord, across), np.einsum("nstc,nc->nst", chord, along)
        ),
        fixed=BOW_EVERY_M / DRIFT_EVERY_M * costs.bow_weight[:, None, None] * fine.bowed,
        node=fine.node,
        count_more=np.maximum(own[0] - legs.count_sd**2, 0.0) + track,
        turn_more=np.maximum(own[1] - legs.azimuth_sd_rad**2, 0.0) + track,
        count_sd=legs.count_sd,
        turn_sd_rad=legs.azimuth_sd_rad,
        turn_free_rad=math.hypot(legs.turn_sd_rad, math.radians(TURN_FREE_DEG)),
        ground=legs.ground,
        scale_prior=_scale_prior(legs),
    )


def _scale_prior(legs: LegVectors) -> Array:
    """The covariance of the pace counts by ground: what all share, and each beside the ordinary one."""
    beside = np.hypot(legs.ground_sd, GROUND_FREE)
    beside[0] = 0.0
    prior: Array = np.diag(beside**2) + legs.scale_sd**2 + SCALE_FREE**2
    return prior


def _shared(
    legs: LegVectors, place: Array, track_sd_m: float, turn_sd: float, scale_sd: float
) -> tuple[float, float]:
    """What compass (radians) and pace count (a logarithm) are off all day: medians by weight."""
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
