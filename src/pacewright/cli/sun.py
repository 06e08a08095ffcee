"""pacewright sun: rise and set, where the sun stands, the compass by it, daylight for the way back."""

from __future__ import annotations

import datetime
import re
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import click

from pacewright.cli.options import (
    json_option,
    open_log,
    open_walker,
    out_options,
    probability_option,
    walker_option,
)
from pacewright.cli.output import Answer, Table, say, write_out
from pacewright.cli.when import read_date, read_zone
from pacewright.exceptions import MissingComplaint, ValueComplaint

if TYPE_CHECKING:
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.ground.sun_compass import SunLine
    from pacewright.ground.sun_day import SunDay

_STATED_SD_DEG: Final = 0.5
"""A declination read off a map or told (assumed)."""

_WIDEST_SD_DEG: Final = 30
_DAY_MIN: Final = 1440
_TWO_NUMBERS: Final = re.compile(r"([+-]?\d+(?:\.\d+)?)[\s,]+([+-]?\d+(?:\.\d+)?)")
_TIME: Final = re.compile(r"(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2}))?")


class _Declination(NamedTuple):
    deg: float
    sd_deg: float
    origin: str


# A southern latitude begins with a minus and must not be taken for an option.
@click.command("sun", context_settings={"ignore_unknown_options": True})
@click.argument("place", nargs=-1, required=True, metavar="LAT LON | PLACE")
@click.option("--date", metavar="DATE", help="Year-month-day; by default the date of the log of --back.")
@click.option("--time", "clock_time", metavar="HH:MM", help="A moment of that day; needs --zone.")
@click.option(
    "--zone",
    metavar="+HH:MM",
    help="The clock's offset from universal time, such as +02:00 or -05:00 (UTC if there is no --time); "
    "a zone's name where this machine knows it.",
)
@click.option("--compass", metavar="AZIMUTH", help="Check a compass: what it read.")
@click.option(
    "--line",
    type=click.Choice(["sun", "shadow", "tips"]),
    default="shadow",
    show_default=True,
    help="What --compass was read along: toward the sun; along an upright stick's shadow; from a shadow's "
    "tip to where it lies --wait-min later.",
)
@click.option("--wait-min", type=float, default=30.0, show_default=True, help="Minutes between two tips.")
@click.option("--declination", metavar="DEG", help="Such as '5.5 E'; by the magnetic model if not given.")
@click.option("--declination-sd", type=float, help="How well it is known, degrees (0.5 if not given).")
@click.option("--watch-sd-s", type=float, default=60.0, show_default=True, help="How well the watch is set.")
@click.option(
    "--plumb-sd",
    type=float,
    default=1.5,
    show_default=True,
    help="Stick (tips: ground) out of true, degrees.",
)
@click.option("--back", "log_file", metavar="LOG", help="Daylight left against the way back of this log.")
@click.option(
    "--rule",
    type=click.Choice(["naismith", "langmuir", "tobler"]),
    default="naismith",
    show_default=True,
    help="Rule of walking time.",
)
@click.option("--climb", type=float, default=0.0, metavar="M", help="Metres up on the way back.")
@click.option("--descent", type=float, default=0.0, metavar="M", help="Metres down on the way back.")
@click.option("--on-path", is_flag=True, help="The way back follows a path.")
@click.option(
    "--reserve-min",
    type=float,
    help="Minutes kept on top of the walking time (default: half of it, at least 30).",
)
@walker_option
@out_options("the picture of the day (.svg, .png or .pdf)")
@probability_option
@json_option
def command(place: tuple[str, ...], **given: Any) -> int:
    """Say when the sun rises and sets, where it stands, and how much daylight is left.

    The place is latitude and longitude (47.5 -8.25, north and east positive), UTM, or MGRS. Exit code 1: the
    compass is off by more than chance, or the daylight is too short for the way back and its reserve.
    """
    where = _place(place)
    log = open_log(given["log_file"]) if given["log_file"] else None
    date = read_date(given["date"], log)
    zone, zone_name = read_zone(given["zone"], bool(given["clock_time"]))
    when = _moment(date, given["clock_time"], zone)
    if when is None and (given["compass"] or log):
        raise click.UsageError("--compass and --back need the moment: add --time and --zone.")
    declination = _declination(where, date, given["declination"], given["declination_sd"])
    given["walker"] = open_walker(given["walker_file"])
    parts = [_day(where, date, zone, zone_name, declination, given)]
    if when is not None:
        parts.append(_now(where, when, declination))
        if given["compass"]:
            parts.append(_compass(where, when, declination, given))
        if log is not None:
            parts.append(_back(where, when, log, given))
    answer = _joined(parts)
    say(answer, given["as_json"])
    return int(answer.finding)


