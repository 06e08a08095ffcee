"""A walk told to the learner who walked it: where it ended, what happened, how it compares, what to practise."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from pacewright.core.adjust.closure import UNUSUAL_BELOW
from pacewright.core.compass import direction_deg
from pacewright.core.slips.mistakes import NAME_ABOVE
from pacewright.course.class_report import what_to_practise
from pacewright.course.grade_kinds import GradeKind
from pacewright.course.grading import Grade
from pacewright.course.learner_model import LearnerFit
from pacewright.course.suspects import Suspected
from pacewright.wording.findings import say_percent
from pacewright.wording.numbers import say_azimuth, say_length, say_whole
from pacewright.wording.teaching import CURE, say_advice, say_how_many

YOUR_CAUTION: Final = "This says how one walk went, not that you are safe alone."
PICTURE_KEY: Final = (
    "Broken lines: your card. Full line: your way, as it most likely went. Cross: where you ended. Dotted ring: where "
    "95 of 100 ordinary walks end."
)
PICTURE_KEY_NO_WAY: Final = (
    "Broken lines: your card. Cross: where you ended. Dotted ring: where 95 of 100 ordinary walks end."
)
PICTURE_KEY_ALONE: Final = "Broken lines: your card. Where you ended, nobody wrote down."

_YOU: Final[dict[GradeKind, str]] = {
    "tally_lost": "you did not tally one of the hundreds, and walked too far",
    "tally_added": "you tallied a hundred twice, and stopped too soon",
    "thousand_lost": "you did not tally a thousand",
    "azimuth_reversed": "you walked it the opposite way",
    "digit_misread": "you held an azimuth with one digit misread",
    "digits_swapped": "you read two digits of the azimuth in the wrong order",
    "leg_missing": "you left it out",
    "offset_mirrored": "you went round the other side",
    "declination_mirrored": "you applied the declination the wrong way",
    "steps_for_paces": "you counted single steps as paces",
    "paces_for_steps": "you halved your paces as if they were steps",
    "quadrant_wrong": "you walked it a quarter circle off",
    "rows_exchanged": "you walked two legs in the other order",
    "start_wrong": "you set out from the neighbouring stake",
    "never_left": "you ended where your card starts",
    "card_swapped": "you walked another card",
    "other": "something happened that no known slip explains",
}
_WROTE: Final[dict[GradeKind, str]] = {
    "tally_lost": "a hundred too few",
    "tally_added": "a hundred too many",
    "leg_missing": "it is not in your log",
    "azimuth_reversed": "the opposite way",
    "digit_misread": "one digit misread",
    "digits_swapped": "two digits in the wrong order",
}


@dataclass(frozen=True, slots=True)
class YourWalk:
    """What is said to a learner of one walk.

    Attributes
    ----------
    mark
        The mark in a few words; empty without one.
    ended
        Where it ended, and the points found.
    slip
        What most likely happened, where a slip shows.
    compare
        How it compares with ordinary scatter; empty where nobody saw the end.
    practise
        The one thing to practise, and how.
    picture_key
        What the lines of the picture are.
    """

    mark: str
    ended: tuple[str, ...]
    slip: tuple[str, ...]
    compare: str
    practise: str
    picture_key: str

    @property
    def sentences(self) -> tuple[str, ...]:
        """All of it in order."""
        compare = (self.compare,) if self.compare else ()
        return (*self.ended, *self.slip, *compare, self.practise)


def say_your_walk(one: Grade, learner: LearnerFit | None, *, has_way: bool) -> YourWalk:
    """Say a walk to the learner.

    Parameters
    ----------
    one
        The graded walk.
    learner
        What all the learner's walks tell; None where only this one counts.
    has_way
        True where the picture shows the likely way.
    """
    key = PICTURE_KEY if has_way else PICTURE_KEY_NO_WAY
    return YourWalk(
        "" if one.mark is None else f"Mark: {one.mark:.4g} of {one.rule.full_marks:.4g}",
        tuple(_ended(one)),
        tuple(_slip(one)),
        _compare(one),
        _practise(one, learner),
        PICTURE_KEY_ALONE if one.seen is None else key,
    )


def _ended(one: Grade) -> list[str]:
    said = []
    if len(one.points) > 1:
        lost = [name for name, found in one.points if not found]
        if lost:
            found = len(one.points) - len(lost)
            said.append(f"You found {found} of {len(one.points)} points. Not found: {', '.join(lost)}.")
        else:
            said.append(f"You found all {len(one.points)} points.")
    miss, ends = one.miss, one.key.card.ends
    if miss is None:
        return said or ["Nobody wrote down where you ended."]
    if miss.length_m < 0.5:
        return [*said, f"You ended at {ends}, where your card leads."]
    toward = say_azimuth(direction_deg(miss.east_m, miss.north_m))
    about = " or so" if miss.sd_m > 3.0 else ""
    return [
        *said,
        f"You ended {say_length(miss.length, 'pace')} ({say_whole(miss.length_m)} m{about}) from {ends}, toward {toward}.",
    ]


def _slip(one: Grade) -> list[str]:
    said = [
        f"Your log has leg {slip.leg} otherwise than the card"
        + (f" ({_WROTE[slip.kind]})" if slip.kind in _WROTE else "")
        + "."
        for slip in one.suspects
        if slip.where == "written" and slip.leg is not None
    ]
    chance = one.slip_chance
    if chance is None or chance < 0.5:
        return said
    walked = [slip for slip in one.suspects if slip.where == "walked"]
    if not walked or (one.walked is not None and one.walked.other_probability > 0.5):
        return [*said, "No single slip explains it. Tell your instructor what you remember."]
    if walked[0].chance > NAME_ABOVE:
        return [
            *said,
            f"What most likely happened: {_happened(walked[0])} ({say_percent(walked[0].chance)}).",
        ]
    guesses = ", or ".join(_happened(slip) for slip in walked[:2])
    return [*said, f"Something slipped, perhaps: {guesses}. What do you remember?"]


def _happened(slip: Suspected) -> str:
    words = _YOU[slip.kind]
    if slip.leg:
        return f"on leg {slip.leg} {words}"
    name = {"start_wrong": f", {slip.name}", "card_swapped": f", card {slip.name}"}.get(slip.kind, "")
    return words + name


def _compare(one: Grade) -> str:
    miss = one.miss
    if miss is None or miss.length_m < 0.5:
        return ""
    if miss.chance < UNUSUAL_BELOW:
        return f"{say_how_many(miss.chance)} as badly: more than ordinary scatter."
    return f"{say_how_many(miss.chance)} as badly: that is ordinary scatter, and no fault."


def _practise(one: Grade, learner: LearnerFit | None) -> str:
    if learner is not None and what_to_practise(learner) != "nothing":
        return say_advice(learner)
    slipped = one.slip_chance is not None and one.slip_chance > 0.5
    walked = [slip for slip in one.suspects if slip.where == "walked" and slip.kind != "other"]
    if slipped and walked and walked[0].chance > NAME_ABOVE:
        return f"Practise this: {CURE[walked[0].kind]}."
    written = [slip for slip in one.suspects if slip.where == "written"]
    if written:
        return f"Practise this: {CURE[written[0].kind]}."
    if any(not found for _, found in one.points) and len(one.points) > 1:
        return "Practise this: go over the missed legs with your instructor, then walk shorter legs until you find every point."
    return "Practise this: another card in the same way; say azimuth and count aloud before each leg, and tick it off after."
