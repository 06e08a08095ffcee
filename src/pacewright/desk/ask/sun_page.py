"""The sun: rise, set and daylight at a place, a compass checked by it, daylight for a way back."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, ClassVar, Final

from django.utils import timezone

from pacewright.desk.ask.fields import (
    ReadField,
    WalkerForm,
    azimuth_field,
    choice_field,
    date_field,
    logs_of,
    number_field,
    text_field,
)
from pacewright.desk.ask.pages import Answered, AskPage, Rows, split_caution
from pacewright.desk.models import KeptLog, Member
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate
    from pacewright.answers.sunlight import CompassReading, WalkBack

MOST_RESERVE_MIN: Final = 1440


def read_place(text: str) -> Any:
    """The position that a text stands for."""
    from pacewright.ground.grid_text import parse_place

    return parse_place(text)


def read_declination(text: str) -> float:
    """The declination that a text stands for, east positive."""
    from pacewright.core.log.log_heading import parse_declination

    return parse_declination(text)


class SunForm(WalkerForm):
    """Where and when; more for a compass, and for the way back of a log."""

    place = ReadField("place", read_place, "Latitude and longitude, UTM, or MGRS.", required=True)
    date = date_field("day", required=True)
    time = text_field("time of day", "For the sun at that moment, such as 14:30.", attrs={"type": "time"})
    zone = text_field("clock", "Hours from universal time, such as +02:00.", attrs={"size": 7})
    log = choice_field("way back of", (), "Sets daylight left against the way back; needs the time.")
    compass = azimuth_field("a compass to check reads", "Needs the time.")
    line = choice_field(
        "it was read along",
        (("shadow", "the shadow of an upright stick"), ("sun", "the line to the sun"), ("tips", "two tips")),
        "Two tips: from a shadow's tip to where it lies some minutes later.",
    )
    wait_min = number_field("minutes between two tips")
    declination = ReadField("declination", read_declination, "Such as 5.5 E; empty: by the magnetic model.")
    declination_sd = number_field("the declination is sure to, degrees", "Standard deviation; empty: 0.5.")
    watch_sd_s = number_field("the watch is set to, seconds")
    plumb_sd = number_field("stick out of true, degrees")
    rule = choice_field(
        "rule of walking time", (("naismith", "Naismith"), ("langmuir", "Langmuir"), ("tobler", "Tobler"))
    )
    climb = number_field("metres up on the way back")
    descent = number_field("metres down on the way back")
    path = choice_field("the way back goes", (("off", "off path"), ("on", "on a path")))
    reserve_min = number_field("minutes kept in reserve", "Empty: half the walking time, at least 30.")
    few: ClassVar[frozenset[str]] = frozenset(
        (
            *("compass", "line", "wait_min", "declination", "declination_sd", "watch_sd_s", "plumb_sd"),
            *("rule", "climb", "descent", "path", "reserve_min"),
        )
    )
    begins: ClassVar[Mapping[str, str]] = {
        "wait_min": "30",
        "watch_sd_s": "60",
        "plumb_sd": "1.5",
        "climb": "0",
        "descent": "0",
    }

    def __init__(self, sent: Mapping[str, Any] | None, member: Member) -> None:
        super().__init__(sent, member)
        now = timezone.localtime()
        self.initial |= {"date": now.date().isoformat(), "zone": f"{now:%z}"[:3] + ":" + f"{now:%z}"[3:]}
        self.fields["log"].choices = [("", "no log"), *logs_of(member)]


def answer_sun_page(form: SunForm) -> Answered:
    """The day of the sun, and what was asked of a moment."""
    from pacewright.answers.sunlight import SunAsked, answer_sun, declination_for_sun
    from pacewright.drawing.sun_diagram import draw_sun_day
    from pacewright.files.clock_text import parse_moment, parse_zone
    from pacewright.files.field_model import bundled_field_model
    from pacewright.wording.sun_answer import say_sun

    place, date, clock = form.given("place"), form.given("date"), form.given("time")
    where = (place.latitude_deg, place.longitude_deg)
    zone, zone_name = _in("zone", lambda: parse_zone(form.given("zone") or "UTC"))
    when = None if clock is None else _in("time", lambda: parse_moment(date, clock, zone))
    declination = _in(
        "declination_sd",
        lambda: declination_for_sun(
            bundled_field_model(), where, date, form.given("declination"), form.given("declination_sd")
        ),
    )
    walker, estimate = _whose(form)
    asked = SunAsked(
        *where, date, zone, declination, when, _compass(form), None if estimate is None else _back(form)
    )
    if when is None and (asked.compass is not None or estimate is not None):
        raise MissingComplaint("a compass and a way back need the moment", "Give the time of day").at(
            column="time"
        )
    found = answer_sun(asked, walker, estimate)
    said = say_sun(found, zone_name, walker)
    sentences, caution = split_caution(said.sentences)
    magnetic_deg = None if declination is None else declination.deg
    drawn = draw_sun_day(*where, found.day, zone_name, magnetic_deg, dial_only=True)
    named = [(_called(table), table) for table in said.tables]
    return Answered(
        sentences,
        tables=named,
        figures=[("The way of the sun over the day.", drawn)],
        caution=caution,
    )


def _called(table: Rows) -> str:
    return "The way by every rule" if table[0][0] == "rule" else "The sun hour by hour"


def _in(column: str, work: Any) -> Any:
    try:
        return work()
    except Complaint as complaint:
        raise complaint.at(column=column) from None


def _whose(form: SunForm) -> tuple[Any, Estimate | None]:
    from pacewright.desk.notebook.page_reading import estimate_of
    from pacewright.desk.notebook.reading import whole_reading

    chosen = form.given("log")
    kept = KeptLog.objects.filter(owner=form.member, pk=uuid.UUID(chosen)).first() if chosen else None
    if kept is None:
        return form.who(), None
    log, walker = whole_reading(kept)
    return walker, estimate_of(kept, log, walker)


def _compass(form: SunForm) -> CompassReading | None:
    from pacewright.answers.sunlight import CompassReading

    read_deg = form.given("compass")
    if read_deg is None:
        return None
    return CompassReading(
        read_deg, form.given("line"), form.given("wait_min"), form.given("watch_sd_s"), form.given("plumb_sd")
    )


def _back(form: SunForm) -> WalkBack:
    from pacewright.answers.sunlight import WalkBack

    minutes = form.given("reserve_min")
    if minutes is not None and not 0 <= minutes <= MOST_RESERVE_MIN:
        raise ValueComplaint(
            f"{minutes:g} minutes cannot be a reserve", f"Give a number from 0 to {MOST_RESERVE_MIN}"
        ).at(column="reserve_min")
    reserve = None if minutes is None else datetime.timedelta(minutes=minutes)
    return WalkBack(
        form.given("climb"),
        form.given("descent"),
        form.given("path") != "on",
        form.given("rule"),
        reserve,
    )


SUN_PAGE: Final = AskPage(
    "sun",
    "sun",
    "Sun and daylight",
    "Sun",
    "Rise, set and twilight of a day; where the sun stands at a moment; a compass checked by it; daylight "
    "left against the way back of a log.",
    SunForm,
    answer_sun_page,
)
