"""pacewright fix: your own place, or that of something you saw, from bearings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from pacewright.cli.options import json_option, open_log, open_walker, probability_option, walker_option
from pacewright.cli.output import Answer, answer_each, say
from pacewright.exceptions import Complaint

if TYPE_CHECKING:
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
    "--from",
    "bearings_from",
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
    help="Of --bearing and --from; a log says its own.",
)
@walker_option
@probability_option
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
    the same north as the azimuths. Exit code 1: bearings contradict each other.
    """
    ways = [bool(files), bool(bearings_to), bool(bearings_from)]
    if sum(ways) != 1:
        raise click.UsageError("Give travel logs, or bearings with --bearing, or bearings with --from.")
    if station and landmark:
        raise click.UsageError("Give --station or --landmark, not both.")
    if angles_only and (landmark or bearings_from):
        raise click.UsageError("--angles-only is for your own place: leave out --landmark and --from.")
    if not files and (station or landmark):
        raise click.UsageError("--station and --landmark name something of a travel log: give the log.")
    walker = open_walker(walker_file)
    if files:
        return answer_each(
            files,
            as_json,
            lambda file: _log(open_log(file), walker, station, landmark, angles_only, probability),
        )
    if bearings_to:
        entries = _entries("--bearing", bearings_to, azimuth_unit)
        answer = _own_place(entries, walker, angles_only, azimuth_unit, probability)
    else:
        entries = _entries("--from", bearings_from, azimuth_unit)
        answer = _seen_place(entries, walker, azimuth_unit, probability)
    say(answer, as_json)
    return int(answer.finding)


def _log(
    log: TravelLog,
    walker: Walker,
    station: str | None,
    landmark: str | None,
    angles_only: bool,
    probability: float,
) -> Answer:
    from pacewright.core.bearings.log_fixes import LogFixes, find_fixes, fix_landmark, fix_station
    from pacewright.files.fix_json import landmark_fix_keys, station_fix_keys
    from pacewright.files.result_json import reading_keys
    from pacewright.wording.fixes import CAUTION, say_landmark_fix, say_station_fix
    from pacewright.wording.walk import say_assumed

    if station is not None:
        number = log.find_station(station)
        one = fix_station(log, walker, number, by_angles=angles_only, probability=probability)
        fixes = LogFixes((one,), (), ())
    elif landmark is not None:
        fixes = LogFixes((), (fix_landmark(log, walker, landmark, probability),), ())
    else:
        fixes = find_fixes(log, walker, by_angles=angles_only, probability=probability)
    keys = [*map(station_fix_keys, fixes.stations), *map(landmark_fix_keys, fixes.landmarks)]
    sentences = [*say_assumed(log, walker)]
    sentences += [sentence for fix in fixes.stations for sentence in say_station_fix(log, fix)]
    sentences += [sentence for fix in fixes.landmarks for sentence in say_landmark_fix(log, fix)]
    finding = any(
        [fix.resection.contradicts for fix in fixes.stations]
        + [fix.intersection.contradicts for fix in fixes.landmarks]
    )
    # A single fix stands at the top, where the caller of one fix looks for it.
    top = keys[0] if len(keys) == 1 else {}
    data = {**top, "fixes": keys, "unused": list(fixes.said), **reading_keys(log, walker)}
    return Answer(data, [*sentences, *fixes.said, CAUTION], finding=finding)


def _own_place(
    entries: list[PlacedBearing],
    walker: Walker,
    angles_only: bool,
    azimuth_unit: AzimuthUnit,
    probability: float,
) -> Answer:
    from pacewright.core.bearings.fix_entries import own_place
    from pacewright.files.fix_json import resection_keys
    from pacewright.wording.fixes import CAUTION, Terms, say_resection, say_taken_places

    fix = own_place(entries, walker, angles_only, probability)
    names = [entry.name for entry in entries]
    sentences = say_resection(fix, names, Terms(azimuth_unit=azimuth_unit))
    sentences += [*say_taken_places(entries), CAUTION]
    return Answer(resection_keys(fix, None), sentences, finding=fix.contradicts)


def _seen_place(
    entries: list[PlacedBearing], walker: Walker, azimuth_unit: AzimuthUnit, probability: float
) -> Answer:
    from pacewright.core.bearings.fix_entries import seen_place
    from pacewright.files.fix_json import intersection_keys
    from pacewright.wording.fixes import CAUTION, Terms, say_intersection, say_taken_places

    fix = seen_place(entries, walker, probability)
    names = [entry.name or f"place {k}" for k, entry in enumerate(entries, start=1)]
    sentences = say_intersection(fix, names, Terms(azimuth_unit=azimuth_unit))
    sentences += [*say_taken_places(entries), CAUTION]
    return Answer(intersection_keys(fix, None), sentences, finding=fix.contradicts)


def _entries(option: str, texts: tuple[str, ...], azimuth_unit: AzimuthUnit) -> list[PlacedBearing]:
    from pacewright.core.bearings.fix_entries import parse_bearing_from, parse_bearing_to

    parse = parse_bearing_to if option == "--bearing" else parse_bearing_from
    try:
        return [parse(text, azimuth_unit) for text in texts]
    except Complaint as complaint:
        raise complaint.at(column=option) from None
