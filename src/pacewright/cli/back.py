"""pacewright back: azimuth and count from one station to another, and what to do at the end."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from pacewright.cli.options import (
    json_option,
    log_files,
    open_log,
    open_walker,
    option_azimuth,
    out_options,
    probability_option,
    walker_option,
)
from pacewright.cli.output import Answer, Table, answer_each, write_out
from pacewright.exceptions import NoAnswerComplaint

if TYPE_CHECKING:
    from pacewright.core.travel_log import TravelLog
    from pacewright.core.walker import Walker
    from pacewright.core.way_back import WayBack


@click.command()
@log_files
@walker_option
@click.option(
    "--to", "to_name", metavar="NAME|INDEX", help="Goal: a station's name or number (default: the start)."
)
@click.option(
    "--from", "from_name", metavar="NAME|INDEX", help="Where you stand (default: the last station)."
)
@click.option("--ground", metavar="NAME", help="Class of your pace table that the way back crosses.")
@click.option("--line", metavar="AZIMUTH", help="A line (road, stream) through the goal, to aim off by.")
@click.option("--toward", metavar="AZIMUTH", help="Aim off to this side; by default the shorter way.")
@click.option(
    "--wrong-side",
    type=float,
    default=2.0,
    show_default=True,
    metavar="PCT",
    help="Chance, in per cent, of meeting the line on the wrong side.",
)
@click.option(
    "--sighting-distance", type=float, metavar="N", help="How far off you see the goal; plans a search."
)
@click.option("--retrace", is_flag=True, help="Also leg by leg, with boxings and remarks turned round.")
@out_options("the retraced log (CSV; with --retrace)")
@probability_option
@json_option
def command(
    files: tuple[str, ...],
    walker_file: str | None,
    to_name: str | None,
    from_name: str | None,
    ground: str | None,
    line: str | None,
    toward: str | None,
    wrong_side: float,
    sighting_distance: float | None,
    retrace: bool,
    out: str | None,
    force: bool,
    probability: float,
    as_json: bool,
) -> int:
    """Say the way back in the walker's own paces and by the walker's own compass.

    FILE is a travel log; - reads standard input.
    """
    from pacewright.core.way_back import way_back
    from pacewright.files.result_json import way_back_keys

    if out and (not retrace or len(files) != 1):
        raise click.UsageError("--out writes the retraced log of one FILE: add --retrace and give one FILE.")
    if toward is not None and line is None:
        raise click.UsageError("--toward is a side of a line: add --line.")
    walker = open_walker(walker_file)

    def work(file: str) -> Answer:
        log = open_log(file)
        here = log.find_station(from_name) if from_name is not None else len(log.legs)
        there = log.find_station(to_name, near=here) if to_name is not None else 0
        way = way_back(
            log, walker, from_station=here, to_station=there, probability=probability, ground=ground
        )
        parts = [_doubted(log, way, walker), _direct(log, way, walker)]
        if line is not None:
            aim = partial(_aimed, log, way, walker, line, toward, wrong_side / 100, ground)
            parts.append(_or_why_not("aiming off", aim))
        if sighting_distance is not None:
            parts.append(_or_why_not("search", partial(_searched, log, way, sighting_distance)))
        if retrace:
            parts.append(_retraced(log, way, walker, out, force, file))
        return _joined(way_back_keys(way), parts)

    return answer_each(files, as_json, work)


def _or_why_not(what: str, part: Callable[[], Answer]) -> Answer:
    """Give a part of the answer; one that cannot be had must not take the way back with it."""
    from pacewright.wording.walk import say_not_possible

    try:
        return part()
    except NoAnswerComplaint as complaint:
        key = what.replace(" ", "_")
        return Answer({key: {"complaint": str(complaint)}}, say_not_possible(what, complaint), finding=True)


def _joined(data: dict[str, Any], parts: list[Answer]) -> Answer:
    from pacewright.wording.walk import CAUTION

    sentences = [sentence for part in parts for sentence in part.sentences]
    tables = [table for part in parts for table in part.tables]
    for part in parts:
        data |= part.data
    return Answer(data, [*sentences, CAUTION], tables, any(part.finding for part in parts))


def _doubted(log: TravelLog, way: WayBack, walker: Walker) -> Answer:
    """Warn where the log shows a mistake: the way back takes it as written."""
    from pacewright.core.islands import find_islands
    from pacewright.files.findings_json import island_keys
    from pacewright.wording.doubt import find_doubt
    from pacewright.wording.findings import say_islands

    doubt = find_doubt(log, way, walker)
    keys = {"mistake_probability": doubt.chance, "doubts": doubt.said}
    if not doubt.is_warned or doubt.findings is None:
        return Answer(keys, doubt.said)
    posterior = doubt.findings.posterior
    islands = () if way.is_there else find_islands(posterior, way.from_station, way.to_station)
    said = say_islands(islands, log, way.from_station, way.unit, way.to_station)
    return Answer({**keys, "islands": island_keys(islands)}, [*doubt.said, *said])


def _direct(log: TravelLog, way: WayBack, walker: Walker) -> Answer:
    from pacewright.core.search_pattern import overshoot
    from pacewright.wording.walk import say_assumed, say_map_figure, say_way_back

    turn = overshoot(way)
    keys = {"look_from": turn.look_from, "stop_at": turn.stop_at, "assumed": log.heading.assumed}
    return Answer(keys, [*say_assumed(log), *say_way_back(log, way, turn), *say_map_figure(log, way, walker)])


def _aimed(
    log: TravelLog,
    way: WayBack,
    walker: Walker,
    line: str,
    toward: str | None,
    wrong_side: float,
    ground: str | None,
) -> Answer:
    import dataclasses

    from pacewright.core.aiming_off import aim_off
    from pacewright.wording.walk import say_aiming_off

    unit = log.heading.azimuth_unit
    aim = aim_off(
        log,
        walker,
        way.from_station,
        way.to_station,
        option_azimuth("--line", line, unit),
        wrong_side,
        option_azimuth("--toward", toward, unit) if toward is not None else None,
        ground,
    )
    keys = {"aiming_off": dataclasses.asdict(aim)}
    return Answer(keys, say_aiming_off(log, aim, way.to_name, way.to_station))


def _searched(log: TravelLog, way: WayBack, sighting_distance: float) -> Answer:
    import dataclasses

    from pacewright.core.search_pattern import expanding_square
    from pacewright.wording.walk import say_square, square_table

    square = expanding_square(way, sighting_distance)
    return Answer(
        {"search": dataclasses.asdict(square)},
        say_square(square, way),
        [Table(*square_table(log, square, way))],
    )


def _retraced(
    log: TravelLog, way: WayBack, walker: Walker, out: str | None, force: bool, file: str
) -> Answer:
    from pacewright.core.regions import half_widths
    from pacewright.core.retrace import retrace, retrace_covariance
    from pacewright.files.log_csv import write_log
    from pacewright.wording.walk import retrace_table, say_retrace

    back = retrace(log, way.from_station, way.to_station, walker)
    covariance = retrace_covariance(log, walker, way.from_station, way.to_station)
    along, across = half_widths(covariance, way.azimuth_deg, way.probability)
    if out:
        write_out(out, write_log(back), force, source=file)
    rows = [
        {"azimuth": row.cells.azimuth, "count": row.cells.count, "notes": row.cells.notes}
        for row in back.rows
    ]
    keys = {"retrace": {"rows": rows, "along": along, "across": across, "covariance": covariance}}
    return Answer(keys, say_retrace(log, back, along, across, way.probability), [Table(*retrace_table(back))])
