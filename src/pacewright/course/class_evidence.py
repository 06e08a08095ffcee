"""What the walks of a class say of their learners: every miss and every count, as observations.

    miss  = bias * (turned clockwise) + (scale + up + down) * (what was walked) + scatter
    log(asked count / counted) = scale + slope effect + scatter

Scatter has a part that grows with the learner's azimuth scatter, one that grows with the count scatter,
and one that is known: how well the finish is, rounding, and what differs from one day to another.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.learn.believed_figures import DAY_BIAS_SD_DEG
from pacewright.core.pace.pace_walker import SCALE_SD_LEAST_PCT
from pacewright.core.pace.walker import Slope
from pacewright.course.grading import Grade
from pacewright.course.walk_scatter import shared_levers
from pacewright.course.walked_slips import SLIP_SHARE

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

HABITS: Final = ("bias", "scale", "up", "down")
"""What a learner has of his or her own, in this order: compass bias in radians, logarithm of a pace's true
length over the stated one, and what is added to it uphill and downhill."""
CLEAN_ABOVE: Final = 0.5
"""A walk that more likely holds a slip than not tells nothing of bias and scale."""


@dataclass(frozen=True, slots=True, eq=False)
class ClassEvidence:
    """All that a class's walks observed; w misses and c counts.

    Attributes
    ----------
    learners
        Names; the numbers below point into them.
    walk, walk_learner, miss_m, levers, turning, counting, known
        Of each miss: which of the walks it is, whose, east and north, what each habit moves it by
        (w, 2, 4), and the covariance for a radian of azimuth scatter, for a count scatter of one, and
        whatever the scatter is.
    count_learner, log_ratio, count_levers, count_known
        Of each count: whose, the logarithm of asked over counted, what each habit adds (c, 4), and its
        variance whatever the count scatter is.
    walks, clean
        Walks of each learner, and those that held no slip.
    """

    learners: tuple[str, ...]
    walk: Ints
    walk_learner: Ints
    miss_m: Array
    levers: Array
    turning: Array
    counting: Array
    known: Array
    count_learner: Ints
    log_ratio: Array
    count_levers: Array
    count_known: Array
    walks: Ints
    clean: Ints


@dataclass(frozen=True, slots=True, eq=False)
class _Miss:
    off_m: Array
    levers: Array
    turning: Array
    counting: Array
    known: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Counts:
    log_ratio: Array
    levers: Array
    known: Array


def find_slip_share(grades: Sequence[Grade]) -> float:
    """The share of a class's walks that hold a slip which was walked.

    Beforehand it is taken to be one in five, a belief worth two walks (assumed).

    References
    ----------
    A. P. Dempster, N. M. Laird and D. B. Rubin, Maximum likelihood from incomplete data via the EM
    algorithm, 1977 (from memory).
    """
    factors = np.array([one.walked.bayes_factor for one in grades if one.walked is not None])
    share = SLIP_SHARE
    for _ in range(50):
        held = share * factors / (share * factors + 1.0 - share)
        share = (float(held.sum()) + 2.0 * SLIP_SHARE) / (factors.size + 2.0)
    return share


def gather_evidence(grades: Sequence[Grade], slip_share: float) -> ClassEvidence:
    """What graded walks observed of their learners, walks with a slip left out.

    Parameters
    ----------
    grades
        The walks.
    slip_share
        The share of walks with a slip: those that do not show add to the scatter.
    """
    learners = tuple(dict.fromkeys(one.handed.learner for one in grades))
    number = {name: k for k, name in enumerate(learners)}
    walks, clean = np.zeros(len(learners), dtype=np.int64), np.zeros(len(learners), dtype=np.int64)
    misses: list[tuple[int, int, _Miss]] = []
    counts: list[tuple[int, _Counts]] = []
    for walk, one in enumerate(grades):
        who = number[one.handed.learner]
        walks[who] += 1
        clean[who] += is_clean(one)
        miss, counted = _miss_told(one, slip_share), _counts_told(one)
        misses += [(walk, who, miss)] if miss is not None else []
        counts += [(who, counted)] if counted is not None else []
    return ClassEvidence(
        learners,
        np.array([walk for walk, _, _ in misses], dtype=np.int64),
        np.array([who for _, who, _ in misses], dtype=np.int64),
        _stack([m.off_m for _, _, m in misses], (2,)),
        _stack([m.levers for _, _, m in misses], (2, 4)),
        _stack([m.turning for _, _, m in misses], (2, 2)),
        _stack([m.counting for _, _, m in misses], (2, 2)),
        _stack([m.known for _, _, m in misses], (2, 2)),
        np.array([who for who, c in counts for _ in c.log_ratio], dtype=np.int64),
        np.array([value for _, c in counts for value in c.log_ratio]),
        _stack([row for _, c in counts for row in c.levers], (4,)),
        np.array([value for _, c in counts for value in c.known]),
        walks,
        clean,
    )


def is_clean(one: Grade) -> bool:
    """Whether a walk more likely than not held no slip that was walked."""
    return one.slip_chance is None or one.slip_chance < CLEAN_ABOVE


def _stack(parts: Sequence[Array], shape: tuple[int, ...]) -> Array:
    return np.array(parts, dtype=np.float64).reshape(-1, *shape)


def _slopes(one: Grade) -> list[Slope | None]:
    """The lie of every row of the key: what the card says, or the learner's own log."""
    asked = [leg.slope for leg in one.key.log.legs]
    own = [leg.slope for leg in one.handed.log.legs] if one.handed.log else []
    if len(own) != len(asked):
        return asked
    return [theirs or mine for theirs, mine in zip(asked, own, strict=True)]