def _day(
    where: tuple[float, float],
    date: datetime.date,
    zone: datetime.tzinfo,
    zone_name: str,
    declination: _Declination | None,
    given: dict[str, Any],
) -> Answer:
    from pacewright.files.sun_json import sun_day_keys
    from pacewright.ground.sun import sun_track
    from pacewright.ground.sun_day import sun_day
    from pacewright.wording.sun import hours_table, say_declination_used, say_sun_day

    day = sun_day(*where, date, zone)
    start = datetime.datetime.combine(date, datetime.time(0), zone).astimezone(datetime.UTC)
    hours = [(start + datetime.timedelta(hours=h)).astimezone(zone) for h in range(24)]
    declination_deg = None if declination is None else declination.deg
    table = Table(*hours_table(hours, sun_track(*where, hours), declination_deg))
    if given["out"]:
        _draw(where, day, zone_name, declination_deg, given)
    keys = {**sun_day_keys(*where, day), "zone": zone_name, "declination_deg": declination_deg}
    sentences = say_sun_day(day, zone_name)
    if declination is not None:
        sentences.append(say_declination_used(declination.deg, declination.sd_deg, declination.origin))
    return Answer(keys, sentences, [table] if table.rows else [])


def _draw(
    where: tuple[float, float],
    day: SunDay,
    zone_name: str,
    declination_deg: float | None,
    given: dict[str, Any],
) -> None:
    from pathlib import PurePath

    from pacewright.drawing.render import render
    from pacewright.drawing.sun_diagram import draw_sun_day

    drawn = draw_sun_day(*where, day, zone_name, declination_deg)
    write_out(given["out"], render(drawn, PurePath(given["out"]).suffix), given["force"])


def _now(where: tuple[float, float], when: datetime.datetime, declination: _Declination | None) -> Answer:
    from pacewright.files.sun_json import sun_now_keys
    from pacewright.ground.sun import sun_position
    from pacewright.ground.sun_day import daylight
    from pacewright.wording.sun import say_daylight, say_sun_now

    sun, light = sun_position(*where, when), daylight(*where, when)
    declination_deg = None if declination is None else declination.deg
    sentences = [say_sun_now(sun, when, declination_deg), say_daylight(light)]
    return Answer({"at": sun_now_keys(sun, light)}, sentences)


def _compass(
    where: tuple[float, float],
    when: datetime.datetime,
    declination: _Declination | None,
    given: dict[str, Any],
) -> Answer:
    from pacewright.core.compass import parse_azimuth
    from pacewright.files.sun_json import compass_check_keys
    from pacewright.ground.sun_compass import SunSighting, check_compass
    from pacewright.wording.sun import say_compass_check

    if declination is None:
        raise MissingComplaint(
            "a compass cannot be checked by the sun without the declination, and the tool's magnetic model "
            "does not hold for that date",
            "Add it, such as --declination '5.5 E' (--declination 0 if the compass is set to true north)",
        )
    line: SunLine = given["line"]
    scatter = given["walker"].compass
    check = check_compass(
        SunSighting(
            *where,
            when,
            parse_azimuth(given["compass"]),
            line,
            declination_deg=declination.deg,
            declination_sd_deg=declination.sd_deg,
            sighting_sd_deg=scatter.sighting_sd_deg,
            reading_interval_deg=scatter.reading_interval_deg,
            watch_sd_s=given["watch_sd_s"],
            plumb_sd_deg=given["plumb_sd"],
            wait_min=given["wait_min"],
        )
    )
    keys = compass_check_keys(check) | {"is_off": check.is_off(given["probability"])}
    sentences = say_compass_check(check, given["probability"])
    return Answer({"compass": keys}, sentences, finding=check.is_off(given["probability"]))


