"""Where a learner's log does not read what the card asks, and which slip turned the one into the other."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final, Literal

from pacewright.core.compass import normal_azimuth, turn_deg
from pacewright.core.log.travel_log import Leg, TravelLog
from pacewright.core.slips.slips import KIND_WEIGHT, Slip, SlipKind, find_slips
from pacewright.course.answer_key import AnswerKey
from pacewright.course.grade_kinds import GradeKind

AZIMUTH_WITHIN_DEG: Final = 2.0
"""Cards and logs are written to whole degrees: so much is rounding, and more is not."""
COPIED_SD: Final = 0.02
"""A count worked out from the card and one's own pace count, as a part of one: rounding (assumed)."""
UNLIKE_SDS: Final = 3.0
COUNTED_UNLIKE_SDS: Final = 4.0
"""A count that lies farther off than so many standard deviations does not agree; one that was counted on
the way may lie farther, or the counts of one who scatters more than most would be called slips."""
WHOLE_LOG_OFF: Final = 0.5
"""Where the log of the usual ratio of counts is off by more, steps and paces were mixed throughout."""
_GAP_COST: Final = 1.2
_NEITHER_COST: Final = 2.2


@dataclass(frozen=True, slots=True)
class Asked:
    """What one row of a log is held against: rows of the key from `first` on, `parts` of them."""

    first: int
    parts: int
    leg: int
    azimuth_deg: float
    count: float


@dataclass(frozen=True, slots=True)
class WrittenSlip:
    """One place where the log does not read what the card asks.

    Attributes
    ----------
    leg
        Of the card, from 1; None where all counts are struck, or a row of the log is not on the card.
    row
        The row of the key, from 1, that it can be pinned to; None where it cannot.
    kind
        The likeliest slip; `leg_missing` where the leg is not in the log.
    probability
        That it is this kind, given that the two differ.
    asked, written
        Azimuth and count on the card and in the log, in degrees and paces; None where there is none.
    column
        `azimuth`, `count`, `both`, or `row` where a row is missing or too many.
    """

    leg: int | None
    row: int | None
    kind: GradeKind
    probability: float
    asked: tuple[float, float] | None
    written: tuple[float, float] | None
    column: Literal["azimuth", "count", "both", "row"]


@dataclass(frozen=True, slots=True)
class WrittenComparison:
    """A log beside the card.

    Attributes
    ----------
    slips
        Where the two differ, in the order of the card.
    log_ratio
        The usual logarithm of the log's count over the card's, of the legs that agree: another pace
        count than the one stated, where it is not about 0. None with no leg to compare.
    counted
        For every leg of the card that was counted to its end, row of the key from 1 and paces counted.
    to_posts
        True where they were counted on the way to posts, False where worked out beforehand.
    said
        What could not be compared.
    """

    slips: tuple[WrittenSlip, ...]
    log_ratio: float | None
    counted: tuple[tuple[int, float], ...]
    to_posts: bool
    said: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Compared:
    log: TravelLog
    key: AnswerKey
    count_sd: float
    unlike_sds: float
    usual: float
    turned_deg: float | None
    slips: Mapping[int, list[Slip]]


def compare_written(log: TravelLog, key: AnswerKey, *, counted_to_posts: bool) -> WrittenComparison:
    """Hold a learner's log against the key, row by row.

    Parameters
    ----------
    log, key
        The log, and what it should read.
    counted_to_posts
        True where the learner walked to posts and wrote what was counted on the way, so that counts
        scatter; False where the count was worked out beforehand and walked off.
    """
    asked = _asked(log, key)
    turned, said = _turn_between(log, key)
    unit = _paces_a_count(log, key)
    pairs = _align(log.legs, asked, turned, unit)
    ratios = [
        math.log(log.legs[i].count * unit / asked[j].count)
        for i, j in pairs
        if i is not None and j is not None and log.legs[i].count > 0
    ]
    usual = median(ratios) if ratios else 0.0
    sd = key.walker.count.count_sd_pct / 100.0 if counted_to_posts else COPIED_SD
    by_row: dict[int, list[Slip]] = {}
    for slip in find_slips(log):
        if len(slip.legs) == 1:
            by_row.setdefault(slip.legs[0], []).append(slip)
    compared = _Compared(
        log, key, sd, COUNTED_UNLIKE_SDS if counted_to_posts else UNLIKE_SDS, usual, turned, by_row
    )
    found = [*_whole(usual, len(ratios)), *(_differs(compared, pair, asked, unit) for pair in pairs)]
    slips = tuple(one for one in found if one is not None)
    struck = {(one.leg, one.row) for one in slips if one.column != "azimuth"}
    counted = tuple(
        (asked[j].first + asked[j].parts - 1, log.legs[i].count * unit)
        for i, j in pairs
        if i is not None
        and j is not None
        and log.legs[i].count > 0
        and (asked[j].leg, asked[j].first) not in struck
    )
    if said and turned is None:
        said = [said[0]]
    return WrittenComparison(slips, usual if ratios else None, counted, counted_to_posts, tuple(said))


