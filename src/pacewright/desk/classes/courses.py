"""Courses that are kept, and how a new one is set from what a form gives."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any, Final

from pacewright.course.course import Course, Drill
from pacewright.desk.models import KeptCourse, Member
from pacewright.desk.models_class import LONGEST_TITLE
from pacewright.files.course_toml import read_course, write_course

Given = Callable[[str], Any]
"""What a field of a form gives, by its name."""
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


def field_course(given: Given) -> Course:
    """Set the field course that a form asks for.

    Raises
    ------
    Complaint
        There is no such course; the column is the name of the field.
    """
    import numpy as np

    from pacewright.course.field_asked import FieldAsked
    from pacewright.course.field_setting import set_field_course

    asked = FieldAsked(
        learners=given("learners"),
        stakes=given("stakes"),
        legs=given("legs"),
        field_m=(given("field_along_m"), given("field_deep_m")),
        field_side=given("field_side"),
        shape=given("shape"),
        base_azimuth_deg=given("base_azimuth_deg"),
        spacing_m=given("spacing_m"),
        shortest_leg_m=given("shortest_leg_m"),
        longest_leg_m=given("longest_leg_m"),
        length_step_m=given("length_step_m"),
        azimuth_step_deg=given("azimuth_step_deg"),
        drills=DRILLS[given("drills")],
        most_wrong_share=given("most_wrong_pct") / 100.0,
        wave_minutes=given("wave_minutes"),
        azimuth_reference=given("azimuth_reference"),
        title=given("title"),
        seed=given("seed"),
    )
    return set_field_course(asked, np.random.default_rng(asked.seed))


def pace_course(given: Given) -> Course:
    """Set the pace course that a form asks for.

    Raises
    ------
    Complaint
        There is no such course; the column is the name of the field.
    """
    from pacewright.course.pace_setting import PaceAsked, Stretch, set_pace_course

    stretches = tuple(
        Stretch(given(f"length_m_{k}"), given(f"ground_{k}") or "", given(f"slope_{k}"))
        for k in range(1, MOST_STRETCHES + 1)
        if given(f"length_m_{k}") is not None
    )
    asked = PaceAsked(
        learners=given("learners"),
        stretches=stretches,
        azimuth_deg=given("azimuth_deg"),
        trials=given("trials"),
        start_minutes=given("start_minutes"),
        azimuth_reference=given("azimuth_reference"),
        title=given("title"),
    )
    return set_pace_course(asked)
