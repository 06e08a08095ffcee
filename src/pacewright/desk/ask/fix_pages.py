"""A fix by bearings: your own place from known things, or something seen from known places."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ClassVar, Final

from django import forms

from pacewright.desk.ask.fields import ReadField, WalkerForm, choice_field
from pacewright.desk.ask.pages import Answered, AskPage, split_caution

if TYPE_CHECKING:
    from pacewright.core.bearings.fix_entries import PlacedBearing
    from pacewright.core.compass import AzimuthUnit

AZIMUTH_UNITS: Final = (("degrees", "degrees"), ("mils", "mils"), ("gon", "gon"))


def lines_field(label: str, example: str, hint: str) -> ReadField:
    """Several lines, each read by itself later: a bad one is told with its number."""
    attrs = {"rows": 5, "maxlength": 4_000, "placeholder": example, "spellcheck": "false"}
    return ReadField(label, _lines, hint, required=True, widget=forms.Textarea, attrs=attrs)


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]


class OwnPlaceForm(WalkerForm):
    """Bearings you took of known things."""

    bearings = lines_field(
        "bearings, one a line",
        "Fire tower = local 120 300 = 45.5",
        "Name = place = azimuth. A place is local EAST NORTH in metres, all from one origin, along the same "
        "north as the azimuths; +-10 m may stand behind it.",
    )
    azimuth_unit = choice_field("azimuths are in", AZIMUTH_UNITS)
    angles = choice_field(
        "fix by",
        (("", "the azimuths"), ("angles", "the angles between them")),
        "Three bearings by their angles show how far the compass is off.",
    )


class SeenPlaceForm(WalkerForm):
    """Bearings taken at known places."""

    bearings = lines_field(
        "bearings, one a line",
        "local 75 0 = 338",
        "Place = azimuth, both taken of the same thing; a name and = may stand in front.",
    )
    azimuth_unit = choice_field("azimuths are in", AZIMUTH_UNITS)
    few: ClassVar[frozenset[str]] = frozenset()


def _entries(
    form: WalkerForm, parse: Callable[[str, AzimuthUnit], PlacedBearing]
) -> tuple[list[PlacedBearing], Any]:
    from pacewright.exceptions import Complaint

    unit = form.given("azimuth_unit")
    found = []
    for number, line in enumerate(form.given("bearings"), start=1):
        try:
            found.append(parse(line, unit))
        except Complaint as complaint:
            told = type(complaint)(f"line {number}: {complaint.what}", complaint.do)
            raise told.at(column="bearings") from None
    return found, unit


def answer_own_place(form: OwnPlaceForm) -> Answered:
    """Your own place."""
    from pacewright.answers.fixing import fix_own_place
    from pacewright.core.bearings.fix_entries import parse_bearing_to
    from pacewright.wording.fix_answer import say_placed_fix

    entries, unit = _entries(form, parse_bearing_to)
    found = fix_own_place(entries, form.who(), form.given("angles") == "angles")
    sentences, caution = split_caution(say_placed_fix(found, unit))
    return Answered(sentences, caution=caution)


def answer_seen_place(form: SeenPlaceForm) -> Answered:
    """The place of what was seen."""
    from pacewright.answers.fixing import fix_seen_place
    from pacewright.core.bearings.fix_entries import parse_bearing_from
    from pacewright.wording.fix_answer import say_placed_fix

    entries, unit = _entries(form, parse_bearing_from)
    sentences, caution = split_caution(say_placed_fix(fix_seen_place(entries, form.who()), unit))
    return Answered(sentences, caution=caution)


FIX_PAGES: Final = (
    AskPage(
        "own-place",
        "fix",
        "Where am I, by bearings",
        "My own place",
        "Two or more bearings of things whose places you know fix where you stand. Bearings written into a "
        "log are used there by themselves.",
        OwnPlaceForm,
        answer_own_place,
    ),
    AskPage(
        "seen-place",
        "fix",
        "Where is that, by bearings",
        "Something seen",
        "Two or more bearings of one thing, taken at places that you know, fix where it lies.",
        SeenPlaceForm,
        answer_seen_place,
    ),
)
