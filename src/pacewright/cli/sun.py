"""pacewright sun: rise and set, where the sun stands, the compass by it, daylight for the way back."""

from __future__ import annotations

import datetime
import re
from typing import TYPE_CHECKING, Any, Final

import click

from pacewright.cli.angles import angle_option
from pacewright.cli.measures import METRES, NUMBER
from pacewright.cli.options import (
    json_option,
    open_log,
    open_walker,
    option_azimuth,
    probability_option,
    time_rule_option,
    walker_option,
)
from pacewright.cli.output import Answer, Table, say, write_out
from pacewright.cli.renamed import NewName, picture_option
from pacewright.cli.when import read_date, read_moment, read_zone
from pacewright.exceptions import ValueComplaint

if TYPE_CHECKING:
    from pacewright.answers.sunlight import SunAnswer, SunAsked, UsedDeclination
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker

_DAY_MIN: Final = 1440
_TWO_NUMBERS: Final = re.compile(r"([+-]?\d+(?:\.\d+)?)(?:\s+|,\s*(?=[+-])|,\s+)([+-]?\d+(?:\.\d+)?)")


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
    "--read-along",
    "--line",
    "line",
    cls=NewName,
    type=click.Choice(["sun", "shadow", "tips"]),
    default="shadow",
    show_default=True,
    help="What --compass was read along: toward the sun; along an upright stick's shadow; from a shadow's "
    "tip to where it lies --wait-min later.",
)
@click.option("--wait-min", type=NUMBER, default=30.0, show_default=True, help="Minutes between two tips.")
@click.option("--declination", metavar="DEG", help="Such as '5.5 E'; by the magnetic model if not given.")
@click.option("--declination-sd", type=NUMBER, help="How well it is known, degrees (0.5 if not given).")
@click.option("--watch-sd-s", type=NUMBER, default=60.0, show_default=True, help="How well the watch is set.")
@click.option(
    "--plumb-sd",
    type=NUMBER,
    default=1.5,
    show_default=True,
    help="Stick (tips: ground) out of true, degrees.",
)
@click.option("--back", "log_file", metavar="LOG", help="Daylight left against the way back of this log.")
@time_rule_option
@click.option(
    "--climb-m", "--climb", "climb", cls=NewName, type=METRES, default=0.0, help="Metres up on the way back."
)
@click.option(
    "--descent-m",
    "--descent",
    "descent",
    cls=NewName,
    type=METRES,
    default=0.0,
    help="Metres down on the way back.",
)
@click.option(
    "--off-path/--on-path",
    default=True,
    help="Walking by azimuth leads off the paths: 4 km/h and not 5, unless --on-path.",
)
@click.option(
    "--reserve-min",
    type=NUMBER,
    help="Minutes kept on top of the walking time (default: half of it, at least 30).",
)
@walker_option
@picture_option("the day")
@probability_option
@angle_option
@json_option
def command(place: tuple[str, ...], **given: Any) -> int:
    """Say when the sun rises and sets, where it stands, and how much daylight is left.

    The place is latitude and longitude (47.5 -8.25, north and east positive), UTM, or MGRS. Exit code 1: the
    compass is off by more than chance, or the daylight is too short for the way back and its reserve.
    """
    from pacewright.answers.sunlight import answer_sun
    from pacewright.files.known_places import open_estimate
    from pacewright.files.sun_json import sun_keys
    from pacewright.wording.sun_answer import say_sun

    where = read_place(place)
    log = open_log(given["log_file"]) if given["log_file"] else None
    walker = open_walker(given["walker_file"])
    asked, zone_name = _asked(where, given, log)
    if asked.when is None and (given["compass"] or log):
        raise click.UsageError("--compass and --back need the moment: add --time and --zone.")
    found = answer_sun(asked, walker, None if log is None else open_estimate(log, walker))
    said = say_sun(found, zone_name, walker)
    if given["out"]:
        _draw(found, zone_name, given["out"], given["force"])
    tables = [Table(*table) for table in said.tables]
    keys = sun_keys(found, zone_name) | ({} if log is None else _log_keys(found, log, walker))
    say(Answer(keys, said.sentences, tables, finding=found.is_finding), given["as_json"])
    return int(found.is_finding)


def _asked(where: tuple[float, float], given: dict[str, Any], log: TravelLog | None) -> tuple[SunAsked, str]:
    from pacewright.answers.sunlight import CompassReading, SunAsked, WalkBack
    from pacewright.route.travel_cost import find_rule

    date = read_date(given["date"], log)
    zone, zone_name = read_zone(given["zone"], bool(given["clock_time"]))
    compass = back = None
    if given["compass"]:
        compass = CompassReading(
            option_azimuth("--compass", given["compass"], "degrees"),
            given["line"],
            given["wait_min"],
            given["watch_sd_s"],
            given["plumb_sd"],
        )
    if log is not None:
        reserve = _minutes("--reserve-min", given["reserve_min"])
        rule = find_rule(given["rule"]).name
        back = WalkBack(given["climb"], given["descent"], given["off_path"], rule, reserve)
    asked = SunAsked(
        *where,
        date,
        zone,
        read_declination(where, date, given["declination"], given["declination_sd"], log),
        read_moment(given["clock_time"], date, zone),
        compass,
        back,
        given["probability"],
    )
    return asked, zone_name


def _log_keys(found: SunAnswer, log: TravelLog, walker: Walker) -> dict[str, Any]:
    from pacewright.files.result_json import reading_keys
    from pacewright.files.sun_json import sun_back_keys

    return {"back": {**sun_back_keys(found), **reading_keys(log, walker)}}


def _draw(found: SunAnswer, zone_name: str, out: str, force: bool) -> None:
    from pathlib import PurePath

    from pacewright.drawing.render import render
    from pacewright.drawing.sun_diagram import draw_sun_day

    asked = found.asked
    declination_deg = None if asked.declination is None else asked.declination.deg
    drawn = draw_sun_day(asked.latitude_deg, asked.longitude_deg, found.day, zone_name, declination_deg)
    write_out(out, render(drawn, PurePath(out).suffix), force)


def read_place(words: tuple[str, ...]) -> tuple[float, float]:
    """The latitude and longitude that words name."""
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


def _minutes(option: str, minutes: float | None) -> datetime.timedelta | None:
    if minutes is None:
        return None
    if not 0 <= minutes <= _DAY_MIN:
        raise ValueComplaint(
            f"{option}: {minutes:g} minutes cannot be", f"Give a number from 0 to {_DAY_MIN}"
        )
    return datetime.timedelta(minutes=minutes)


def read_declination(
    where: tuple[float, float],
    date: datetime.date,
    text: str | None,
    sd_deg: float | None,
    log: TravelLog | None = None,
) -> UsedDeclination | None:
    """The declination that is stated, else that of a magnetic log, else that of the magnetic model."""
    from pacewright.answers.sunlight import declination_for_sun
    from pacewright.core.log.log_heading import parse_declination
    from pacewright.files.field_model import bundled_field_model

    stated_deg = None if text is None else parse_declination(text)
    origin = "as stated"
    if stated_deg is None and log is not None and log.heading.azimuth_reference == "magnetic":
        stated_deg, origin = log.heading.declination_deg, "by the log's heading"
    try:
        return declination_for_sun(bundled_field_model(), where, date, stated_deg, sd_deg, origin)
    except ValueComplaint as complaint:
        raise ValueComplaint(f"--declination-sd: {complaint.what}", complaint.do) from None
