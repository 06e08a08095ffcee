"""The rows of a page of the notebook, each laid out by `row.html`.

A page has up to 5,000 rows, and the framework takes a fifth of a millisecond for each. So every kind of row
is laid out once with gaps, and the gaps are filled.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from functools import cache
from typing import Any, Final

from django import template
from django.template.loader import render_to_string
from django.utils.html import conditional_escape, format_html, format_html_join
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
        "asks": _asks(mark),
    }
    column = mark.column if mark.column in CELLS else ""
    parts = _laid_out(bool(mark.struck), bool(mark.wrong), column)
    return "".join(filled[part] if at % 2 else part for at, part in enumerate(parts))


def _asks(mark: Any) -> str:
    """What a cell of several values asks, with a button for each; what was shown goes along with the form."""
    if not mark.other:
        return ""
    shown = format_html('<input type="hidden" name="{}-other" value="{}">', mark.id, json.dumps(mark.other))
    return shown + format_html_join(
        "", "<span>Two values for the {}. {}</span>", (_asked(mark, name) for name in mark.other)
    )


def _asked(mark: Any, name: str) -> tuple[str, SafeString]:
    texts = [
        ("Keep", "", getattr(mark, name)),
        *(("Take", at, text) for at, text in enumerate(mark.other[name])),
    ]
    return name, format_html_join(
        "",
        '<button name="do" value="choose:{}:{}:{}">{} {}</button> ',
        ((mark.id, name, at, word, text or "empty") for word, at, text in texts),
    )


@cache
def _laid_out(is_struck: bool, is_wrong: bool, column: str) -> tuple[str, ...]:
    """What stands between the gaps of a kind of row, and at every second place the name of a gap."""
    kind: dict[str, Any] = {"struck": is_struck, "wrong": is_wrong, "column": column}
    gaps = {name: f"\ue000{name}\ue001" for name in _GAPS}
    return tuple(_GAP.split(render_to_string("desk/row.html", {"mark": {**gaps, **kind}})))
