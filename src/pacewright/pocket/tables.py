"""Tables that travel inside the pocket page, in the words and numbers of the printed cards."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from pacewright.core.compass import AzimuthUnit
from pacewright.core.pace.walker import Walker
from pacewright.exceptions import ValueComplaint
from pacewright.ground.declination import FieldModel
from pacewright.ground.norths_at import NorthsAt

MOST_PLACES: Final = 12
"""From each of twelve to the eleven others is as much as a phone's page ought to be asked to hold."""

Table = dict[str, Any]


@dataclass(frozen=True, slots=True)
class SunAsked:
    """Of which place, from which day on, for how many days, and by which clock the sun is told."""

    latitude_deg: float
    longitude_deg: float
    date: datetime.date
    days: int
    zone: datetime.tzinfo
    zone_name: str


def sun_tables(asked: SunAsked) -> list[Table]:
    """Rise, set and light of the days asked for."""
    from pacewright.ground.sun_day import sun_day
    from pacewright.wording.sun import say_sun_day

    dates = [asked.date + datetime.timedelta(days=k) for k in range(asked.days)]
    said = (
        say_sun_day(sun_day(asked.latitude_deg, asked.longitude_deg, date, asked.zone), asked.zone_name)
        for date in dates
    )
    return [
        {"title": f"Sun, {date.isoformat()}", "says": sentences}
        for date, sentences in zip(dates, said, strict=True)
    ]


def north_tables(here: NorthsAt, unit: AzimuthUnit = "degrees") -> list[Table]:
    """The declination of a place, what to do to an azimuth, and azimuth by azimuth, as on its card."""
    from pacewright.sheets.north_card import AZIMUTH_HEADS, azimuth_rows
    from pacewright.wording.norths import rule_table, say_norths

    heading, rules = rule_table(here.relation, unit)
    by_azimuth = [f"{AZIMUTH_HEADS[0]}{unit}", *AZIMUTH_HEADS[1:]]
    return [
        _table(f"Norths, {here.when}", heading[:3], [row[:3] for row in rules], say_norths(here)),
        _table("Azimuth by azimuth", by_azimuth, azimuth_rows(here.relation, unit)),
    ]


def place_tables(places: Mapping[str, str], walker: Walker, model: FieldModel, when: str) -> list[Table]:
    """The places of a map, and from each the way to every other: azimuth, own paces, cord.

    Parameters
    ----------
    places
        Places as they are written, by name.
    walker
        Whose paces.
    model, when
        Magnetic model and date of the declination.

    Raises
    ------
    Complaint
        A place cannot be read, the places are of two kinds, or there are too many.
    """
    from pacewright.answers.map_legs import LegsAsked, answer_map_legs
    from pacewright.route.map_leg import Walking
    from pacewright.wording.map_legs import leg_card_table

    if len(places) > MOST_PLACES:
        raise ValueComplaint(
            f"{len(places)} places are more than the pocket page holds",
            f"Keep the {MOST_PLACES} that you may walk to",
        )
    found = [_table("Places on the map", ("name", "place"), places.items())]
    for here in places:
        others = [name for name in places if name != here]
        pairs = [LegsAsked((here, there), Walking(walker), places, "magnetic", when) for there in others]
        legs = [answer_map_legs(model, pair)[0] for pair in pairs]
        if not legs:
            continue
        # The first column numbers legs walked one after the other; these all begin at one place.
        heading, rows = leg_card_table(legs, [here, *others])
        says = [f"Azimuths {legs[0].north}, straight across, whatever lies between."]
        found.append(_table(f"By map from {here}", heading[1:], [row[1:] for row in rows], says))
    return found


def pace_tables_of(walker: Walker) -> list[Table]:
    """The walker's pace card; nothing without a pace count."""
    if walker.per_100_m is None:
        return []
    from pacewright.sheets.pace_card import pace_tables

    return [_table(title, heading, rows) for title, (heading, rows) in pace_tables(walker)]


def card_tables() -> list[Table]:
    """The cards that belong to no log: how far without walking there, angles by hand, when lost."""
    from pacewright.sheets.ranging_card import METHODS
    from pacewright.wording import sheets_field as field

    ranging = [_table(f"How far: {one.title.lower()}", one.heads, one.rows, [one.how]) for one in METHODS]
    hands = _table("Angles by hand", ("at arm's length", "usual mils"), field.HAND_ROWS, field.HAND_HOW)
    lost = {"title": "When you are lost", "says": [*field.LOST_STEPS, *field.LOST_SIGNALS]}
    return [*ranging, hands, lost]


def _table(title: str, heading: Sequence[str], rows: Any, says: Sequence[str] = ()) -> Table:
    """A table as the page takes one; a heading of several printed lines is one here."""
    plain = [head.replace("\n", " ") for head in heading]
    return {"title": title, "heading": plain, "rows": [list(row) for row in rows], "says": list(says)}
