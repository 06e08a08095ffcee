"""The one door to storage that every text passes: what nobody can see or type stays outside.

What that is stands in `core/plain_text.py`.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from django.db import models

from pacewright.core.plain_text import clean_line, clean_text
from pacewright.exceptions import ValueComplaint


def clean_json(value: Any) -> Any:
    """A value of lists, objects and texts, every text of it clean."""
    if isinstance(value, str):
        return clean_text(value)
    if isinstance(value, dict):
        return {clean_json(key): clean_json(one) for key, one in value.items()}
    return [clean_json(one) for one in value] if isinstance(value, list | tuple) else value


def short_name(typed: str, longest: int, wrong: str) -> str:
    """A name without blanks round it.

    Parameters
    ----------
    longest
        As many letters it has at most.
    wrong
        What is said where it is none: `the group has no name`.

    Raises
    ------
    ValueComplaint
        There is none, or it is too long.
    """
    name = clean_line(typed)
    if not name or len(name) > longest:
        raise ValueComplaint(wrong, f"Write a name of at most {longest} letters")
    return name


class _AsItsParent:
    """Stands in migrations as the framework's own field: what is stored is the same."""

    if TYPE_CHECKING:
        # The framework puts the value itself in the field's place.
        def __get__(self, instance: Any, owner: Any) -> Any: ...

        def __set__(self, instance: Any, value: Any) -> None: ...

    def deconstruct(self) -> tuple[str, str, list[Any], dict[str, Any]]:
        """The field as its parent class."""
        name, _, args, kwargs = super().deconstruct()  # type: ignore[misc]
        parent = next(one for one in type(self).__mro__ if one.__module__.startswith("django."))
        return name, f"django.db.models.{parent.__name__}", args, kwargs


class CleanCharField(_AsItsParent, models.CharField):
    """A short text on one line."""

    def get_prep_value(self, value: Any) -> Any:
        """The value as it is stored."""
        found = super().get_prep_value(value)
        return re.sub(r"[\t\r\n]", " ", clean_text(found)) if isinstance(found, str) else found


class CleanTextField(_AsItsParent, models.TextField):
    """A text of several lines."""

    def get_prep_value(self, value: Any) -> Any:
        """The value as it is stored."""
        found = super().get_prep_value(value)
        return clean_text(found) if isinstance(found, str) else found


class CleanJSONField(_AsItsParent, models.JSONField):
    """Lists, objects and texts."""

    def get_prep_value(self, value: Any) -> Any:
        """The value as it is stored."""
        found = super().get_prep_value(value)
        return found if _is_plain(found) else clean_json(found)


def _is_plain(value: Any) -> bool:
    """True where every text is of letters that anybody sees: a page is stored anew with every row."""
    # Whatever is not is written with a backslash there, and looking for one is quicker than any walk.
    shown = repr(value)
    return shown.isascii() and "\\" not in shown
