"""Which slip, walked and not only written, explains where a learner came out.

The legs are known, so that a slip is told by where it leads: for every slip on every leg, how likely is
the place where the learner stood? What stands on the card is what should have been walked.

    log P(slip | finish) = log of how often it happens + log N(finish - where it leads; 0, its covariance)

Where the log already differs from the card, either the log or the card may have been walked. A turn that
all legs share is not sought here: it is the learner's compass, and several walks tell it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.slips.mistake_search import LEVEL_SHARES, SCATTER_LEVELS
from pacewright.core.slips.normal_batch import log_density, log_sum
from pacewright.core.slips.slips import KIND_WEIGHT, Slip, SlipKind, find_slips
from pacewright.course.answer_key import AnswerKey
from pacewright.course.grade_kinds import BESIDE_WEIGHT, BesideKind, WalkedKind
from pacewright.course.walk_scatter import Habit, Walk, key_walk, own_scatter, stated_habit
from pacewright.course.whole_legs import could_be_walked, whole_leg_slips

Array = NDArray[np.float64]

SLIP_SHARE: Final = 0.2
"""The share of walks with a slip that was walked, before looking: one in five (assumed)."""
OTHER_SHARE: Final = 0.05
"""Of all slips: none of those that are known, or several at once (assumed)."""
OTHER_REACH: Final = 0.5
"""Such a one moves the finish by about half of the length walked (assumed)."""
UNSEEN_SDS: Final = 3.0
"""Half of the slips that move a finish by so many standard deviations are told from none."""


@dataclass(frozen=True, slots=True)
class WalkedSlip:
    """One slip that may have been walked.

    Attributes
    ----------
    kind
        Which slip; `leg_missing` for a leg of the card that was not walked.
    rows
        The rows of the key it strikes, from 1; none where all are.
    azimuth_deg, count
        What was walked instead in the first of these rows.
    probability
        Of this slip.
    moved_m
        East and north by which it moves the finish.
    name
        Of a slip that is of no leg: the stake it started from, or the number of the card walked.
    """

    kind: WalkedKind
    rows: tuple[int, ...]
    azimuth_deg: float
    count: float
    probability: float
    moved_m: tuple[float, float]
    name: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Base:
    """What may have been meant to be walked: the card, or the log where it differs.

    Attributes
    ----------
    moved_m
        East and north by which it moves the finish, shape (2,).
    own
        What it adds to the own scatter of the walk, shape (2, 2).
    share
        How likely it is before looking.
    """

    moved_m: Array
    own: Array
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Beside:
    """A slip that is not of a leg: another start, another card, or no walk at all.

    Attributes
    ----------
    kind, name
        Which, and the stake or card it is about.
    moved_m, own
        East and north by which it moves the finish, and the own scatter of what is then walked.
    share
        Of its kind, so much falls on this one; the shares of a kind come to 1.
    """

    kind: BesideKind
    name: str
    moved_m: Array
    own: Array
    share: float


AS_ON_THE_CARD: Final = Base(np.zeros(2), np.zeros((2, 2)), 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class WalkedPosterior:
    """What the finish says of how the card was walked.

    Attributes
    ----------
    base_probability
        Of each base, with or without a slip, shape (b,).
    clean_probability
        Of having walked the card without a slip.
    bayes_factor
        How many times likelier the finish is with a slip than without.
    unseen_covariance
        What slips too small to show add to the scatter of the finish, were every walk to hold one; square
        metres, shape (2, 2).
    other_probability
        Of something that no single known slip explains.
    slips
        Every slip beside what is written, the likeliest first.
    """

    base_probability: Array
    clean_probability: float
    other_probability: float
    bayes_factor: float
    unseen_covariance: Array
    slips: tuple[WalkedSlip, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Ways:
    """Every slip of legs: what it changes, how often it happens, shape (h, ...); their kinds' weight."""

    kinds: tuple[SlipKind, ...]
    rows: tuple[tuple[int, ...], ...]
    azimuth_deg: Array
    count: Array
    moved_m: Array
    own: Array
    log_share: Array
    weight: float


