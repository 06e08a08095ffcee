"""How one person reads and writes: units, decimal comma, dates, paper, colours, letters.

Whoever is served right now is known by `HABITS`, and the log whose page it is by `LOG`: what words a
sentence looks there.
"""

from __future__ import annotations

import datetime
import re
import uuid
from collections.abc import Callable, Mapping
from contextvars import ContextVar
from dataclasses import asdict, dataclass, fields
from typing import Any, Final

from django.http import HttpRequest, HttpResponse

from pacewright.core.plain_text import clean_line

CHOICES: Final[dict[str, tuple[tuple[str, str], ...]]] = {
    "azimuth_unit": (("degrees", "degrees"), ("mils", "mils"), ("gon", "gon")),
    "count_unit": (("paces", "paces (two steps each)"), ("steps", "steps"), ("metres", "metres")),
    "decimals": (("point", "2.5"), ("comma", "2,5")),
    "dates": (("iso", "2026-05-14"), ("dmy", "14.05.2026"), ("mdy", "05/14/2026")),
    "paper": (
        ("a4", "A4"),
        ("letter", "Letter"),
        ("a5", "A5"),
        ("pocket", "pocket card on A4"),
        ("pocket-letter", "pocket card on Letter"),
    ),
    "colours": (
        ("device", "as this device has them"),
        ("light", "light"),
        ("dark", "dark"),
        ("night", "red on black, for eyes that are used to the dark"),
    ),
    "letters": (("usual", "usual"), ("large", "large"), ("largest", "largest, at arm's length")),
}
"""What can be chosen, by habit; the first is the usual one."""
LABELS: Final = {
    "azimuth_unit": "Azimuths of a new log in",
    "count_unit": "Counts of a new log in",
    "decimals": "Numbers with a part below one",
    "dates": "Dates",
    "paper": "Paper",
    "colours": "Colours",
    "letters": "Letters",
}
_DATE_FORMS: Final = {"iso": "{0}-{1}-{2}", "dmy": "{2}.{1}.{0}", "mdy": "{1}/{2}/{0}"}
_DATE: Final = re.compile(r"\b(\d{4})-(\d{2})-(\d{2})\b")
_DECIMAL: Final = re.compile(r"(?<![\d.,])(\d+)\.(\d{1,3})(?!\.?\d)")
"""More digits are those of a place on the Earth: it stays as devices take it."""
_DEGREES: Final = re.compile(r"(?<=\d) deg\b")


@dataclass(frozen=True, slots=True)
class Habits:
    """What one person chose; each is a key of the list in `CHOICES` of the same name."""

    azimuth_unit: str = "degrees"
    count_unit: str = "paces"
    decimals: str = "point"
    dates: str = "iso"
    paper: str = "a4"
    colours: str = "device"
    letters: str = "usual"

    def date(self, day: datetime.date) -> str:
        """Write a day.

        >>> Habits(dates="dmy").date(datetime.date(2026, 5, 14))
        '14.05.2026'
        """
        return _DATE_FORMS[self.dates].format(*day.isoformat().split("-"))

    def text(self, text: str) -> str:
        """Write a sentence of the tool as this person reads: signs, decimals, dates.

        >>> Habits(decimals="comma", dates="dmy").text("2026-05-14: 234.5 deg, give or take 2.0.")
        '14.05.2026: 234,5°, give or take 2,0.'
        """
        return self.figures(_DEGREES.sub("°", text).replace("+-", "±"))

    def figures(self, text: str) -> str:
        """Write the numbers and dates of a text as this person does."""
        # The points of a date are no decimal marks: numbers come first.
        numbers = _DECIMAL.sub(r"\1,\2", text) if self.decimals == "comma" else text
        return _DATE.sub(lambda found: _DATE_FORMS[self.dates].format(*found.groups()), numbers)


HABITS: ContextVar[Habits] = ContextVar("habits", default=Habits())  # noqa: B039
LOG: ContextVar[uuid.UUID | None] = ContextVar("log", default=None)


def habits_of(kept: Mapping[str, Any] | None) -> Habits:
    """The habits that a member's record holds; what it does not hold, or not rightly, is the usual."""
    kept = kept or {}
    known = {name: {key for key, _ in choices} for name, choices in CHOICES.items()}
    found = {name: kept[name] for name in known if kept.get(name) in known[name]}
    return Habits(**found)


def how_read() -> dict[str, str]:
    """The habits of whoever is served, for work that another process does."""
    now = HABITS.get()
    return {"decimals": now.decimals, "dates": now.dates, "paper": now.paper}


def chosen_in(form: Mapping[str, Any]) -> dict[str, str]:
    """What a form chose, as it is kept."""
    sent = {one.name: clean_line(str(form.get(one.name, "")))[:20] for one in fields(Habits)}
    return asdict(habits_of(sent))


class HabitsMiddleware:
    """Know how whoever is served reads, and which log the page is about."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, as this person reads."""
        member = request.member
        habits = HABITS.set(habits_of(None if member is None else member.habits))
        log = LOG.set(None)
        try:
            return self.get_response(request)
        finally:
            HABITS.reset(habits)
            LOG.reset(log)

    def process_view(self, _request: HttpRequest, _view: Any, _args: Any, kwargs: dict[str, Any]) -> None:
        """Note the log that is asked for."""
        LOG.set(kwargs.get("log_id"))


def how_it_is_read(_request: HttpRequest) -> dict[str, Any]:
    """The habits of whoever reads, for templates."""
    return {"habits": HABITS.get()}