def _asked(log: TravelLog, key: AnswerKey) -> list[Asked]:
    """What the log is held against: leg by leg, or with every way round written out, as the log is."""
    boxed = any(leg.boxes for leg in log.legs)
    whole = boxed or abs(len(log.legs) - len(key.card.legs)) < abs(len(log.legs) - len(key.rows))
    if not whole:
        return [
            Asked(k, 1, row.leg, row.azimuth_deg, float(row.count)) for k, row in enumerate(key.rows, start=1)
        ]
    found = []
    for number, leg in enumerate(key.card.legs, start=1):
        rows = [k for k, row in enumerate(key.rows, start=1) if row.leg == number]
        # What a count of the leg is worth is what it is worth in the row that has its azimuth.
        same = key.rows[rows[0] - 1]
        count = leg.length_m * same.count / same.length_m
        found.append(Asked(rows[0], len(rows), number, leg.azimuth_deg, count))
    return found


def _turn_between(log: TravelLog, key: AnswerKey) -> tuple[float | None, list[str]]:
    """What is added to the log's azimuths to hold them against the card's; None where not known."""
    mine, theirs = log.heading.azimuth_reference, key.log.heading.azimuth_reference
    if mine == theirs:
        return 0.0, []
    declination = log.heading.declination_deg
    if declination is not None and {mine, theirs} == {"magnetic", "true"}:
        return (declination if mine == "magnetic" else -declination), []
    return None, [f"The log's azimuths are {mine} and the card's {theirs}: azimuths were not compared."]


def _paces_a_count(log: TravelLog, key: AnswerKey) -> float:
    unit = log.heading.count_unit
    return 1.0 if unit == "paces" else 0.5 if unit == "steps" else 1.0 / key.pace_m


def _align(
    legs: Sequence[Leg], asked: Sequence[Asked], turned: float | None, unit: float
) -> list[tuple[int | None, int | None]]:
    """Pair the rows of the log with what was asked, in order; a row or a leg may stay alone."""
    n, m = len(legs), len(asked)
    if n == m:
        straight = [_cost(leg, one, turned, unit) for leg, one in zip(legs, asked, strict=True)]
        if sum(straight) < 2.0 * _GAP_COST:
            return [(k, k) for k in range(n)]
    cost = [[_GAP_COST * (i + j) for j in range(m + 1)] for i in range(n + 1)]
    for i in range(1, n + 1):
        for j in range(1, m + 1):
            both = cost[i - 1][j - 1] + _cost(legs[i - 1], asked[j - 1], turned, unit)
            cost[i][j] = min(both, cost[i - 1][j] + _GAP_COST, cost[i][j - 1] + _GAP_COST)
    pairs: list[tuple[int | None, int | None]] = []
    i, j = n, m
    while i or j:
        alone = cost[i][j] - _GAP_COST
        if i and j and cost[i][j] < min(cost[i - 1][j], cost[i][j - 1]) + _GAP_COST - 1e-9:
            i, j = i - 1, j - 1
            pairs.append((i, j))
        elif i and math.isclose(cost[i - 1][j], alone):
            i -= 1
            pairs.append((i, None))
        else:
            j -= 1
            pairs.append((None, j))
    return pairs[::-1]


