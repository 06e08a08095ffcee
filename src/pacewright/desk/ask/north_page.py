"""Declination and convergence at a place, and an azimuth taken from one north to another."""

from __future__ import annotations

from typing import ClassVar, Final

from pacewright.desk.ask.fields import AskForm, ReadField, azimuth_field, choice_field, date_field
from pacewright.desk.ask.pages import Answered, AskPage
from pacewright.desk.ask.sun_page import read_place

NORTHS: Final = (("magnetic", "magnetic north"), ("true", "true north"), ("grid", "grid north"))


class NorthForm(AskForm):
    """Where and when; an azimuth to take to another north."""

    place = ReadField("place", read_place, "Latitude and longitude, UTM, or MGRS.", required=True)
    date = date_field("day", "Empty: today.")
    azimuth = azimuth_field("an azimuth to turn")
    north = choice_field("it is counted from", NORTHS)
    to_north = choice_field("it is wanted from", (NORTHS[2], NORTHS[1], NORTHS[0]))
    few: ClassVar[frozenset[str]] = frozenset()


def answer_north_page(form: NorthForm) -> Answered:
    """The three norths, and the azimuth turned."""
    from django.utils import timezone

    from pacewright.drawing.north_diagram import draw_norths
    from pacewright.files.field_model import bundled_field_model
    from pacewright.ground.grid_text import format_place
    from pacewright.ground.north import convert_azimuth
    from pacewright.ground.norths_at import norths_at
    from pacewright.wording import norths

    position, azimuth_deg = form.given("place"), form.given("azimuth")
    when = (form.given("date") or timezone.localdate()).isoformat()
    here = norths_at(bundled_field_model(), position, when)
    asked: list[str] = []
    if azimuth_deg is not None:
        change = convert_azimuth(azimuth_deg, form.given("north"), form.given("to_north"), here.relation)
        asked.append(norths.say_azimuth_change(change, "degrees"))
    sentences = [
        f"At {format_place(position)} ({format_place(position, 'mgrs')}).",
        *norths.say_norths(here, asked),
    ]
    drawn = draw_norths(here.relation, f"{format_place(position)}, {when}", unit="degrees", dial_only=True)
    return Answered(
        sentences,
        tables=[("From one north to another", norths.rule_table(here.relation, "degrees"))],
        figures=[("The three norths.", drawn)],
    )


NORTH_PAGE: Final = AskPage(
    "norths",
    "norths",
    "The three norths",
    "Norths",
    "Declination, grid convergence and what lies between compass and map at a place; an azimuth turned from "
    "one north to another.",
    NorthForm,
    answer_north_page,
)
