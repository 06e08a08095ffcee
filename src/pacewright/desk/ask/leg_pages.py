"""Legs by map, and lengths from metres to paces and back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar, Final

from pacewright.desk.ask.fields import (
    ReadField,
    WalkerForm,
    choice_field,
    date_field,
    number_field,
    text_field,
)
from pacewright.desk.ask.fix_pages import lines_field
from pacewright.desk.ask.pages import Answered, AskPage, split_caution
from pacewright.desk.ask.sun_page import read_declination
from pacewright.exceptions import FormatComplaint

if TYPE_CHECKING:
    from pacewright.route.map_leg import Walking

RULES: Final = (
    ("naismith", "Naismith"),
    ("eight-to-one", "eight to one"),
    ("langmuir", "Langmuir"),
    ("tobler", "Tobler"),
)


class WalkingForm(WalkerForm):
    """How a length is walked."""

    ground = text_field("ground", "A class of the walker's pace table; empty: ordinary.")
    slope = choice_field("lie", (("", "not said"), ("up", "up"), ("level", "level"), ("down", "down")))
    climb_m = number_field("metres up on each leg", "For the time.")
    descent_m = number_field("metres down on each leg", "For the time.")
    rule = choice_field("rule of walking time", RULES)
    path = choice_field("it goes", (("on", "on a path"), ("off", "off path")))
    bead = choice_field("a bead of the cord is", (("", "a hundred paces"), ("metres", "a hundred metres")))
    few: ClassVar[frozenset[str]] = frozenset(
        ("ground", "slope", "climb_m", "descent_m", "rule", "path", "bead")
    )
    begins: ClassVar[Mapping[str, str]] = {"climb_m": "0", "descent_m": "0"}

    def walking(self) -> Walking:
        """How it is walked."""
        from pacewright.route.map_leg import Walking

        return Walking(
            self.who(),
            self.given("ground"),
            self.given("slope") or None,
            self.given("climb_m"),
            self.given("descent_m"),
            self.given("rule"),
            self.given("path") == "off",
            self.given("bead") == "metres",
        )


class LegForm(WalkingForm):
    """From place to place."""

    places = lines_field(
        "places, one a line, in the order of the walk",
        "Gate = 37.4521 -119.2984\nCamp = 37.4702 -119.2911",
        "Latitude and longitude, UTM, MGRS, or local EAST NORTH in metres; a name and = may stand in front.",
    )
    north = choice_field(
        "azimuths by", (("magnetic", "magnetic north"), ("true", "true north"), ("grid", "grid north"))
    )
    date = date_field("date of the declination", "Empty: today.")
    declination = ReadField("declination", read_declination, "Such as 5.5 E; empty: by the magnetic model.")
    few: ClassVar[frozenset[str]] = WalkingForm.few | {"date", "declination"}
    field_order: ClassVar[tuple[str, ...]] = ("places", "north")


class LengthForm(WalkingForm):
    """A length turned."""

    length = number_field("a length of", required=True)
    unit = choice_field("is in", (("metres", "metres"), ("paces", "own paces")))
    field_order: ClassVar[tuple[str, ...]] = ("length", "unit")


def _named(line: str, number: int) -> tuple[str, str]:
    name, mark, place = line.rpartition("=")
    if mark and not place.strip():
        raise FormatComplaint(
            f"line {number} names {name.strip()[:40]} and no place", "Write the place behind the ="
        ).at(column="places")
    place = place.strip()
    return (name.strip() or place), place


def answer_leg_page(form: LegForm) -> Answered:
    """The leg, or a leg card for several."""
    from django.utils import timezone

    from pacewright.answers.map_legs import LegsAsked, answer_map_legs
    from pacewright.files.field_model import bundled_field_model
    from pacewright.wording.map_legs import say_map_legs

    named = [_named(line, number) for number, line in enumerate(form.given("places"), start=1)]
    names = [name for name, _ in named]
    when = (form.given("date") or timezone.localdate()).isoformat()
    asked = LegsAsked(
        names, form.walking(), dict(named), form.given("north"), when, form.given("declination")
    )
    legs = answer_map_legs(bundled_field_model(), asked)
    said = say_map_legs(legs, names)
    sentences, caution = split_caution(said.sentences)
    tables = [("Leg card", table) for table in said.tables]
    if tables:
        return Answered(sentences, tables=tables, caution=caution)
    return Answered(sentences[1:], short=sentences[0], caution=caution)


def answer_length_page(form: LengthForm) -> Answered:
    """Metres in paces, or paces in metres."""
    from pacewright.route.map_leg import metres_of, paced_length
    from pacewright.wording.map_legs import say_length_turned

    walking, length = form.walking(), form.given("length")
    is_metres = form.given("unit") == "metres"
    metres = length if is_metres else metres_of(length, walking)
    short, *more = say_length_turned(paced_length(metres, walking), walking.ground, is_metres=is_metres)
    return Answered(more, short=short)


LEG_PAGES: Final = (
    AskPage(
        "leg",
        "leg",
        "From place to place",
        "Leg by map",
        "The leg from one place to another by map: azimuth, own paces, cord, time, back azimuth. More than "
        "two places make a leg card.",
        LegForm,
        answer_leg_page,
    ),
    AskPage(
        "length",
        "leg",
        "Metres to paces and back",
        "A length",
        "A length in your own paces on a ground, on the cord, and in time.",
        LengthForm,
        answer_length_page,
    ),
)
