"""The one door to storage that every text passes: what nobody can see or type stays outside.

Control characters, halves of characters, and the marks that turn the direction of writing over: a name with
one of them reads otherwise than it is written, breaks a line of a file, or is refused by a database.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

from django.db import models

_OTHER_LINE_ENDS: Final = re.compile("[\v\f\x85\u2028\u2029]")
_UNSEEN: Final = re.compile("[\x00-\x08\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
_HALF: Final = re.compile("[\ud800-\udfff]")


def clean_text(text: str) -> str:
    r"""Give a text such as every database keeps and every page shows as it is; line ends and tabs stay.

    The line ends that only some readers take for such become blanks: what stands on one line stays on it.


    >>> clean_text("a\0b\x07c"), clean_text("Ada\u202ecba"), clean_text("one\ntwo\tthree")
    ('abc', 'Adacba', 'one\ntwo\tthree')
    """
    if text.isascii() and text.isprintable():
        return text
    if _HALF.search(text):
        text = text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
    return _UNSEEN.sub("", _OTHER_LINE_ENDS.sub(" ", text))


def clean_line(text: str) -> str:
    r"""Give a text as one line, single blanks in it and none round it.

    >>> clean_line("  Tamsin\n\0 Vale ")
    'Tamsin Vale'
    """
    return " ".join(clean_text(text).split())


def clean_json(value: Any) -> Any:
    """Give a value of lists, objects and texts, every text of it clean."""
    if isinstance(value, str):
        return clean_text(value)
    if isinstance(value, dict):
        return {clean_json(key): clean_json(one) for key, one in value.items()}
    return [clean_json(one) for one in value] if isinstance(value, list | tuple) else value


class _AsItsParent:
    """Stands in migrations as the framework's own field: what is stored is the same."""

    if TYPE_CHECKING:
        # The framework puts the value itself in the field's place.
        def __get__(self, instance: Any, owner: Any) -> Any: ...

        def __set__(self, instance: Any, value: Any) -> None: ...

    def deconstruct(self) -> tuple[str, str, list[Any], dict[str, Any]]:
        """Give the field as its parent class."""
        name, _, args, kwargs = super().deconstruct()  # type: ignore[misc]
        parent = next(one for one in type(self).__mro__ if one.__module__.startswith("django."))
        return name, f"django.db.models.{parent.__name__}", args, kwargs


class CleanCharField(_AsItsParent, models.CharField):
    """A short text on one line."""

    def get_prep_value(self, value: Any) -> Any:
        """Give the value as it is stored."""
        found = super().get_prep_value(value)
        return re.sub(r"[\t\r\n]", " ", clean_text(found)) if isinstance(found, str) else found


class CleanTextField(_AsItsParent, models.TextField):
    """A text of several lines."""

    def get_prep_value(self, value: Any) -> Any:
        """Give the value as it is stored."""
        found = super().get_prep_value(value)
        return clean_text(found) if isinstance(found, str) else found


class CleanJSONField(_AsItsParent, models.JSONField):
    """Lists, objects and texts."""

    def get_prep_value(self, value: Any) -> Any:
        """Give the value as it is stored."""
        return clean_json(super().get_prep_value(value))
