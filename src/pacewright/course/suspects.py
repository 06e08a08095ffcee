"""Which slip may be behind a walk: what the log gives away and what the finish does."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from pacewright.course.answer_key import AnswerKey
from pacewright.course.grade_kinds import GradeKind
from pacewright.course.miss import Seen
from pacewright.course.walk_scatter import Habit, own_scatter
from pacewright.course.walked_slips import (
    AS_ON_THE_CARD,
    Base,
    Beside,
    WalkedPosterior,
    changed_walk,
    weigh_walked_slips,
)
from pacewright.course.written_slips import WrittenComparison, WrittenSlip

WALKED_AS_WRITTEN: Final = 0.7
"""How likely a learner whose log differs from the card walked what the log says (assumed)."""
LEAST_SUSPECTED: Final = 0.05
"""A slip less likely than this is not named."""


@dataclass(frozen=True, slots=True)
class Suspected:
    """One slip that may be behind a walk.

    Attributes
    ----------
    leg
        Of the card, from 1; None where it strikes all of them.
    kind
        Which slip.
    chance
        That it is this one.
    where
        `written`: the log does not read what the card asks; `walked`: the finish gives it away.
    asked, instead
        Azimuth in degrees and count in paces on the card, and what was written or walked.
    walked_chance
        For one that is written: that it was walked as well; None where the finish does not tell.
    name
        Of a slip that is of no leg: the stake it started from, or the number of the card walked.
    """

    leg: int | None
    kind: GradeKind
    chance: float
    where: Literal["written", "walked"]
    asked: tuple[float, float] | None
    instead: tuple[float, float] | None
    walked_chance: float | None = None
    name: str = ""


def weigh_seen(
    seen: Seen | None,
    key: AnswerKey,
    written: WrittenComparison | None,
    to_posts: bool,
    habit: Habit | None,
    slip_share: float,
    beside: Sequence[Beside] = (),
) -> WalkedPosterior | None:
    """Weigh slips by the finish; None where it tells nothing.

    One who walks from post to post and found the last shows no slip by the finish.

    Parameters
    ----------
    seen, key, written
        The finish, what the card asks, and the log beside it.
    to_posts
        True where counts were taken on the way to posts, not worked out beforehand.
    habit
        What is known of the learner's compass and pace.
    slip_share
        The share of walks with a slip, before looking.
    beside
        Slips that are not of a leg; they count only where nothing was found on the way.
    """
    if seen is None or (to_posts and not np.any(seen.off_m)):
        return None
    bases = _bases(seen, key, written.slips if written else (), to_posts)
    return weigh_walked_slips(
        key,
        seen.off_m,
        seen.known,
        start=seen.start,
        habit=habit,
        slip_share=slip_share,
        bases=bases,
        beside=() if seen.start else beside,
    )


def _bases(seen: Seen, key: AnswerKey, slips: Sequence[WrittenSlip], to_posts: bool) -> tuple[Base, ...]:
    """What may have been meant to be walked: the card, or what the log says instead."""
    moved, own, any_of_them = np.zeros(2), np.zeros((2, 2)), False
    for slip in slips:
        counted = to_posts and slip.column == "count"
        if counted or (slip.row is None and slip.written is None):
            continue
        if slip.row is not None and slip.row > seen.start:
            entry = slip.written or (key.rows[slip.row - 1].azimuth_deg, 0.0)
            by, spread = changed_walk(key, seen.walk, seen.start, [(slip.row,)], [(entry,)])
            moved, own = moved + by[0], own + spread[0] - seen.walk.own.sum(axis=0)
            any_of_them = True
        elif slip.row is None and slip.written is not None and not seen.start:
            azimuth_rad, length = math.radians(slip.written[0]), slip.written[1] * key.pace_m
            unit = np.array([[math.sin(azimuth_rad), math.cos(azimuth_rad)]])
            moved = moved + length * unit[0]
            own = own + own_scatter(unit, np.array([length]), key.walker, key.reckoning.frame)[0]
            any_of_them = True
    if not any_of_them:
        return (AS_ON_THE_CARD,)
    return (
        Base(np.zeros(2), np.zeros((2, 2)), 1.0 - WALKED_AS_WRITTEN),
        Base(moved, own, WALKED_AS_WRITTEN),
    )


def list_suspects(
    key: AnswerKey, written: WrittenComparison | None, posterior: WalkedPosterior | None
) -> tuple[Suspected, ...]:
    """Every slip worth naming, the likeliest first; one that is written is there for certain."""
    found: list[Suspected] = []
    as_written = None
    if posterior is not None and posterior.base_probability.size > 1:
        as_written = float(posterior.base_probability[1])
    for one in written.slips if written else ():
        found.append(
            Suspected(one.leg, one.kind, one.probability, "written", one.asked, one.written, as_written)
        )
    for slip in posterior.slips if posterior else ():
        if slip.probability < LEAST_SUSPECTED:
            break
        if not slip.rows:
            found.append(Suspected(None, slip.kind, slip.probability, "walked", None, None, name=slip.name))
            continue
        row = key.rows[slip.rows[0] - 1]
        asked = (row.azimuth_deg, float(row.count))
        instead = None if slip.kind == "leg_missing" else (slip.azimuth_deg, slip.count)
        found.append(Suspected(row.leg, slip.kind, slip.probability, "walked", asked, instead))
    return tuple(sorted(found, key=lambda one: -one.chance))
