"""Set a course on a field, without a map: stakes along a base line, and closed exercises from stake to stake.

Such exercises are common practice of scout and military instruction (from memory): stakes along a base line,
cards that lead into the field and out at another stake, so that where a learner ends tells how the card was
walked.

Every card leads from one stake into the field and back to another stake. Where learners end says how
they walked, so it must not say it by chance: neighbours never share a card, their ends differ by more
than ordinary scatter explains, and the course states how often a perfect counter would still end at a
wrong stake.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from pacewright.course.course import Card, Course, CourseLeg, Drill, Fact, Post
from pacewright.course.ending import base_line, ending_covariance, wrong_stake_share
from pacewright.course.field_asked import STAKE_NAMES, FieldAsked
from pacewright.course.field_cards import CardDrawer, Field, lay_field
from pacewright.course.laid_stakes import set_laid_course
from pacewright.course.post_words import draw_words
from pacewright.course.stake_order import Seat, draw_ends, seats
from pacewright.exceptions import NoAnswerComplaint, ValueComplaint

STAKE_SD_M: Final = 0.1
"""How well a stake stands on a taped base line (assumed)."""
ROOM_IN_SPACING: Final = 1.1
"""A spacing that is chosen leaves this much more than legs of middle length need."""
REACH: Final = 0.7
"""Ends farther off than this part of all legs laid out straight are not tried: the legs must turn."""
STAYING_STAKES: Final = 3
"""A card ends at least so many stakes from its start, where the stakes allow it: whoever stays put then
stands far off (half a spacing is some two standard deviations of an end)."""
FAR_SHARE: Final = 0.5
"""A card that is to show the compass ends at least this part as far along the line as it could: what a
compass is off moves an end by so much of its distance from the start, and nothing else of a card counts."""
_ROUNDS: Final = 20
_REDRAWS: Final = 5


def set_field_course(asked: FieldAsked, rng: np.random.Generator) -> Course:
    """Set a course on a field: the same generator gives the same course.

    Parameters
    ----------
    asked
        Learners, stakes, legs and the field.
    rng
        Chance, made from `asked.seed`.

    Returns
    -------
    Course
        Of kind `field`. Its facts say the spacing, the scatter assumed, the mean and the greatest share
        of wrong stakes for a perfect counter, and by how many standard deviations neighbours' ends differ
        at the least.

    Raises
    ------
    ValueComplaint
        The field cannot hold the base line.
    NoAnswerComplaint
        No cards end surely enough, or none fit the field; the complaint says what would do.
    """
    if asked.shape != "line":
        return set_laid_course(asked, rng)
    spacing_m = asked.spacing_m or _chosen_spacing_m(asked)
    field = lay_field(asked, spacing_m)
    _holds_base_line(field)
    order = seats(asked.learners, asked.stakes)
    words = draw_words(asked.stakes, rng)
    apart, most_sd_m = _how_far_apart(field)
    drawer = CardDrawer(field, most_sd_m, rng, met_sd_m=[])
    cards = _draw_cards(drawer, order, apart)
    posts = tuple(
        Post(STAKE_NAMES[k], field.stake_m(k), STAKE_SD_M, word=words[k]) for k in range(asked.stakes)
    )
    course = Course(asked.title, "field", asked.azimuth_reference, posts, cards, asked.seed)
    return replace(course, facts=_facts(course, asked, spacing_m, order))


def neighbour_gaps(course: Course, asked: FieldAsked) -> dict[tuple[int, int], float]:
    """By how many standard deviations the ends of each two neighbours differ.

    Neighbours start side by side, or one just after the other from one stake. Each walks with a
    compass and a pace of their own, so the variances of their ends add.

    Returns
    -------
    dict
        By the numbers of the two cards, the lower first.
    """
    line = base_line(course.posts)
    variance = {
        card.number: float(line @ ending_covariance(card.legs, asked.walker, course.azimuth_reference) @ line)
        for card in course.cards
    }
    gaps = {}
    for number, seat in enumerate(seats(asked.learners, asked.stakes)):
        for other in seat.neighbours:
            mine, theirs = course.cards[number], course.cards[other]
            ends = [np.array(course.post(card.ends).place_m) @ line for card in (mine, theirs)]
            sd = math.sqrt(variance[mine.number] + variance[theirs.number])
            gaps[theirs.number, mine.number] = abs(float(ends[0] - ends[1])) / sd
    return gaps


def _chosen_spacing_m(asked: FieldAsked) -> float:
    """A spacing that legs of middle length need, or as much of it as the field has."""
    field = lay_field(asked, spacing_m=1.0)
    middle = field.length_m.size // 2
    leg_variance = (field.count_variance[middle] + field.across_variance[middle]) / 2.0
    _, sd_in_spacings = _how_far_apart(field)
    # A pace that is off all day moves a far end along the line.
    far_m = REACH * asked.legs * asked.lengths_m[-1] if "bias" in asked.drills else 0.0
    variance = asked.legs * leg_variance + (field.scale_sd * far_m) ** 2
    wanted = ROOM_IN_SPACING * math.sqrt(variance) / sd_in_spacings
    return float(max(1.0, min(math.ceil(wanted), math.floor(asked.field_m[0] / (asked.stakes - 1)))))


def _holds_base_line(field: Field) -> None:
    if field.least_along > 0:
        needed = field.spacing_m * (field.asked.stakes - 1)
        raise ValueComplaint(
            f"{field.asked.stakes} stakes {field.spacing_m:g} m apart need a base line of {needed:g} m"
            f" and the field is {field.asked.field_m[0]:g} m along",
            "Take fewer stakes, set them closer, or find a longer field",
        )


def _how_far_apart(field: Field) -> tuple[int, float]:
    """By how many stakes neighbours' ends differ, and how much an end may scatter, in metres."""
    asked = field.asked
    most_sd_m = field.spacing_m / (2.0 * asked.sds_to_wrong_stake)
    apart = math.ceil(asked.gap_sds * math.sqrt(2.0) * most_sd_m / field.spacing_m)
    # On few stakes neighbours cannot end so far apart: they end closer, and more surely.
    apart = min(apart, max(1, (asked.stakes - 1) // 3))
    return apart, min(most_sd_m, apart * field.spacing_m / (asked.gap_sds * math.sqrt(2.0)))


def _draw_cards(drawer: CardDrawer, order: Sequence[Seat], apart: int) -> tuple[Card, ...]:
    for least in range(min(STAYING_STAKES, max(1, (drawer.field.asked.stakes - 1) // 3)), 0, -1):
        cards = _cards_from(drawer, order, apart, least)
        if cards is not None:
            return cards
    raise _no_course(drawer)


def _cards_from(drawer: CardDrawer, order: Sequence[Seat], apart: int, least: int) -> tuple[Card, ...] | None:
    """Cards that end at least so many stakes from where they start, or None."""
    asked = drawer.field.asked
    reach_m = REACH * asked.legs * asked.lengths_m[-1]
    barred: set[tuple[int, int, Drill]] = set()

    def allowed(number: int, end: int) -> bool:
        start, spacing_m = order[number].start, drawer.field.spacing_m
        near = abs(start - end) * spacing_m <= reach_m
        away = least
        if _drill(asked, number) == "bias":
            farthest = min(max(start, asked.stakes - 1 - start), math.floor(reach_m / spacing_m))
            away = max(least, math.ceil(FAR_SHARE * farthest))
        return near and abs(start - end) >= away and (start, end, _drill(asked, number)) not in barred

    drawn: dict[tuple[int, int], tuple[CourseLeg, ...]] = {}
    for _ in range(_ROUNDS):
        ends = draw_ends(tuple(order), asked.stakes, apart, allowed, drawer.rng)
        if ends is None:
            break
        for number, end in enumerate(ends):
            legs = drawn.get((number, end)) or _new_legs(drawer, order, number, end, drawn)
            if legs is None:
                barred.add((order[number].start, end, _drill(asked, number)))
            else:
                drawn[number, end] = legs
        if all((number, end) in drawn for number, end in enumerate(ends)):
            return tuple(
                _card(asked, seat, number, end, drawn[number, end])
                for number, (seat, end) in enumerate(zip(order, ends, strict=True))
            )
    return None


def _new_legs(
    drawer: CardDrawer,
    order: Sequence[Seat],
    number: int,
    end: int,
    drawn: Mapping[tuple[int, int], tuple[CourseLeg, ...]],
) -> tuple[CourseLeg, ...] | None:
    """Draw legs that no other card has, or None where that fails."""
    drill = _drill(drawer.field.asked, number)
    taken = set(drawn.values())
    for _ in range(_REDRAWS):
        legs = drawer.legs(order[number].start, end, drill, STAKE_NAMES[end])
        if legs is None or legs not in taken:
            return legs
    return None


def _card(asked: FieldAsked, seat: Seat, number: int, end: int, legs: tuple[CourseLeg, ...]) -> Card:
    return Card(
        number=number + 1,
        start=STAKE_NAMES[seat.start],
        legs=legs,
        ends=STAKE_NAMES[end],
        drill=_drill(asked, number),
        start_minute=seat.wave * asked.wave_minutes,
    )


def _drill(asked: FieldAsked, number: int) -> Drill:
    return asked.drills[number % len(asked.drills)] if asked.drills else ""


def _no_course(drawer: CardDrawer) -> NoAnswerComplaint:
    asked, met = drawer.field.asked, drawer.met_sd_m
    if not met or float(np.median(met)) <= drawer.most_sd_m:
        return NoAnswerComplaint(
            f"no {asked.learners} cards of {asked.legs} legs from {asked.lengths_m[0]:g} to"
            f" {asked.lengths_m[-1]:g} m stay inside a field of {asked.field_m[0]:g} by"
            f" {asked.field_m[1]:g} m and end apart on {asked.stakes} stakes",
            "Ask for smaller steps of azimuth and length, shorter legs, more stakes, or a larger field",
        )
    wider_m = math.ceil(drawer.field.spacing_m * float(np.median(met)) / drawer.most_sd_m)
    return NoAnswerComplaint(
        f"with stakes {drawer.field.spacing_m:g} m apart a perfect counter would end at a wrong stake, or"
        f" as near to a neighbour's as scatter explains, more often than asked"
        f" (wrong stakes at most {100 * asked.most_wrong_share:g} %)",
        f"Set the stakes about {wider_m} m apart (a base line of {wider_m * (asked.stakes - 1)} m),"
        " or ask for fewer or shorter legs",
    )


def _facts(course: Course, asked: FieldAsked, spacing_m: float, order: Sequence[Seat]) -> tuple[Fact, ...]:
    walker = asked.walker
    shares = [wrong_stake_share(card, course, walker) for card in course.cards]
    gaps = neighbour_gaps(course, asked)
    return (
        Fact("stake_spacing", spacing_m, "m"),
        Fact("wrong_stake_share_mean", float(np.mean(shares)), "share"),
        Fact("wrong_stake_share_most", max(shares), "share"),
        *((Fact("neighbour_gap_least", min(gaps.values()), "sd"),) if gaps else ()),
        Fact("neighbour_gap_asked", asked.gap_sds, "sd"),
        Fact("waves", float(max(seat.wave for seat in order) + 1), "count"),
        Fact("assumed_azimuth_sd", walker.compass.azimuth_sd_deg, "deg"),
        Fact("assumed_bias_sd", walker.compass.bias_sd_deg, "deg"),
        Fact("assumed_count_sd", walker.count.count_sd_pct, "pct"),
        Fact("assumed_count_floor", walker.count.count_floor, "pace"),
        Fact("assumed_scale_sd", walker.count.scale_sd_pct, "pct"),
    )
