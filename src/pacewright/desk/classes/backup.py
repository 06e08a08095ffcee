"""What a record of the class must hold before a backup brings it back."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from django.db import models

from pacewright.desk.classes.handing_in import is_frozen
from pacewright.desk.models import Entry, Exercise, KeptCourse
from pacewright.exceptions import FormatComplaint
from pacewright.files.course_toml import read_course

_DO: Final = "Give the file that the desk made under Backup"


def check_course(values: Mapping[str, Any]) -> None:
    """Refuse a course whose file cannot be read, or says another kind than the record.

    Raises
    ------
    Complaint
        What is wrong with it.
    """
    course = read_course(str(values.get("toml", "")).encode("utf-8"))
    if course.kind != values.get("kind"):
        raise FormatComplaint("a course of this backup is not of the kind it says", _DO)


def check_exercise(values: Mapping[str, Any]) -> None:
    """Refuse an exercise whose marking is no object.

    Raises
    ------
    FormatComplaint
        It is none.
    """
    if not isinstance(values.get("rule", {}), dict):
        raise FormatComplaint("an exercise of this backup does not say how it is marked", _DO)


def check_entry(values: Mapping[str, Any]) -> None:
    """Refuse a learner's card whose copied words are no texts by posts.

    Raises
    ------
    FormatComplaint
        They are none.
    """
    words = values.get("words", {})
    if not isinstance(words, dict) or not all(isinstance(word, str) for word in words.values()):
        raise FormatComplaint("a card of this backup holds no words of posts", _DO)
    if values.get("frozen") is not None and not is_frozen(values["frozen"]):
        raise FormatComplaint("a card of this backup does not hold what was handed in", _DO)


CLASS_CHECKS: Final[dict[type[models.Model], Callable[[Mapping[str, Any]], None]]] = {
    KeptCourse: check_course,
    Exercise: check_exercise,
    Entry: check_entry,
}
"""By the kind of record."""
