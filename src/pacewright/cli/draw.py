"""pacewright draw: the walked figure, its regions and the way back."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

import click

from pacewright.cli.options import (
    frame_option,
    json_option,
    open_log,
    open_walker,
    out_options,
    probability_option,
    walker_option,
)
from pacewright.cli.output import Answer, answer_each, say, write_out

if TYPE_CHECKING:
    from pacewright.core.frames import FrameKind
    from pacewright.core.travel_log import TravelLog
    from pacewright.core.walker import Walker


@click.command()
@click.argument("files", nargs=-1, metavar="FILE...")
@walker_option
@frame_option
@probability_option
@click.option("--to", "to_name", metavar="NAME|INDEX", help="Goal of the way back (default: the start).")
@click.option("--no-back", is_flag=True, help="Leave the way back out.")
@click.option(
    "--cord", type=float, metavar="COUNT", help="Draw the tally cord at this count of paces instead."
)
@click.option(
    "--bead-of-metres",
    is_flag=True,
    help="With --cord: a bead is a hundred metres by the walker's own pace count, not a hundred paces.",
)
@out_options("the drawing (.svg, .png or .pdf; default: the log's name with .svg)")
@json_option
def command(
    files: tuple[str, ...],
    walker_file: str | None,
    frame: FrameKind | None,
    probability: float,
    to_name: str | None,
    no_back: bool,
    cord: float | None,
    bead_of_metres: bool,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Draw the walked figure: stations, regions, boxings, bearings, the way back; or the tally cord.

    FILE is a travel log; - reads standard input.
    """
    from pacewright.drawing.render import render

    if bool(files) == (cord is not None):
        raise click.UsageError("Give one or more travel logs, or --cord COUNT and no log.")
    if out and len(files) > 1:
        raise click.UsageError("--out takes one drawing: give one FILE, or leave --out away.")
    if out == "-" and as_json:
        raise click.UsageError("--out - and --json both want standard output; give --out a file name.")
    walker = open_walker(walker_file)
    if cord is not None:
        target = out or "cord.svg"
        write_out(
            target, render(_cord(cord, walker, bead_of_metres), PurePath(target).suffix or ".svg"), force
        )
        say(Answer({"drawing": target}, [] if target == "-" else [f"Drawn: {target}"]), as_json)
        return 0

    def work(file: str) -> Answer:
        log = open_log(file)
        target = out or ("travel-log.svg" if file == "-" else str(PurePath(file).with_suffix(".svg")))
        svg = picture(log, walker, frame, probability, to_name, with_back=not no_back)
        write_out(target, render(svg, ".svg" if target == "-" else PurePath(target).suffix), force)
        return Answer({"drawing": target}, [] if target == "-" else [f"Drawn: {target}"])

    return answer_each(files, as_json, work)


def _cord(count: float, walker: Walker, bead_of_metres: bool) -> str:
    from pacewright.core.tally import tally_of_count
    from pacewright.drawing.cord import draw_cord

    if not bead_of_metres:
        return draw_cord(tally_of_count(count))
    paces_per_bead = 100.0 / walker.pace_m()
    caption = f"A bead a hundred metres: {paces_per_bead:g} paces. Count {count:g} paces."
    return draw_cord(tally_of_count(count, paces_per_bead), caption, bead_unit="metre")


def picture(
    log: TravelLog,
    walker: Walker,
    frame: FrameKind | None,
    probability: float,
    to_name: str | None = None,
    *,
    with_back: bool = True,
) -> str:
    """Give the drawing of a log as SVG: named stations and the last with their regions."""
    from pacewright.core.frames import choose_frame
    from pacewright.core.reckoning import reckon
    from pacewright.core.regions import named_regions
    from pacewright.core.search_pattern import overshoot
    from pacewright.core.way_back import way_back
    from pacewright.drawing.walk_map import draw_walk_map
    from pacewright.drawing.walk_of import walk_of
    from pacewright.wording.walk import CAUTION, say_reckoning, say_way_back

    reckoning = reckon(log, walker, choose_frame(log.heading, walker, frame))
    there = log.find_station(to_name) if to_name is not None else 0
    way = way_back(log, walker, to_station=there, probability=probability) if with_back else None
    caption = say_reckoning(log, reckoning, probability)[1:3]
    if way is not None:
        caption += say_way_back(log, way, overshoot(way))
    caption.append(CAUTION)
    return draw_walk_map(
        walk_of(
            log, reckoning, regions=named_regions(reckoning, probability), way=way, caption=tuple(caption)
        )
    )