def _back(
    where: tuple[float, float], when: datetime.datetime, log: TravelLog, given: dict[str, Any]
) -> Answer:
    from pacewright.answers.daylight import time_way
    from pacewright.files.known_places import open_estimate
    from pacewright.files.result_json import reading_keys
    from pacewright.files.sun_json import way_time_keys
    from pacewright.ground.sun_day import daylight
    from pacewright.route.travel_cost import find_rule
    from pacewright.wording.sun import rules_table, say_daylight_check, say_no_time_to_set_out, say_way_time
    from pacewright.wording.walk import say_assumed
    from pacewright.wording.way_answer import say_doubt

    walker, climb_m, descent_m = given["walker"], given["climb"], given["descent"]
    timed = time_way(
        open_estimate(log, walker), climb_m=climb_m, descent_m=descent_m, off_path=not given["on_path"]
    )
    rule = find_rule(given["rule"])
    check = timed.check(rule.name, daylight(*where, when), _minutes("--reserve-min", given["reserve_min"]))
    keys = {"back": {**way_time_keys(timed, rule, check), **reading_keys(log, walker)}}
    sentences = [
        *say_doubt(timed.answer),
        *say_assumed(log, walker),
        say_way_time(timed, rule, not given["on_path"], climb_m, descent_m),
    ]
    if timed.is_there:
        return Answer(keys, sentences)
    said = say_no_time_to_set_out(timed) if timed.is_doubted else say_daylight_check(check)
    return Answer(
        keys,
        [*sentences, *said],
        [Table(*rules_table(timed.times))],
        finding=timed.is_doubted or not check.is_enough,
    )


def _joined(parts: list[Answer]) -> Answer:
    data: dict[str, Any] = {}
    for part in parts:
        data |= part.data
    return Answer(
        data,
        [sentence for part in parts for sentence in part.sentences],
        [table for part in parts for table in part.tables],
        finding=any(part.finding for part in parts),
    )


def _place(words: tuple[str, ...]) -> tuple[float, float]:
    for word in words:
        if re.match(r"-+[A-Za-z]", word):
            raise click.NoSuchOption(word)
    text = " ".join(words)
    # Two plain numbers need no grid, and so no slow start.
    if match := _TWO_NUMBERS.fullmatch(text.strip()):
        from pacewright.ground.sun import check_place

        where = float(match[1]), float(match[2])
        check_place(*where)
        return where
    from pacewright.ground.grid_text import parse_place

    position = parse_place(text)
    return position.latitude_deg, position.longitude_deg


def _moment(date: datetime.date, text: str | None, zone: datetime.tzinfo) -> datetime.datetime | None:
    if text is None:
        return None
    match = _TIME.fullmatch(text.strip())
    try:
        if match is None:
            raise ValueError
        clock = datetime.time(int(match["hour"]), int(match["minute"]), int(match["second"] or 0))
    except ValueError:
        raise ValueComplaint(
            f"--time: {text[:40]} is not a time of the day", "Write hours and minutes, such as 14:30"
        ) from None
    when = datetime.datetime.combine(date, clock, zone)
    if when.utcoffset() != when.replace(fold=1).utcoffset():
        raise ValueComplaint(
            f"--time: at {text.strip()} of that day the clocks of that zone are changed, so it is not sure",
            "Give the clock's offset as --zone, such as +02:00",
        )
    return when


def _minutes(option: str, minutes: float | None) -> datetime.timedelta | None:
    if minutes is None:
        return None
    if not 0 <= minutes <= _DAY_MIN:
        raise ValueComplaint(
            f"{option}: {minutes:g} minutes cannot be", f"Give a number from 0 to {_DAY_MIN}"
        )
    return datetime.timedelta(minutes=minutes)


def _declination(
    where: tuple[float, float], date: datetime.date, text: str | None, sd_deg: float | None
) -> _Declination | None:
    """Give the declination as stated, else by the magnetic model; None where that does not hold."""
    from pacewright.core.log.log_heading import parse_declination

    if sd_deg is not None and not 0 <= sd_deg <= _WIDEST_SD_DEG:
        raise ValueComplaint(
            f"--declination-sd: {sd_deg:g} degrees cannot be", f"Give a number from 0 to {_WIDEST_SD_DEG}"
        )
    if text is not None:
        return _Declination(
            parse_declination(text), _STATED_SD_DEG if sd_deg is None else sd_deg, "as stated"
        )
    from pacewright.files.field_model import bundled_field_model
    from pacewright.ground.declination import decimal_year, declination_at

    model = bundled_field_model()
    if not model.valid_from <= date < model.valid_to:
        return None
    found = declination_at(model, *where, decimal_year(date))
    own_sd_deg = found.declination_sd_deg if sd_deg is None else sd_deg
    return _Declination(found.declination_deg, own_sd_deg, f"by {model.name}")