def weigh_walked_slips(
    key: AnswerKey,
    miss_m: Array,
    finish_variance: Array,
    *,
    start: int = 0,
    habit: Habit | None = None,
    slip_share: float = SLIP_SHARE,
    bases: Sequence[Base] = (AS_ON_THE_CARD,),
    beside: Sequence[Beside] = (),
) -> WalkedPosterior:
    """Weigh every single slip on every row, and none, by where the learner stood.

    Parameters
    ----------
    key
        What should have been walked.
    miss_m
        The finish less the place where the card ends, shape (2,).
    finish_variance
        How well both are known, shape (2, 2).
    start
        The station from which nothing held the learner: the last post surely found.
    habit
        What is known of the learner's bias and scale; by default nothing, to no side.
    slip_share
        The share of walks with a slip, before looking.
    bases
        What may have been meant to be walked.
    beside
        Slips that are not of a leg.
    """
    walk = key_walk(key, start)
    ways = _ways(key, walk, start)
    of_legs = ways.weight / (ways.weight + sum(BESIDE_WEIGHT[kind] for kind in {one.kind for one in beside}))
    of_beside = [
        math.log((1.0 - OTHER_SHARE) * of_legs / ways.weight * BESIDE_WEIGHT[one.kind] * one.share)
        for one in beside
    ]
    ordinary = walk.own.sum(axis=0)
    anywhere = ordinary + (OTHER_REACH * float(walk.length_m.sum())) ** 2 * np.eye(2)
    log_shares = np.concatenate(
        [math.log1p(-OTHER_SHARE) + math.log(of_legs) + ways.log_share, of_beside, [math.log(OTHER_SHARE)]]
    )
    elsewhere_m = np.array([one.moved_m for one in beside]).reshape(-1, 2)
    elsewhere = np.array([one.own for one in beside]).reshape(-1, 2, 2)
    moved = np.concatenate([np.zeros((1, 2)), ways.moved_m, elsewhere_m, np.zeros((1, 2))])
    own = np.concatenate([ordinary[None], ways.own, elsewhere, anywhere[None]])
    weight = np.concatenate([[math.log1p(-slip_share)], math.log(slip_share) + log_shares])
    from_base = np.array([base.moved_m for base in bases])[:, None]
    all_moved = (from_base + moved).reshape(-1, 2)
    all_own = (np.array([base.own for base in bases])[:, None] + own).reshape(-1, 2, 2)
    evidence = _evidence(
        miss_m - all_moved,
        walk.steps_m().sum(axis=0) + all_moved,
        all_own,
        finish_variance,
        habit or stated_habit(key.walker),
    ).reshape(len(bases), -1)
    joint = evidence + weight + np.log([base.share for base in bases])[:, None]
    chance = np.exp(joint - log_sum(joint.ravel()))
    by_way = chance.sum(axis=0)
    slips = [
        WalkedSlip(
            kind,
            rows,
            float(ways.azimuth_deg[i]),
            float(ways.count[i]),
            float(by_way[i + 1]),
            _pair(moved[i + 1]),
        )
        for i, (kind, rows) in enumerate(zip(ways.kinds, ways.rows, strict=True))
    ]
    slips += [
        WalkedSlip(one.kind, (), 0.0, 0.0, float(by_way[i]), _pair(one.moved_m), one.name)
        for i, one in enumerate(beside, start=len(ways.kinds) + 1)
    ]
    slips.sort(key=lambda slip: -slip.probability)
    with_slip = log_sum(evidence[0, 1:] + log_shares)
    return WalkedPosterior(
        chance.sum(axis=1),
        float(chance[0, 0]),
        float(by_way[-1]),
        math.exp(min(700.0, float(with_slip - evidence[0, 0]))),
        _unseen(ways, all_own[0] + finish_variance),
        tuple(slips),
    )


def _unseen(ways: _Ways, ordinary: Array) -> Array:
    """The mean square of what slips do, each as far as it would go unseen: up to some 3 sds."""
    square = np.einsum("hi,hi->h", ways.moved_m, np.linalg.solve(ordinary, ways.moved_m.T).T)
    unseen = np.exp(ways.log_share) / (1.0 + np.exp(np.minimum(1.7 * (np.sqrt(square) - UNSEEN_SDS), 50.0)))
    total: Array = np.einsum("h,hi,hj->ij", unseen, ways.moved_m, ways.moved_m)
    return total


def _pair(place: Array) -> tuple[float, float]:
    return float(place[0]), float(place[1])


def _evidence(off: Array, end: Array, own: Array, finish_variance: Array, habit: Habit) -> Array:
    """The log density of what is left of the miss, over the sizes of the own scatter, shape (h,)."""
    levers = np.stack([np.stack([end[:, 1], -end[:, 0]], axis=1), end], axis=2)
    known = np.array([math.radians(habit.bias_deg), habit.log_scale])
    variance = np.array([math.radians(habit.bias_sd_deg) ** 2, habit.scale_sd**2])
    rest = off - levers @ known
    shared = np.einsum("hik,k,hjk->hij", levers, variance, levers) + finish_variance
    each = [
        log_density(rest.T, np.moveaxis(level**2 * own + shared, 0, 2)) + math.log(share)
        for level, share in zip(SCATTER_LEVELS, LEVEL_SHARES, strict=True)
    ]
    return log_sum(np.stack(each), axis=0)


