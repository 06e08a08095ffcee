"""The fields of the forms that ask for a course, in the order of the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from pacewright.desk.classes.courses import (
    DRILLS,
    FIELD_TYPED,
    MOST_STRETCHES,
    NORTHS,
    PACE_TYPED,
    Told,
    field_course,
    pace_course,
)


@dataclass(frozen=True, slots=True)
class Asked:
    """One field of a form.

    Attributes
    ----------
    name, label
        What it is called in the form, and what the reader sees.
    choices
        What can be chosen; empty where anything may be typed.
    hint
        A few words below it.
    is_number
        True where a phone shows figures to type it.
    is_more
        True where it stands under what few change.
    lines
        How many lines of it are seen at once, where it takes many; 0 where it takes one.
    takes_file
        True where a file may be handed in for it.
    is_offered
        True where what can be chosen is not the same for everybody.
    """

    name: str
    label: str
    choices: tuple[str, ...] = ()
    hint: str = ""
    is_number: bool = True
    is_more: bool = False
    lines: int = 0
    takes_file: bool = False
    is_offered: bool = False


FIELD_FORM: Final = (
    Asked("title", "Name of the course", is_number=False),
    Asked("learners", "Learners", hint="One card each; set a few more than you expect."),
    Asked("stakes", "Stakes on the base line"),
    Asked("shape", "Stakes stand in a", ("line", "ring", "grid")),
    Asked("legs", "Legs of every card"),
    Asked("field_along_m", "Field along the base line, metres"),
    Asked("field_deep_m", "Field deep from the base line, metres"),
    Asked("base_azimuth_deg", "Azimuth of the base line, from the first stake"),
    Asked("field_side", "The field lies, seen along the base line, to the", ("left", "right")),
    Asked("azimuth_reference", "Azimuths are", NORTHS),
    Asked("drills", "Drills on the cards", tuple(DRILLS)),
    Asked("shortest_leg_m", "Shortest leg, metres", is_more=True),
    Asked("longest_leg_m", "Longest leg, metres", is_more=True),
    Asked("length_step_m", "Lengths in steps of, metres", is_more=True),
    Asked("azimuth_step_deg", "Azimuths in steps of, degrees", is_more=True),
    Asked(
        "spacing_m", "From stake to stake, metres", hint="Leave empty: chosen from the scatter.", is_more=True
    ),
    Asked("wave_minutes", "Minutes between learners at one stake", is_more=True),
    Asked(
        "most_wrong_pct",
        "A perfect counter may end at a wrong stake, at most, per cent",
        is_more=True,
    ),
    Asked("seed", "Seed", hint="The same number gives the same course again.", is_more=True),
)


def _stretch(k: int) -> tuple[Asked, ...]:
    more = k > 1
    return (
        Asked(f"length_m_{k}", f"Stretch {k}, metres", is_more=more),
        Asked(
            f"ground_{k}",
            f"Stretch {k}, ground",
            hint="Such as track, brush, sand; may stay empty.",
            is_number=False,
            is_more=more,
        ),
        Asked(
            f"slope_{k}",
            f"Stretch {k}, lie seen from its first stake",
            ("level", "up", "down"),
            is_more=more,
        ),
    )


PACE_FORM: Final = (
    Asked("title", "Name of the course", is_number=False),
    Asked("learners", "Learners", hint="One card each."),
    Asked("trials", "Passes of each learner"),
    Asked("azimuth_deg", "Azimuth of the line, from its first stake"),
    Asked("azimuth_reference", "Azimuths are", NORTHS),
    Asked("start_minutes", "Minutes between learners at one end"),
    *(field for k in range(1, MOST_STRETCHES + 1) for field in _stretch(k)),
)


@dataclass(frozen=True, slots=True)
class CourseForm:
    """A form for one kind of course: how it begins, what it asks, what it sets."""

    title: str
    lead: str
    start: Mapping[str, str]
    fields: tuple[Asked, ...]
    make: Any
    more: str


COURSE_FORMS: Final[Mapping[str, CourseForm]] = {
    "field": CourseForm(
        "A field course",
        "Stakes along a base line at the edge of a field. Every card leads out and back to another stake, so "
        "the stake a learner names tells how the walk went. No map is needed.",
        FIELD_TYPED,
        FIELD_FORM,
        field_course,
        "Legs, spacing and times",
    ),
    "pace": CourseForm(
        "A pace course",
        "A measured line, walked out and back, on which every learner finds a pace count.",
        PACE_TYPED,
        PACE_FORM,
        pace_course,
        "A line over several kinds of ground",
    ),
}


@dataclass(frozen=True, slots=True)
class Shown:
    """A field with what was typed into it, what is wrong with that, and what is offered: value and words."""

    asked: Asked
    value: str
    wrong: str = ""
    options: Sequence[tuple[str, str]] = ()


def shown_fields(
    fields: Sequence[Asked],
    typed: Mapping[str, str],
    told: Told | None,
    offered: Mapping[str, Sequence[tuple[str, str]]] | None = None,
) -> tuple[list[Shown], list[Shown]]:
    """The fields that everybody fills in, and those that few change."""
    options = {asked.name: [(choice, choice) for choice in asked.choices] for asked in fields}
    options |= {name: list(found) for name, found in (offered or {}).items()}
    known = {asked.name for asked in fields}
    wrong = {told.field: told.said} if told is not None and told.field in known else {}
    shown = [
        Shown(asked, typed[asked.name], wrong.get(asked.name, ""), options[asked.name]) for asked in fields
    ]
    return [one for one in shown if not one.asked.is_more], [one for one in shown if one.asked.is_more]
