"""A small class at a desk under test: a field course, a group, an exercise, rows on a page."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from django.test import Client

from pacewright.course.course import Course
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.desk.classes.courses import keep_course
from pacewright.desk.models import Exercise, Group, KeptCourse, KeptLog, Member
from pacewright.desk.notebook.keeping import keep_change
from support.desk_setup import HOST

ROWS = [("15", "38"), ("135", "28"), ("210", "19")]


@cache
def field_course(learners: int = 6) -> Course:
    return set_field_course(FieldAsked(learners, seed=3), np.random.default_rng(3))


def made_course(owner: Member, learners: int = 6) -> KeptCourse:
    return keep_course(owner, field_course(learners))


def made_exercise(owner: Member) -> Exercise:
    group = Group.objects.create(owner=owner, name="Tuesday", term="Autumn")
    return Exercise.objects.create(owner=owner, course=made_course(owner), group=group, title="Morning field")


def write_rows(log: KeptLog, rows: Sequence[tuple[str, str]] = ROWS) -> None:
    for k, (azimuth, count) in enumerate(rows):
        put = {"kind": "put", "id": f"r{k}", "azimuth": azimuth, "count": count, "notes": ""}
        keep_change(log.pk, f"key-of-row-{k}", put)


def strike_row(log: KeptLog, row: str) -> None:
    keep_change(log.pk, "key-of-strike", {"kind": "strike", "id": row, "struck": True})


def phone() -> Client:
    """A browser that nobody let in yet."""
    return Client(headers={"host": HOST})