def _ways(key: AnswerKey, walk: Walk, start: int) -> _Ways:
    """List every slip that could have been walked from a station on."""
    found: list[tuple[SlipKind, tuple[int, ...], tuple[tuple[float, float], ...]]] = []
    for slip in _slips_of(key.log):
        if slip.legs and min(slip.legs) > start and could_be_walked(slip.kind, key, slip.legs[0]):
            entries = tuple((entry.reading.azimuth_deg, entry.count) for entry in slip.entries)
            found.append((slip.kind, slip.legs, entries))
    for row in range(start + 1, len(key.rows) + 1):
        if len(key.rows) - start > 1:
            found.append(("leg_missing", (row,), ((key.rows[row - 1].azimuth_deg, 0.0),)))
    whole = [one for one in whole_leg_slips(key, found) if min(one[1]) > start]
    pieces = {row: len(struck) for _, struck, _ in whole for row in struck}
    found += whole
    kinds = tuple(kind for kind, _, _ in found)
    rows = tuple(rows for _, rows, _ in found)
    moved, own = changed_walk(key, walk, start, rows, [entries for _, _, entries in found])
    return _Ways(
        kinds,
        rows,
        np.array([entries[0][0] for _, _, entries in found]),
        np.array([entries[0][1] for _, _, entries in found]),
        moved,
        own,
        _log_shares(kinds, rows, pieces),
        sum(KIND_WEIGHT[kind] for kind in set(kinds)),
    )


@lru_cache(maxsize=512)
def _slips_of(log: TravelLog) -> tuple[Slip, ...]:
    """Every slip on a card; a class walks few cards many times."""
    return find_slips(log)


def _log_shares(
    kinds: Sequence[SlipKind], rows: Sequence[tuple[int, ...]], pieces: Mapping[int, int]
) -> Array:
    """The log of how often each slip happens: kinds by weight, their legs and ways evenly.

    The pieces of a leg that goes round an obstacle share the weight of one leg; the whole leg has another.
    """
    total = sum(KIND_WEIGHT[kind] for kind in set(kinds))
    ways: dict[tuple[SlipKind, tuple[int, ...]], int] = {}
    for pair in zip(kinds, rows, strict=True):
        ways[pair] = ways.get(pair, 0) + 1
    places: dict[SlipKind, float] = {}
    for kind, struck in ways:
        places[kind] = places.get(kind, 0.0) + _place_weight(struck, pieces)
    shares = [
        math.log(
            KIND_WEIGHT[kind] / total * _place_weight(struck, pieces) / places[kind] / ways[kind, struck]
        )
        for kind, struck in zip(kinds, rows, strict=True)
    ]
    return np.array(shares)


def _place_weight(struck: tuple[int, ...], pieces: Mapping[int, int]) -> float:
    return 1.0 / pieces.get(struck[0], 1) if len(struck) == 1 else 1.0


def changed_walk(
    key: AnswerKey,
    walk: Walk,
    start: int,
    rows: Sequence[tuple[int, ...]],
    entries: Sequence[tuple[tuple[float, float], ...]],
) -> tuple[Array, Array]:
    """By how much each change moves the finish, and the own scatter of the walk with it.

    Parameters
    ----------
    key, walk, start
        What should have been walked, from which station on.
    rows, entries
        For each of h changes the rows it strikes, from 1, and the azimuth and count of each instead.

    Returns
    -------
    moved_m, own
        Shapes (h, 2) and (h, 2, 2).
    """
    frame, walker = key.reckoning.frame, key.walker
    steps, total = walk.steps_m(), walk.own.sum(axis=0)
    moved = np.zeros((len(rows), 2))
    own = np.broadcast_to(total, (len(rows), 2, 2)).copy()
    for place in range(max((len(struck) for struck in rows), default=0)):
        at = [i for i, struck in enumerate(rows) if len(struck) > place]
        row = np.array([rows[i][place] - 1 - start for i in at], dtype=np.int64)
        azimuth_rad = np.radians([entries[i][place][0] for i in at])
        # A count of the row goes as far as it does in the key, whatever ground the row crosses.
        a_count = walk.length_m[row] / np.array([key.rows[start + k].count for k in row.tolist()])
        length = np.array([entries[i][place][1] for i in at]) * a_count
        unit = np.stack([np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=1)
        same = np.isclose(length, walk.length_m[row], rtol=0.0, atol=1e-9)
        moved[at] += length[:, None] * unit - steps[row]
        spread = own_scatter(unit, np.where(same, walk.length_m[row], length), walker, frame)
        own[at] += spread - walk.own[row]
    return moved, own
