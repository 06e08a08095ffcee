"""The forms that ask for a course, in the order of the page."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from typing import Any, ClassVar, Final

from django import forms

from pacewright.core.plain_text import clean_line
from pacewright.course.course import Course
from pacewright.desk.ask.fields import AskForm, ReadField, choice_field, number_field, whole_field
from pacewright.desk.classes.courses import (
    DRILLS,
    FIELD_TYPED,
    MOST_STRETCHES,
    NORTHS,
    PACE_TYPED,
    Given,
    field_course,
    pace_course,
)
from pacewright.desk.models import Member
from pacewright.desk.models_class import LONGEST_TITLE


def listed(label: str, choices: tuple[str, ...]) -> forms.ChoiceField:
    """One of a list of words."""
    return choice_field(label, tuple((one, one) for one in choices))


def line_field(label: str, hint: str = "") -> ReadField:
    """A text on one line."""
    return ReadField(label, clean_line, hint, attrs={"maxlength": LONGEST_TITLE})


def norths_field() -> forms.ChoiceField:
    """The north that azimuths are counted from."""
    return listed("Azimuths are", NORTHS)


class CourseForm(AskForm):
    """A form that asks for a course; a field that was not sent holds what it begins with.

    Attributes
    ----------
    heading, lead
        What stands above it.
    more
        What the folded fields are about.
    """

    heading: ClassVar[str] = ""
    lead: ClassVar[str] = ""
    more: ClassVar[str] = ""

    def __init__(self, sent: Mapping[str, Any] | None, member: Member) -> None:
        typed = None if sent is None else {name: sent.get(name, was) for name, was in self.begins.items()}
        super().__init__(typed, member)
        self.auto_id = "%s"
        if sent is None and "seed" in self.fields:
            # Drawn here, so that it can be given again.
            self.initial["seed"] = str(secrets.randbelow(1_000_000))

    @property
    def is_few_open(self) -> bool:
        """True where something is wrong among the fields that few change."""
        return any(one.errors for one in self.few_fields)


class SetAtOnceForm(CourseForm):
    """A form whose course is set while its page waits."""

    make: ClassVar[Callable[[Given], Course]]

    def course(self) -> Course:
        """The course that is asked for.

        Raises
        ------
        Complaint
            There is none; the column is the name of the field.
        """
        return type(self).make(self.given)


class FieldCourseForm(SetAtOnceForm):
    """What is asked of a field course."""

    heading = "A field course"
    lead = (
        "Stakes along a base line at the edge of a field. Every card leads out and back to another stake, so "
        "the stake a learner names tells how the walk went. No map is needed."
    )
    more = "Legs, spacing and times"
    begins = FIELD_TYPED
    few = frozenset(list(FIELD_TYPED)[list(FIELD_TYPED).index("shortest_leg_m") :])
    make = field_course
    title = line_field("Name of the course")
    learners = whole_field("Learners", "One card each; set a few more than you expect.", required=True)
    stakes = whole_field("Stakes on the base line", required=True)
    shape = listed("Stakes stand in a", ("line", "ring", "grid"))
    legs = whole_field("Legs of every card", required=True)
    field_along_m = number_field("Field along the base line, metres", required=True)
    field_deep_m = number_field("Field deep from the base line, metres", required=True)
    base_azimuth_deg = number_field("Azimuth of the base line, from the first stake", required=True)
    field_side = listed("The field lies, seen along the base line, to the", ("left", "right"))
    azimuth_reference = norths_field()
    drills = listed("Drills on the cards", tuple(DRILLS))
    shortest_leg_m = number_field("Shortest leg, metres", required=True)
    longest_leg_m = number_field("Longest leg, metres", required=True)
    length_step_m = number_field("Lengths in steps of, metres", required=True)
    azimuth_step_deg = whole_field("Azimuths in steps of, degrees", required=True)
    spacing_m = number_field("From stake to stake, metres", "Leave empty: chosen from the scatter.")
    wave_minutes = number_field("Minutes between learners at one stake", required=True)
    most_wrong_pct = number_field(
        "A perfect counter may end at a wrong stake, at most, per cent", required=True
    )
    seed = whole_field("Seed", "The same number gives the same course again.", required=True)


class PaceCourseForm(SetAtOnceForm):
    """What is asked of a pace course: a line of one stretch or of some."""

    heading = "A pace course"
    lead = "A measured line, walked out and back, on which every learner finds a pace count."
    more = "A line over several kinds of ground"
    begins = PACE_TYPED
    few = frozenset(name for name in PACE_TYPED if name[-1].isdigit() and not name.endswith("_1"))
    make = pace_course
    title = line_field("Name of the course")
    learners = whole_field("Learners", "One card each.", required=True)
    trials = whole_field("Passes of each learner", required=True)
    azimuth_deg = number_field("Azimuth of the line, from its first stake", required=True)
    azimuth_reference = norths_field()
    start_minutes = number_field("Minutes between learners at one end", required=True)

    def __init__(self, sent: Mapping[str, Any] | None, member: Member) -> None:
        super().__init__(sent, member)
        for k in range(1, MOST_STRETCHES + 1):
            self.fields[f"length_m_{k}"] = number_field(f"Stretch {k}, metres")
            self.fields[f"ground_{k}"] = line_field(
                f"Stretch {k}, ground", "Such as track, brush, sand; may stay empty."
            )
            self.fields[f"slope_{k}"] = listed(
                f"Stretch {k}, lie seen from its first stake", ("level", "up", "down")
            )


COURSE_FORMS: Final[Mapping[str, type[SetAtOnceForm]]] = {"field": FieldCourseForm, "pace": PaceCourseForm}
