"""Courses that are kept, and the forms that ask for a new one."""

from __future__ import annotations

import math
import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final, cast

from pacewright.core.plausible import TYPED
from pacewright.course.course import Course, Drill
from pacewright.desk.models import KeptCourse, Member
from pacewright.desk.models_class import LONGEST_TITLE
from pacewright.exceptions import Complaint, ValueComplaint
from pacewright.files.course_toml import read_course, write_course

NORTHS: Final = ("magnetic", "true", "grid")
DRILLS: Final[dict[str, tuple[Drill, ...]]] = {
    "none": (),
    "box": ("box",),
    "detour": ("detour",),
    "box in turn": ("", "box"),
    "compass in turn: long legs along": ("", "bias"),
    "azimuth alone, lengths by a measured line": ("azimuth",),
    "plain, compass and azimuth alone in turn": ("", "bias", "azimuth"),
    "box and detour in turn": ("box", "detour"),
}
MOST_STRETCHES: Final = 4
FIELD_TYPED: Final[dict[str, str]] = {
    "title": "Field course",
    "learners": "20",
    "stakes": "10",
    "legs": "4",
    "field_along_m": "210",
    "field_deep_m": "110",
    "base_azimuth_deg": "90",
    "shape": "line",
    "field_side": "left",
    "azimuth_reference": "magnetic",
    "drills": "none",
    "shortest_leg_m": "30",
    "longest_leg_m": "60",
    "length_step_m": "5",
    "azimuth_step_deg": "5",
    "spacing_m": "",
    "wave_minutes": "5",
    "most_wrong_pct": "5",
    "seed": "",
}
"""What the form for a field course holds at first: the defaults of what is asked of one."""
PACE_TYPED: Final[dict[str, str]] = {
    "title": "Pace course",
    "learners": "20",
    "azimuth_deg": "90",
    "azimuth_reference": "magnetic",
    "trials": "5",
    "start_minutes": "2",
    "length_m_1": "100",
    **{f"length_m_{k}": "" for k in range(2, MOST_STRETCHES + 1)},
    **{f"ground_{k}": "" for k in range(1, MOST_STRETCHES + 1)},
    **{f"slope_{k}": "level" for k in range(1, MOST_STRETCHES + 1)},
}


@dataclass(frozen=True, slots=True)
class Told:
    """What is wrong with a form, and the field it belongs to; an empty field where it is the whole."""

    said: str
    field: str = ""


def course_of(kept: KeptCourse) -> Course:
    """The course that is kept."""
    return _read(kept.toml)


@lru_cache(maxsize=32)
def _read(toml: str) -> Course:
    return read_course(toml.encode("utf-8"))


def keep_course(owner: Member, course: Course) -> KeptCourse:
    """Keep a course."""
    title = course.title.strip()[:LONGEST_TITLE] or f"{course.kind.capitalize()} course"
    toml = write_course(course).decode("utf-8")
    return KeptCourse.objects.create(owner=owner, title=title, kind=course.kind, toml=toml)


def first_typed(start: Mapping[str, str]) -> dict[str, str]:
    """What a form holds at first; a seed is drawn, so that it can be given again."""
    drawn = {"seed": str(secrets.randbelow(1_000_000))} if "seed" in start else {}
    return {**start, **drawn}


def typed_in(form: Mapping[str, Any], start: Mapping[str, str]) -> dict[str, str]:
    """What a form holds now, cell by cell."""
    return {name: str(form.get(name, was)).strip()[:200] for name, was in start.items()}


def set_asked(typed: Mapping[str, str], make: Callable[[Mapping[str, str]], Course]) -> Course | Told:
    """Set the course that a form asks for, or tell what is wrong with the form."""
    try:
        return make(typed)
    except Complaint as complaint:
        return Told(complaint.sentence, complaint.where.column or "")


def field_course(typed: Mapping[str, str]) -> Course:
    """Set the field course that a form asks for.

    Raises
    ------
    Complaint
        A field holds no number, or there is no such course; the column is the name of the field.
    """
    import numpy as np

    from pacewright.course.field_asked import FieldAsked
    from pacewright.course.field_setting import set_field_course

    spacing = typed["spacing_m"]
    asked = FieldAsked(
        learners=whole(typed, "learners"),
        stakes=whole(typed, "stakes"),
        legs=whole(typed, "legs"),
        field_m=(number(typed, "field_along_m"), number(typed, "field_deep_m")),
        field_side=cast(Any, typed["field_side"]),
        shape=cast(Any, typed["shape"]),
        base_azimuth_deg=number(typed, "base_azimuth_deg"),
        spacing_m=number(typed, "spacing_m") if spacing else None,
        shortest_leg_m=number(typed, "shortest_leg_m"),
        longest_leg_m=number(typed, "longest_leg_m"),
        length_step_m=number(typed, "length_step_m"),
        azimuth_step_deg=whole(typed, "azimuth_step_deg"),
        drills=one_of(typed, "drills", DRILLS),
        most_wrong_share=number(typed, "most_wrong_pct") / 100.0,
        wave_minutes=number(typed, "wave_minutes"),
        azimuth_reference=cast(Any, one_of(typed, "azimuth_reference", {n: n for n in NORTHS})),
        title=typed["title"] or FIELD_TYPED["title"],
        seed=whole(typed, "seed"),
    )
    return set_field_course(asked, np.random.default_rng(asked.seed))


def pace_course(typed: Mapping[str, str]) -> Course:
    """Set the pace course that a form asks for.

    Raises
    ------
    Complaint
        A field holds no number, or there is no such course; the column is the name of the field.
    """
    from pacewright.course.pace_setting import PaceAsked, Stretch, set_pace_course

    stretches = tuple(
        Stretch(number(typed, f"length_m_{k}"), typed[f"ground_{k}"], cast(Any, typed[f"slope_{k}"] or None))
        for k in range(1, MOST_STRETCHES + 1)
        if typed[f"length_m_{k}"]
    )
    asked = PaceAsked(
        learners=whole(typed, "learners"),
        stretches=stretches,
        azimuth_deg=number(typed, "azimuth_deg"),
        trials=whole(typed, "trials"),
        start_minutes=number(typed, "start_minutes"),
        azimuth_reference=cast(Any, one_of(typed, "azimuth_reference", {n: n for n in NORTHS})),
        title=typed["title"] or PACE_TYPED["title"],
    )
    return set_pace_course(asked)


def number(typed: Mapping[str, str], name: str) -> float:
    """The number that a field holds; a decimal comma is read as well.

    Raises
    ------
    ValueComplaint
        It holds none.
    """
    text = typed[name].strip()
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not TYPED.holds(value):
        shown = f"{text[:40]} is" if text else "an empty field is"
        raise ValueComplaint(f"{shown} not a number", "Write a plain number").at(column=name)
    return value


def whole(typed: Mapping[str, str], name: str) -> int:
    """The whole number that a field holds, 0 or more.

    Raises
    ------
    ValueComplaint
        It holds none.
    """
    value = number(typed, name)
    if value != round(value) or not 0 <= value < 2**53:
        raise ValueComplaint(f"{typed[name][:40]} is not a whole number", "Write 0, 1, 2 or more").at(
            column=name
        )
    return int(value)


def one_of(typed: Mapping[str, str], name: str, known: Mapping[str, Any]) -> Any:
    """What a choice stands for.

    Raises
    ------
    ValueComplaint
        It is not on the list.
    """
    if typed[name] not in known:
        raise ValueComplaint(f"{typed[name][:40]} is not on the list", "Choose from the list").at(column=name)
    return known[typed[name]]