def _miss_told(one: Grade, slip_share: float) -> _Miss | None:
    """What the finish tells; one that a post drew the learner to tells nothing."""
    seen = one.seen
    if seen is None or one.walked is None or not is_clean(one):
        return None
    walk, walker = seen.walk, one.key.walker
    steps = walk.steps_m()
    slopes = _slopes(one)[seen.start :]
    bias_scale = shared_levers(walk)
    by_slope = [steps[[slope == lie for slope in slopes]].sum(axis=0) for lie in ("up", "down")]
    levers = np.column_stack([bias_scale, *by_slope])
    azimuth_rad = np.radians(walk.azimuth_deg)
    along = np.stack([np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=1)
    across = np.stack([along[:, 1], -along[:, 0]], axis=1)
    length2 = walk.length_m**2
    floor_m = walker.count.count_floor * one.key.pace_m
    scatters = walker.count.count_sd_pct / 100.0 * walk.length_m > floor_m
    turning = np.einsum("n,ni,nj->ij", length2, across, across)
    counting = np.einsum("n,ni,nj->ij", np.where(scatters, length2, 0.0), along, along)
    least = np.where(scatters, 0.0, floor_m**2) + one.key.pace_m**2 / 12.0
    read = math.radians(walker.compass.reading_interval_deg) ** 2 / 12.0
    known = seen.known + read * turning + np.einsum("n,ni,nj->ij", least, along, along)
    day = np.array([math.radians(DAY_BIAS_SD_DEG), SCALE_SD_LEAST_PCT / 100.0]) ** 2
    known = known + bias_scale @ np.diag(day) @ bias_scale.T
    known = known + slip_share * one.walked.unseen_covariance
    return _Miss(seen.off_m, levers, turning, counting, known)


def _counts_told(one: Grade) -> _Counts | None:
    """What the counts between posts tell, turned so that what the day adds is in the first alone."""
    # A count that was worked out beforehand tells nothing of how long a pace is.
    if one.written is None or not one.written.to_posts:
        return None
    found = {name for name, there in one.points if there}
    slopes = _slopes(one)
    ratio, levers, known = [], [], []
    previous_held = True
    for row in range(1, len(one.key.rows) + 1):
        asked = one.key.rows[row - 1]
        held = asked.at in found
        counted = [count for at, count in one.written.counted if at == row]
        if held and previous_held and counted:
            ratio.append(math.log(asked.length_m / one.key.pace_m / counted[0]))
            slope = slopes[row - 1]
            levers.append([0.0, 1.0, float(slope == "up"), float(slope == "down")])
            known.append(1.0 / 6.0 / asked.count**2)
        previous_held = held
    if not ratio:
        return None
    k = len(ratio)
    turn = _even_first(k)
    variance = turn**2 @ np.array(known)
    variance[0] += k * (SCALE_SD_LEAST_PCT / 100.0) ** 2
    return _Counts(turn @ np.array(ratio), turn @ np.array(levers), variance)


def _even_first(k: int) -> Array:
    """An orthogonal matrix whose first row is even."""
    basis = np.eye(k)
    basis[:, 0] = 1.0
    q, _ = np.linalg.qr(basis)
    rows: Array = np.asarray(q, dtype=np.float64).T
    return rows
