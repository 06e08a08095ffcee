"""What stands on the cards and keys of a course."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from pacewright.course.answer_key import AnswerKey
from pacewright.course.course import Card, Course, CourseLeg, Fact
from pacewright.wording.numbers import say_azimuth, say_whole
from pacewright.wording.safety_words import say_missed

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]

CARD_CAUTION: Final = (
    "Stay inside the boundaries you were shown. If you are lost or hurt, do what the safety page says. "
    "The instructor's word and local rules come before this card."
)
COUNT_RULE: Final = "My count for a leg: its metres times my pace count, over 100. A pace is two steps."
BEFORE_USE: Final = (
    "Walk the ground before the class does. A card says nothing of traffic, animals, water, weather or the people "
    "on it; local rules and qualified instruction decide whether, where and with whom it is walked."
)

ORDINARY: Final = "Ordinary: 95 walks of 100 without a mistake end within so many metres of the end, along the last leg and across it."
IF_LOST: Final = (
    "A learner who is lost stands still, makes noise, and walks the backstop azimuth only if that is what was told before "
    "the start."
)

_WRITTEN: Final[dict[str, Callable[[float], str]]] = {
    "share": lambda value: f"{100 * value:.1f} %",
    "m": lambda value: f"{value:.1f} m",
    "pct": lambda value: f"{value:.1f} %",
    "deg": lambda value: f"{value:.1f} deg",
    "sd": lambda value: f"{value:.1f} standard deviations",
    "count": lambda value: f"{value:g}",
    "learners": lambda value: f"{value:.2f}",
    "pace": lambda value: f"{value:g} pace{'' if value == 1 else 's'}",
    "minutes": lambda value: f"{value:g} minutes",
    "min": lambda value: f"{value:g} minutes",
}


def say_set(course: Course, path: str) -> str:
    """Say what was set and where it was written."""
    return (
        f"{course.title}: {len(course.cards)} cards, {len(course.posts)} posts, azimuths {course.azimuth_reference}. "
        f"Written: {path}"
    )


def key_table(keys: Sequence[AnswerKey]) -> Rows:
    """The key as a table: a row a leg, the end of each card in its last."""
    heading = (
        "card",
        "leg",
        "azimuth",
        "metres",
        "paces",
        "ends at",
        "east m",
        "north m",
        "along m",
        "across m",
    )
    rows: list[tuple[str, ...]] = []
    for key in keys:
        for row in key.rows:
            east, north = row.ends_m
            rows.append(
                (
                    str(key.card.number),
                    str(row.leg),
                    say_azimuth(row.azimuth_deg),
                    say_whole(row.length_m),
                    str(row.count),
                    row.at or "",
                    f"{east:.1f}",
                    f"{north:.1f}",
                    say_whole(row.along * key.pace_m),
                    say_whole(row.across * key.pace_m),
                )
            )
    return heading, rows


def say_barred(course: Course) -> list[str]:
    """Say what learners must keep out of and must not cross; nothing where nothing is barred."""
    areas = [one.name for one in course.barred if not one.is_line]
    lines = [one.name for one in course.barred if one.is_line]
    said = [f"Keep out of: {', '.join(areas)}."] if areas else []
    return said + ([f"Do not cross: {', '.join(lines)}."] if lines else [])


def say_dialled(leg: CourseLeg) -> str:
    """Write the azimuth of a leg as a learner dials it, to a whole degree.

    >>> say_dialled(CourseLeg(359.7, 40.0))
    '0'
    """
    return f"{round(leg.azimuth_deg) % 360}"


def say_metres(leg: CourseLeg) -> str:
    """Write the length of a leg to a whole metre."""
    return say_whole(leg.length_m)


def say_start(card: Card) -> str:
    """Say where and when a card starts."""
    when = (
        f", {card.start_minute:g} minutes after the first"
        if card.start_minute
        else " when the first are sent"
    )
    return f"Start at {card.start}{when}."


def say_drill(card: Card) -> list[str]:
    """Say what is done otherwise on a card that is a drill of the compass; nothing on others."""
    if card.drill == "azimuth":
        return [
            "Do not count. Your partner stands where the leg begins, holds the end of the measured line, and calls stop "
            "when it is taut. You hold the azimuth."
        ]
    if card.drill == "bias":
        return ["At the end tape where you stand: along the line of stakes, and off it, and to which side."]
    return []


def say_cards(numbers: Sequence[int]) -> str:
    """Name cards by their numbers.

    >>> say_cards([4]), say_cards([1, 3, 5])
    ('card 4', 'cards 1, 3, 5')
    """
    return f"card{'' if len(numbers) == 1 else 's'} {', '.join(map(str, numbers))}"


def say_obstacle(leg: CourseLeg) -> str:
    """Say what bars a leg and how to go round it; nothing where nothing does."""
    bar = leg.obstacle
    if bar is None:
        return ""
    if bar.way == "box":
        return (
            f"At {bar.at_m:g} m an imagined obstacle. Box it {bar.side}: {bar.offset_m:g} m out, "
            f"{bar.past_m:g} m past, {bar.offset_m:g} m back; only what goes forward counts."
        )
    first, second = ("to the right", "left") if bar.side == "right" else ("to the left", "right")
    return (
        f"At {bar.at_m:g} m an imagined obstacle. Detour: 60 deg {first} for {bar.past_m:g} m, 120 deg to the {second} "
        f"for {bar.past_m:g} m, then on as before; {bar.past_m:g} m count forward."
    )


def say_ground(leg: CourseLeg) -> str:
    """Say the ground and the lie of a leg, as far as the course tells them."""
    return ", ".join(word for word in (leg.ground, leg.slope or "") if word)


def say_fact(fact: Fact) -> tuple[str, str]:
    """Say one figure that setting the course found: what it is, and how much."""
    name = _NAMES.get(fact.name, fact.name.replace("_", " "))
    write = _WRITTEN.get(fact.unit)
    return name, write(fact.value) if write else f"{fact.value:g} {fact.unit}".strip()


_NAMES: Final = {
    "stake_spacing": "from stake to stake",
    "wrong_stake_share_mean": "a perfect counter still ends at a wrong stake: mean of the cards",
    "wrong_stake_share_most": "the same, on the worst card",
    "neighbour_gap_least": "ends of neighbours differ at least by",
    "neighbour_gap_asked": "asked for were",
    "waves": "learners who start at one stake, one after another",
    "assumed_azimuth_sd": "assumed of every learner: scatter of an azimuth",
    "assumed_bias_sd": "compass off all day",
    "assumed_count_sd": "scatter of a count",
    "assumed_count_floor": "and at least",
    "assumed_scale_sd": "pace count off all day",
    "length_least": "the shortest lane",
    "length_most": "the longest",
    "length_tolerance": "asked to differ at most by",
    "climb_least": "the least climb",
    "climb_most": "the most",
    "climb_tolerance": "asked to differ at most by",
    "chance_least": "chance of an ordinary learner to find every post: the hardest lane",
    "chance_most": "the easiest",
    "chance_tolerance": "asked to differ at most by",
    "last_start": "the last starts after",
    "last_home": "the last is home after",
    "last_home_bound": "no choice of lanes could end before",
    "gap_to_bound": "so far from the best that could be, at the most",
    "missed_share_mean": "ordinary learners who miss a post at the first try: mean of the cards",
    "barred_chance_most": "chance to enter barred land, missing posts and following the rule of the card: the worst card",
    "barred_chance_missing": "the same, of those alone who miss a post: the worst card",
    "barred_learners": "learners of this class to be expected in barred land",
    "barred_chance_bound": "asked for on every card at most",
    "barred_walked": "told by so many made-up learners a card",
    "apart_on_leg": "two set out on one leg at least so far apart",
    "apart_at_post": "two at one post are apart by at least, by the timetable",
    "visits_meeting": "visits that meet somebody all the same, paces varying by 10 %",
    "clearance": "kept off barred land",
    "drift_sds": "and off it by as many of an ordinary drift",
    "line_length": "length of the line",
    "trials": "passes of each learner",
    "pace_count_sd": "so many passes settle a pace count within (one standard deviation)",
}


def say_task(course: Course, card: Card | None = None) -> list[str]:
    """Say what a learner does with a card of a course; with a plain one where none is given."""
    if course.kind == "field":
        by = (
            "as far as the measured line goes"
            if card and card.drill == "azimuth"
            else "the metres by your own count"
        )
        return [
            f"Dial the azimuth, walk {by}, leg by leg. Write what you walked into your log as you go.",
            "Where you end, go to the nearest stake and write its name down. The way there counts no more.",
        ]
    if course.kind == "posts":
        return [
            "Each leg ends at a post. Find it and copy the word on it; then start the next leg at the post.",
            "Write what you walked into your log as you go.",
            *say_missed(course),
        ]
    return [
        "Walk from stake to stake as you walk in the field, and count your paces. Write every count down before the next.",
    ]
