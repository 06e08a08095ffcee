"""Legs by map: azimuth, count and cord first, then how far, how long, and the way back."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from pacewright.route.map_leg import MapLeg, PacedLength
from pacewright.route.travel_cost import RULES, RuleName
from pacewright.wording.adjusted_answer import Said
from pacewright.wording.numbers import say_azimuth, say_cord, say_length
from pacewright.wording.sun import say_duration
from pacewright.wording.walk import CAUTION, Rows


def say_map_leg(leg: MapLeg) -> str:
    """Write what to walk and nothing else: azimuth, count (metres without a pace count), cord."""
    return "  ".join((say_azimuth(leg.azimuth_deg), say_paced(leg.length)))


def say_paced(length: PacedLength) -> str:
    """Write a length to walk: count and cord; metres without a pace count."""
    if length.count is None or length.tally is None:
        return say_length(length.metres, "metre")
    return "  ".join(part for part in (say_length(length.count, "pace"), say_cord(length.tally)) if part)


def say_leg_more(leg: MapLeg, here: str, there: str) -> list[str]:
    """Say between which places a leg leads, by which north, how long it is, and the azimuth back."""
    return [
        f"From {here} to {there} ({leg.north}): {say_length(leg.length.metres, 'metre')}, {say_minutes(leg.length)}.",
        f"Back azimuth {say_azimuth(leg.back_azimuth_deg)}.",
    ]


def say_map_legs(legs: Sequence[MapLeg], names: Sequence[str]) -> Said:
    """Say one leg in sentences, and several as a leg card."""
    missing = [say_no_pace_count()] if legs[0].length.count is None else []
    if len(legs) == 1:
        return Said((say_map_leg(legs[0]), *say_leg_more(legs[0], *names), *missing, CAUTION), ())
    total_m = sum(leg.length.metres for leg in legs)
    first = f"{len(legs)} legs, {total_m:.0f} metres, azimuths {legs[0].north}."
    return Said((first, *missing, CAUTION), (leg_card_table(legs, names),))


def say_length_turned(length: PacedLength, ground: str | None, *, is_metres: bool) -> list[str]:
    """Say metres in paces, or paces in metres, and how long they take."""
    metres = say_length(length.metres, "metre")
    missing = [say_no_pace_count()] if length.count is None else []
    on = f" on {ground}" if ground else ""
    more = f"{metres}{on} take {say_minutes(length)} without rests."
    return [say_paced(length) if is_metres else metres, more, *missing]


def say_minutes(length: PacedLength) -> str:
    """Write how long a length takes."""
    return say_duration(datetime.timedelta(minutes=length.minutes))


def say_time_rule(name: RuleName, off_path: bool) -> str:
    """By which rule the time is, and whose it is."""
    rule = RULES[name]
    where = "off path" if off_path else "on a path (--off-path takes longer)"
    return f"Time by {name}, {where}, without rests: {rule.says}. Source: {rule.source}."


def say_no_pace_count() -> str:
    """Say why there is no count."""
    return "Your pace count is not known, so this is in metres: give --walker (see pacewright calibrate)."


def leg_card_table(legs: Sequence[MapLeg], names: Sequence[str]) -> Rows:
    """Several legs as a leg card."""
    heading = ("leg", "to", "azimuth", "paces", "cord", "metres", "time", "back")
    rows: list[tuple[str, ...]] = []
    for number, (leg, there) in enumerate(zip(legs, names[1:], strict=True), start=1):
        length = leg.length
        rows.append(
            (
                str(number),
                there,
                say_azimuth(leg.azimuth_deg),
                "-" if length.count is None else str(length.count),
                "" if length.tally is None else say_cord(length.tally),
                f"{length.metres:.0f}",
                say_minutes(length),
                say_azimuth(leg.back_azimuth_deg),
            )
        )
    return heading, rows
