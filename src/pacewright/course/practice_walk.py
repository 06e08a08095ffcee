"""A made-up learner with stated habits, scatter and slips, walking a card: for examples and for drills."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final, get_args

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import format_azimuth
from pacewright.core.log.log_heading import Heading
from pacewright.core.log.travel_log import Cells, Leg, TravelLog, compose_log
from pacewright.core.pace.tally import whole_count
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.slip_entries import count_text
from pacewright.core.slips.slips import SlipKind, find_slips
from pacewright.course.answer_key import AnswerKey, answer_key
from pacewright.course.course import Course
from pacewright.course.finish import Handed
from pacewright.course.whole_legs import could_be_walked
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]


_NOT_OF_ONE_LEG: Final[tuple[SlipKind, ...]] = ("declination_mirrored", "rows_exchanged")


@dataclass(frozen=True, slots=True)
class MadeUpLearner:
    """Who walks, and how.

    Attributes
    ----------
    walker
        Name, pace count as stated, and the scatter of counts and azimuths.
    bias_deg
        What is added to every azimuth, clockwise.
    scale_pct
        How much longer a pace is than stated.
    up_pct, down_pct
        How much longer still uphill and downhill.
    slips
        The chance of each kind of slip on a leg.
    """

    walker: Walker = Walker(name="Ines Rowe", per_100_m=62.5)
    bias_deg: float = 0.0
    scale_pct: float = 0.0
    up_pct: float = 0.0
    down_pct: float = 0.0
    slips: Mapping[SlipKind, float] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        for kind, chance in self.slips.items():
            if kind not in get_args(SlipKind) or kind in _NOT_OF_ONE_LEG:
                raise ValueComplaint(f"{kind} is not a slip of one leg", "Use the name of a slip in a leg")
            if not 0.0 <= chance <= 1.0:
                raise ValueComplaint(f"{chance:g} is not the chance of {kind}", "Write a number from 0 to 1")
        if sum(self.slips.values()) > 1.0:
            raise ValueComplaint("a leg would hold more than one slip", "Let the chances come to 1 at most")


@dataclass(frozen=True, slots=True)
class PractisedWalk:
    """What was handed in, and what really happened.

    Attributes
    ----------
    handed
        As a learner would hand it in, the finish taped.
    slips
        Kind and row of the key, from 1, of every slip that was walked.
    """

    handed: Handed
    slips: tuple[tuple[SlipKind, int], ...]


def walk_card(course: Course, number: int, learner: MadeUpLearner, rng: np.random.Generator) -> PractisedWalk:
    """Walk a card by compass and count, once.

    On a course of posts the learner sees every post, starts anew from it, and writes what was counted
    on the way; elsewhere the count is worked out beforehand, walked off, and written so.

    Parameters
    ----------
    course, number
        The course and the number of the card.
    learner
        Who walks.
    rng
        Chance.
    """
    key = answer_key(course, number, learner.walker)
    slips = _slips(key, learner, rng)
    name = learner.walker.name or "a learner"
    if course.kind == "field":
        finish = _finish(key, learner, slips, rng)
        off = finish - key.places_m[-1]
        log = _log(key, [row.count for row in key.rows])
        handed = Handed(name, number, log, None, (float(off[0]), float(off[1])), walker=learner.walker)
    else:
        log = _log(key, _counted(key, learner, slips, rng))
        posts = [row.at for row in key.rows if row.at]
        words = {post: course.post(post).word for post in posts}
        handed = Handed(name, number, log, key.card.ends, None, words, learner.walker)
    return PractisedWalk(handed, tuple((kind, row) for row, (kind, _, _) in sorted(slips.items())))


def _slips(
    key: AnswerKey, learner: MadeUpLearner, rng: np.random.Generator
) -> dict[int, tuple[SlipKind, float, float]]:
    """Draw slips: by row, from 1, the kind and the azimuth and count that were walked."""
    if not learner.slips:
        return {}
    ways: dict[tuple[int, SlipKind], list[tuple[float, float]]] = {}
    for slip in find_slips(key.log):
        if len(slip.legs) == 1 and could_be_walked(slip.kind, key, slip.legs[0]):
            entry = slip.entries[0]
            ways.setdefault((slip.legs[0], slip.kind), []).append((entry.reading.azimuth_deg, entry.count))
    drawn: dict[int, tuple[SlipKind, float, float]] = {}
    kinds = list(learner.slips)
    chances = np.array([learner.slips[kind] for kind in kinds])
    for row in range(1, len(key.rows) + 1):
        chosen = int(rng.choice(len(kinds) + 1, p=[*chances, max(0.0, 1.0 - chances.sum())]))
        if chosen == len(kinds):
            continue
        kind = kinds[chosen]
        if kind == "leg_missing":
            drawn[row] = (kind, key.rows[row - 1].azimuth_deg, 0.0)
        elif entries := ways.get((row, kind)):
            azimuth_deg, count = entries[int(rng.integers(len(entries)))]
            drawn[row] = (kind, azimuth_deg, count)
    return drawn


def _tilt(key: AnswerKey, learner: MadeUpLearner) -> Array:
    by_lie = {"up": learner.up_pct, "down": learner.down_pct}
    return np.array([by_lie.get(leg.slope or "", 0.0) / 100.0 for leg in key.log.legs])


def _finish(
    key: AnswerKey,
    learner: MadeUpLearner,
    slips: Mapping[int, tuple[SlipKind, float, float]],
    rng: np.random.Generator,
) -> Array:
    """Where the learner stands at the end, east and north."""
    walker, rows = learner.walker, key.rows
    azimuth = np.array([row.azimuth_deg for row in rows])
    asked = np.array([float(row.count) for row in rows])
    a_count = np.array([row.length_m for row in rows]) / asked
    count = asked.copy()
    for row, (_, azimuth_deg, instead) in slips.items():
        azimuth[row - 1], count[row - 1] = azimuth_deg, instead
    sd = np.maximum(walker.count.count_sd_pct / 100.0 * count, walker.count.count_floor) * (count > 0)
    walked = (count + sd * rng.standard_normal(count.size)) * a_count
    walked = walked * np.exp(math.log1p(learner.scale_pct / 100.0) + _tilt(key, learner))
    held = azimuth + learner.bias_deg + walker.compass.azimuth_sd_deg * rng.standard_normal(count.size)
    held_rad = np.radians(held)
    place: Array = key.places_m[0] + np.array(
        [float(walked @ np.sin(held_rad)), float(walked @ np.cos(held_rad))]
    )
    return place


def _counted(
    key: AnswerKey,
    learner: MadeUpLearner,
    slips: Mapping[int, tuple[SlipKind, float, float]],
    rng: np.random.Generator,
) -> list[int]:
    """What is counted from post to post; a slip of the count is written, not walked."""
    scatter = learner.walker.count
    scale = np.exp(math.log1p(learner.scale_pct / 100.0) + _tilt(key, learner))
    found = []
    for k, row in enumerate(key.rows):
        paces = row.count / float(scale[k])
        sd = max(scatter.count_sd_pct / 100.0 * paces, scatter.count_floor)
        count = paces + sd * float(rng.standard_normal())
        kind, _, instead = slips.get(k + 1, ("", 0.0, float(row.count)))
        # What would be walked a hundred too far is, on the way to a post, written a hundred too low.
        if kind in ("tally_lost", "tally_added", "thousand_lost"):
            count -= instead - row.count
        elif kind in ("steps_for_paces", "paces_for_steps"):
            count *= row.count / instead
        found.append(max(1, whole_count(count)))
    return found


def _log(key: AnswerKey, counts: list[int]) -> TravelLog:
    legs = []
    for leg, count in zip(key.log.legs, counts, strict=True):
        cells = Cells(format_azimuth(leg.azimuth_deg), count_text(float(count)), "")
        legs.append(replace(leg, cells=cells, count=float(count)))
    heading: Heading = key.log.heading
    rows: list[Leg] = legs
    return compose_log(heading, rows)
