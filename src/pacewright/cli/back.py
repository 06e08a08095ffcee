"""pacewright back: azimuth and count from one station to another, and what to do at the end."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

import click

from pacewright.cli import completing
from pacewright.cli.angles import angle_option
from pacewright.cli.measures import NUMBER
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
from pacewright.exceptions import Complaint

if TYPE_CHECKING:
    from pacewright.answers.way import Retraced, WayAnswer
    from pacewright.core.pace.walker import Slope


@click.command()
@log_files
@walker_option
@click.option(
    "--to",
    "to_name",
    metavar="NAME|INDEX",
    shell_complete=completing.stations,
    help="Goal: a station's name or number (default: the start).",
)
@click.option(
    "--from",
    "from_name",
    metavar="NAME|INDEX",
    shell_complete=completing.stations,
    help="Where you stand (default: the last station).",
)
@click.option(
    "--ground", metavar="NAME", help="Ground that the way back crosses (default: what you walked out on)."
)
@click.option("--slope", type=click.Choice(["up", "level", "down"]), help="How the way back lies.")
@click.option("--line", metavar="AZIMUTH", help="A line (road, stream) through the goal, to aim off by.")
@click.option("--toward", metavar="AZIMUTH", help="Aim off to this side; by default the shorter way.")
@click.option(
    "--wrong-side",
    type=NUMBER,
    metavar="PCT",
    help="With --line: chance, in per cent, of meeting it on the wrong side (default: 2).",
)
@click.option(
    "--sighting-distance", type=NUMBER, metavar="N", help="How far off you see the goal; plans a search."
)
@click.option("--retrace", is_flag=True, help="Also leg by leg, with boxings and remarks turned round.")
@out_options("the retraced log (CSV; with --retrace)")
@probability_option
@angle_option
@json_option
def command(
    files: tuple[str, ...],
    walker_file: str | None,
    to_name: str | None,
    from_name: str | None,
    ground: str | None,
    slope: Slope | None,
    line: str | None,
    toward: str | None,
    wrong_side: float | None,
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
    from pacewright.answers.way import WayAsked, answer_way
    from pacewright.core.way.aiming_off import DEFAULT_WRONG_SIDE_CHANCE
    from pacewright.files.known_places import open_estimate
    from pacewright.files.log_csv import write_log
    from pacewright.wording.way_answer import brief_way, explain_way, say_way, way_tables

    if out and (not retrace or len(files) != 1):
        raise click.UsageError("--out writes the retraced log of one FILE: add --retrace and give one FILE.")
    if toward is not None and line is None:
        raise click.UsageError("--toward is a side of a line: add --line.")
    if wrong_side is not None and line is None:
        raise click.UsageError("--wrong-side is a side of a line: add --line.")
    walker = open_walker(walker_file)

    def work(file: str) -> Answer:
        log = open_log(file)
        here = log.find_station(from_name) if from_name is not None else len(log.legs)
        estimate = open_estimate(log, walker)
        unit = log.heading.azimuth_unit
        asked = WayAsked(
            from_station=here,
            to=0 if to_name is None else estimate.find_goal(to_name, here),
            probability=probability,
            ground=ground,
            slope=slope,
            line_deg=option_azimuth("--line", line, unit) if line is not None else None,
            toward_deg=option_azimuth("--toward", toward, unit) if toward is not None else None,
            wrong_side=DEFAULT_WRONG_SIDE_CHANCE if wrong_side is None else wrong_side / 100,
            sighting_distance=sighting_distance,
            with_retrace=retrace,
        )
        found = answer_way(estimate, asked)
        if out and found.retraced is not None:
            write_out(out, write_log(found.retraced.log), force)
        tables = [Table(*table) for table in way_tables(found)]
        return Answer(
            _keys(found),
            say_way(found),
            tables,
            found.is_finding,
            explain_way(found),
            brief_way(found),
        )

    return answer_each(files, as_json, work)


def _keys(found: WayAnswer) -> dict[str, Any]:
    from pacewright.files.complaint_json import complaint_keys
    from pacewright.files.findings_json import island_keys
    from pacewright.files.result_json import reading_keys, way_back_keys
    from pacewright.wording.way_answer import say_doubt

    keys: dict[str, Any] = {
        **way_back_keys(found.way),
        "mistake_probability": found.doubt.chance,
        "doubts": say_doubt(found),
        "unused": found.unused,
    }
    if found.doubt.is_warned and found.doubt.chance is not None:
        keys["islands"] = island_keys(found.doubt.islands)
    keys["look_from"], keys["stop_at"] = found.turn.look_from, found.turn.stop_at
    keys["walk"] = _walk_keys(found)
    keys |= reading_keys(found.log, found.walker)
    for key, value in (("aiming_off", found.aim), ("search", found.square)):
        if isinstance(value, Complaint):
            keys[key] = complaint_keys(value)
        elif value is not None:
            keys[key] = dataclasses.asdict(value)
    if "search" in keys and "legs" in keys["search"]:
        keys["search"]["starts_at"] = "goal" if found.aimed is None else "line"
    if found.retraced is not None:
        keys["retrace"] = _retrace_keys(found.retraced)
    return keys


def _walk_keys(found: WayAnswer) -> dict[str, Any] | None:
    """The one way to walk: aimed off where it is, else the direct one; none where nothing is to be walked."""
    way, aim = found.way, found.aimed
    if aim is not None:
        told = ("line", aim.azimuth_deg, aim.count, aim.tally, aim.line_from, aim.line_by)
    elif way.count:
        turn = found.turn
        told = ("goal", way.azimuth_deg, way.count, way.tally, turn.look_from, turn.stop_at)
    else:
        return None
    from pacewright.files.result_json import tally_keys

    leads_to, azimuth_deg, count, tally, look_from, stop_at = told
    return {
        "leads_to": leads_to,
        "azimuth_deg": azimuth_deg,
        "count": count,
        "tally": tally_keys(tally),
        "look_from": look_from,
        "stop_at": stop_at,
    }


def _retrace_keys(back: Retraced) -> dict[str, Any]:
    rows = [
        {"azimuth": row.cells.azimuth, "count": row.cells.count, "notes": row.cells.notes}
        for row in back.log.rows
    ]
    return {"rows": rows, "along": back.along, "across": back.across, "covariance": back.covariance}
