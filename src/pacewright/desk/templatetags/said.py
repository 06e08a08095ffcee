"""Filters of every template: a sentence as its reader reads it, commands as links to their pages."""

from __future__ import annotations

import datetime
import re
from typing import Any, Final

from django import template
from django.urls import reverse
from django.utils import timezone
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import SafeString, mark_safe

from pacewright.desk.serving.habits import HABITS, LOG
from pacewright.desk.serving.tables import LaidOut, lay_out
from pacewright.drawing.svg import each_text

register = template.Library()

OF_A_LOG: Final = {
    "check": ("closing", "Does it close"),
    "adjust": ("adjusted", "Adjusted"),
    "reckon": ("on_map", "Map"),
    "back": ("way", "Way back"),
    "fix": ("fixes", "Fixes"),
    "locate": ("locate", "Unknown start"),
    "sheet": ("log_sheets", "Sheets and files"),
    "draw": ("log_sheets", "Sheets and files"),
    "export": ("log_sheets", "Sheets and files"),
}
"""Command -> the page of a log that does the same, and what it is called."""
OF_THE_DESK: Final = {
    "calibrate": ("walkers", "Walkers"),
    "sheet": ("sheets", "Sheets"),
    "course": ("class", "Class"),
    "leg": ("ask", "Ask"),
    "range": ("ask", "Ask"),
    "sun": ("ask", "Ask"),
    "north": ("ask", "Ask"),
    "fix": ("ask", "Ask"),
    "check": ("books", "Books"),
    "adjust": ("books", "Books"),
    "reckon": ("books", "Books"),
}
IN_THE_DESK: Final = {
    "give --walker": "choose a walker",
    "Give a walker file with per_100_m": "Choose a walker with a pace count",
}
"""What is given to a command -> what is done on a page in its place."""
_COMMAND: Final = re.compile(r"pacewright ([a-z]+)(?: --[a-z]+)*")


@register.filter
def said(text: Any) -> SafeString:
    """Show a sentence of the tool; a command that it names is a link to the page that does the same."""
    written = HABITS.get().text(str(text))
    for of_command, of_page in IN_THE_DESK.items():
        written = written.replace(of_command, of_page)
    parts, at = [], 0
    for found in _COMMAND.finditer(written):
        parts += [conditional_escape(written[at : found.start()]), _link(found[1], found[0])]
        at = found.end()
    # Every part is escaped, or a link made here.
    return mark_safe("".join([*parts, conditional_escape(written[at:])]))


def _link(command: str, written: str) -> SafeString:
    log_id = LOG.get()
    if log_id is not None and command in OF_A_LOG:
        name, words = OF_A_LOG[command]
        return format_html('<a href="{}">{}</a>', reverse(name, args=[log_id]), words)
    if command in OF_THE_DESK:
        name, words = OF_THE_DESK[command]
        return format_html('<a href="{}">{}</a>', reverse(name), words)
    return conditional_escape(written)


@register.filter
def drawn(figure: Any) -> SafeString:
    """Show a drawing, or the picture of one in parts, its texts as their reader writes them."""
    svg = each_text(str(getattr(figure, "picture", figure)), HABITS.get().text)
    # Drawings escape what they are given.
    return mark_safe(svg)


@register.filter
def day(moment: Any) -> str:
    """Write a day as its reader does."""
    if moment is None:
        return ""
    local = timezone.localtime(moment) if isinstance(moment, datetime.datetime) else moment
    return HABITS.get().date(local.date() if isinstance(local, datetime.datetime) else local)


@register.filter
def moment(at: datetime.datetime | None) -> str:
    """Write a day and the time of it."""
    return "" if at is None else f"{day(at)} {timezone.localtime(at):%H:%M}"


@register.filter
def laid_out(table: Any) -> LaidOut:
    """Lay a table out for a page: a heading and rows."""
    heading, rows = table
    return lay_out(heading, rows)
