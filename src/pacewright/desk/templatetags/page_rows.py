"""The rows of a page of the notebook, each laid out by `row.html`.

A page has up to 5,000 rows, and the framework takes a fifth of a millisecond for each. So every kind of row
is laid out once with gaps, and the gaps are filled.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from typing import Any, Final

from django import template
from django.template.loader import render_to_string
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString, mark_safe

from pacewright.desk.notebook.page_changes import CELLS
from pacewright.desk.templatetags.said import said

register = template.Library()

_GAPS: Final = ("id", *CELLS, "number", "says", "asks")
_GAP: Final = re.compile(r"\ue000(\w+)\ue001")


@register.simple_tag
def page_rows(marks: Sequence[Any]) -> SafeString:
    """Every row of a page, numbered from 1."""
    # Every gap is filled with what is escaped.
    return mark_safe("".join(_row(mark, number) for number, mark in enumerate(marks, start=1)))


def _row(mark: Any, number: int) -> str:
    filled = {
        **{name: conditional_escape(getattr(mark, name)) for name in ("id", *CELLS)},
        "number": str(number),
        "says": said(mark.wrong) if mark.wrong else conditional_escape(mark.says),
        "asks": conditional_escape(_asks(mark.other)),
    }
    column = mark.column if mark.column in CELLS else ""
    parts = _laid_out(bool(mark.struck), bool(mark.wrong), column)
    return "".join(filled[part] if at % 2 else part for at, part in enumerate(parts))


def _asks(other: dict[str, list[str]]) -> str:
    texts = [(name, text) for name, texts in other.items() for text in texts]
    return "".join(f"Typed here too, {name}: {text or 'empty'}. " for name, text in texts)


@cache
def _laid_out(is_struck: bool, is_wrong: bool, column: str) -> tuple[str, ...]:
    """What stands between the gaps of a kind of row, and at every second place the name of a gap."""
    kind: dict[str, Any] = {"struck": is_struck, "wrong": is_wrong, "column": column}
    gaps = {name: f"\ue000{name}\ue001" for name in _GAPS}
    return tuple(_GAP.split(render_to_string("desk/row.html", {"mark": {**gaps, **kind}})))