def _cost(leg: Leg, asked: Asked, turned: float | None, unit: float) -> float:
    azimuth = turned is None or _azimuth_off(leg, asked, turned) <= AZIMUTH_WITHIN_DEG
    count = leg.count > 0 and abs(math.log(leg.count * unit / asked.count)) < 0.25
    return 0.0 if azimuth and count else _NEITHER_COST if not azimuth and not count else 1.0


def _azimuth_off(leg: Leg, asked: Asked, turned: float) -> float:
    return abs(turn_deg(asked.azimuth_deg, normal_azimuth(leg.azimuth_deg + turned)))


def _whole(usual: float, rows: int) -> list[WrittenSlip | None]:
    if rows < 2 or abs(usual) < WHOLE_LOG_OFF:
        return []
    kind: GradeKind = "steps_for_paces" if usual > 0 else "paces_for_steps"
    return [WrittenSlip(None, None, kind, 1.0, None, None, "count")]


def _differs(
    compared: _Compared, pair: tuple[int | None, int | None], asked: Sequence[Asked], unit: float
) -> WrittenSlip | None:
    i, j = pair
    if i is None or j is None:
        return _alone(compared.log, pair, asked, unit)
    leg, one = compared.log.legs[i], asked[j]
    by_count = _count_z(leg.count * unit, one.count, compared) > compared.unlike_sds
    turned = compared.turned_deg
    by_azimuth = turned is not None and _azimuth_off(leg, one, turned) > AZIMUTH_WITHIN_DEG
    if not by_count and not by_azimuth:
        return None
    written = (normal_azimuth(leg.azimuth_deg + (turned or 0.0)), leg.count * unit)
    if not by_azimuth and round(written[1]) == round(one.count):
        # It reads what the card asks: where it stands out, the other rows are what is off.
        return None
    kind, chance = _kind(compared, i, one, unit)
    column: Literal["azimuth", "count", "both"] = (
        "both" if by_count and by_azimuth else "count" if by_count else "azimuth"
    )
    return WrittenSlip(one.leg, one.first, kind, chance, (one.azimuth_deg, one.count), written, column)


def _alone(
    log: TravelLog, pair: tuple[int | None, int | None], asked: Sequence[Asked], unit: float
) -> WrittenSlip | None:
    i, j = pair
    if j is not None:
        one = asked[j]
        return WrittenSlip(one.leg, one.first, "leg_missing", 1.0, (one.azimuth_deg, one.count), None, "row")
    if i is not None:
        leg = log.legs[i]
        return WrittenSlip(None, None, "other", 1.0, None, (leg.azimuth_deg, leg.count * unit), "row")
    return None


def _count_z(count: float, asked: float, compared: _Compared) -> float:
    if count <= 0:
        return math.inf
    # Half a pace of rounding either way, twice.
    sd = math.hypot(compared.count_sd, 0.41 / asked, 1.0 / asked if compared.count_sd > COPIED_SD else 0.0)
    return abs(math.log(count / asked) - compared.usual) / sd


def _kind(compared: _Compared, row: int, asked: Asked, unit: float) -> tuple[GradeKind, float]:
    """The likeliest of the slips without which the row would read what was asked."""
    weights: dict[SlipKind, float] = {}
    for slip in compared.slips.get(row + 1, ()):
        entry = slip.entries[0]
        off = _count_z(entry.count * unit, asked.count, compared)
        turned = compared.turned_deg
        azimuth = normal_azimuth(entry.reading.azimuth_deg + (turned or 0.0))
        close = turned is None or abs(turn_deg(asked.azimuth_deg, azimuth)) <= AZIMUTH_WITHIN_DEG
        if close and off <= UNLIKE_SDS:
            weight = KIND_WEIGHT[slip.kind] * math.exp(slip.place_weight - 0.5 * off**2)
            weights[slip.kind] = weights.get(slip.kind, 0.0) + weight
    if not weights:
        return "other", 1.0
    kind = max(weights, key=lambda one: weights[one])
    return kind, weights[kind] / sum(weights.values())
