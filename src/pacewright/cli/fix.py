"""pacewright fix: your own place, or that of something you saw, from bearings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from pacewright.cli.angles import angle_option
from pacewright.cli.options import json_option, open_log, open_walker, probability_option, walker_option
from pacewright.cli.output import Answer, answer_each, say
from pacewright.cli.renamed import NewName
from pacewright.exceptions import Complaint

if TYPE_CHECKING:
    from pacewright.answers.fixing import FixAsked
    from pacewright.core.bearings.fix_entries import PlacedBearing
    from pacewright.core.compass import AzimuthUnit
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker


@click.command()
@click.argument("files", nargs=-1, metavar="[FILE]...")
@click.option("--station", metavar="NAME|INDEX", help="Fix this station of the log only.")
@click.option("--landmark", metavar="NAME", help="Fix this landmark of the log only.")
@click.option(
    "--bearing",
    "bearings_to",
    multiple=True,
    metavar="NAME=PLACE=AZIMUTH",
    help="Without a log: a bearing you took of a known thing; two or more fix your place.",
)
@click.option(
    "--taken-at",
    "--from",
    "bearings_from",
    cls=NewName,
    multiple=True,
    metavar="PLACE=AZIMUTH",
    help="Without a log: a bearing taken at a known place; two or more fix what was seen.",
)
@click.option(
    "--angles-only",
    is_flag=True,
    help="Use the angles between bearings only; three or more then show how far the compass is off.",
)
@click.option(
    "--azimuth-unit",
    type=click.Choice(["degrees", "mils", "gon"]),
    default="degrees",
    show_default=True,
    help="Unit of --bearing and --taken-at; a log says its own.",
)
@walker_option
@probability_option
@angle_option
@json_option
def command(
    files: tuple[str, ...],
    station: str | None,
    landmark: str | None,
    bearings_to: tuple[str, ...],
    bearings_from: tuple[str, ...],
    angles_only: bool,
    azimuth_unit: AzimuthUnit,
    walker_file: str | None,
    probability: float,
    as_json: bool,
) -> int:
    """Fix your own place from known things, or something you saw from two stations.

    With a log, its bearings ([see NAME]) and its known points do; without --station and --landmark all
    that they fix is said. PLACE is 'local EAST NORTH' in metres, with '+-10 m' behind it if you like, along
    the same north as the azimuths. Exit code 1: bearings
    contradict each other, or the fix and the legs of a log do.
    """
    ways = [bool(files), bool(bearings_to), bool(bearings_from)]
    if sum(ways) != 1:
        raise click.UsageError("Give travel logs, or bearings with --bearing, or bearings with --taken-at.")
    if station and landmark:
        raise click.UsageError("Give --station or --landmark, not both.")
    if angles_only and (landmark or bearings_from):
        raise click.UsageError("--angles-only is for your own place: leave out --landmark and --taken-at.")
    if not files and (station or landmark):
        raise click.UsageError("--station and --landmark name something of a travel log: give the log.")
    walker = open_walker(walker_file)
    if files:
        from pacewright.answers.fixing import FixAsked

        asked = FixAsked(station or "", landmark or "", angles_only, probability)
        return answer_each(files, as_json, lambda file: _log(open_log(file), walker, asked))
    if bearings_to:
        entries = _entries("--bearing", bearings_to, azimuth_unit)
        answer = _own_place(entries, walker, angles_only, azimuth_unit, probability)
    else:
        entries = _entries("--taken-at", bearings_from, azimuth_unit)
        answer = _seen_place(entries, walker, azimuth_unit, probability)
    say(answer, as_json)
    return int(answer.finding)


def _log(log: TravelLog, walker: Walker, asked: FixAsked) -> Answer:
    from pacewright.answers.fixing import fix_log, is_contradicted
    from pacewright.files.fix_json import landmark_fix_keys, station_fix_keys
    from pacewright.files.known_places import open_known
    from pacewright.files.result_json import reading_keys
    from pacewright.wording.fix_answer import say_log_fixes

    known = open_known(log, walker, None)
    fixes = fix_log(log, walker, asked, known)
    stations = [station_fix_keys(fix, known.anchor) for fix in fixes.stations]
    keys = [*stations, *map(landmark_fix_keys, fixes.landmarks)]
    # A single fix stands at the top, where the caller of one fix looks for it.
    top = keys[0] if len(keys) == 1 else {}
    data = {**top, "fixes": keys, "unused": list(fixes.said), **reading_keys(log, walker)}
    return Answer(data, say_log_fixes(log, walker, fixes, known.anchor), finding=is_contradicted(fixes))


def _own_place(
    entries: list[PlacedBearing],
    walker: Walker,
    angles_only: bool,
    azimuth_unit: AzimuthUnit,
    probability: float,
) -> Answer:
    from pacewright.answers.fixing import fix_own_place
    from pacewright.files.fix_json import resection_keys
    from pacewright.wording.fix_answer import say_placed_fix

    found = fix_own_place(entries, walker, angles_only, probability)
    return Answer(
        resection_keys(found.fix, None), say_placed_fix(found, azimuth_unit), finding=found.is_finding
    )


def _seen_place(
    entries: list[PlacedBearing], walker: Walker, azimuth_unit: AzimuthUnit, probability: float
) -> Answer:
    from pacewright.answers.fixing import fix_seen_place
    from pacewright.files.fix_json import intersection_keys
    from pacewright.wording.fix_answer import say_placed_fix

    found = fix_seen_place(entries, walker, probability)
    return Answer(
        intersection_keys(found.fix, None), say_placed_fix(found, azimuth_unit), finding=found.is_finding
    )


def _entries(option: str, texts: tuple[str, ...], azimuth_unit: AzimuthUnit) -> list[PlacedBearing]:
    from pacewright.core.bearings.fix_entries import parse_bearing_from, parse_bearing_to

    parse = parse_bearing_to if option == "--bearing" else parse_bearing_from
    try:
        return [parse(text, azimuth_unit) for text in texts]
    except Complaint as complaint:
        raise type(complaint)(f"{option}: {complaint.what}", complaint.do) from None
