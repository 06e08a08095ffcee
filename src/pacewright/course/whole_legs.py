"""Slips of a whole leg that goes round an obstacle: the way round turns, shrinks or is left out with it.

The key writes such a leg out in pieces, and a slip may strike one of them. More often the learner misreads
the leg: dials another azimuth and boxes from that, counts steps throughout, or leaves the leg out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from pacewright.core.compass import normal_azimuth
from pacewright.core.slips.slips import TALLY, THOUSAND, SlipKind
from pacewright.course.answer_key import AnswerKey

Entry = tuple[float, float]
Struck = tuple[SlipKind, tuple[int, ...], tuple[Entry, ...]]

_TURNED: Final[tuple[SlipKind, ...]] = (
    "azimuth_reversed",
    "digit_misread",
    "digits_swapped",
    "quadrant_wrong",
)
_COUNTED: Final[tuple[SlipKind, ...]] = (
    *("tally_lost", "tally_added", "thousand_lost"),
    *("steps_for_paces", "paces_for_steps"),
)
_SCALED: Final[tuple[SlipKind, ...]] = ("steps_for_paces", "paces_for_steps")


def could_be_walked(kind: SlipKind, key: AnswerKey, row: int) -> bool:
    """Whether there was anything to lose: nobody loses a hundred who never counts to one, or at all."""
    if key.card.drill == "azimuth" and kind in _COUNTED:
        return False
    count = key.rows[row - 1].count
    if kind == "tally_lost":
        return count > TALLY
    return kind != "thousand_lost" or count > THOUSAND


def whole_leg_slips(key: AnswerKey, of_rows: Sequence[Struck]) -> list[Struck]:
    """Slips of whole legs where a leg is more than one row of the key.

    Parameters
    ----------
    key
        What should have been walked.
    of_rows
        Slips of single rows: what a slip does to the first row of a leg, it does to the leg.

    Returns
    -------
    list
        Kind, rows from 1, and the azimuth and count of each instead.
    """
    return [
        slip
        for rows in _legs_of_pieces(key)
        for one in of_rows
        if one[1] == (rows[0],)
        for slip in _of_the_leg(key, rows, one)
    ] + [slip for rows in _legs_of_pieces(key) for slip in _tallies(key, rows)]


def _legs_of_pieces(key: AnswerKey) -> list[tuple[int, ...]]:
    by_leg: dict[int, list[int]] = {}
    for number, row in enumerate(key.rows, start=1):
        by_leg.setdefault(row.leg, []).append(number)
    return [tuple(rows) for rows in by_leg.values() if len(rows) > 1]


def _of_the_leg(key: AnswerKey, rows: tuple[int, ...], one: Struck) -> Iterator[Struck]:
    kind, _, ((azimuth_deg, count),) = one
    first, own = key.rows[rows[0] - 1], [key.rows[row - 1] for row in rows]
    if kind in _TURNED:
        turn = azimuth_deg - first.azimuth_deg
        yield kind, rows, tuple((normal_azimuth(row.azimuth_deg + turn), float(row.count)) for row in own)
    elif kind in _SCALED:
        times = count / first.count
        yield kind, rows, tuple((row.azimuth_deg, row.count * times) for row in own)
    elif kind == "leg_missing":
        yield kind, rows, tuple((row.azimuth_deg, 0.0) for row in own)


def _tallies(key: AnswerKey, rows: tuple[int, ...]) -> Iterator[Struck]:
    """A hundred lost or added on a leg whose pieces add up to more than one."""
    own = [key.rows[row - 1] for row in rows]
    forward = sum(row.count for row in own if abs(row.azimuth_deg - own[0].azimuth_deg) < 1e-6)
    if forward <= TALLY:
        return
    last = own[-1]
    if last.count <= TALLY:
        yield "tally_lost", (rows[-1],), ((last.azimuth_deg, last.count + TALLY),)
