"""pacewright draw: the walked figure, its regions and the way back."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

import click

from pacewright.cli.measures import NUMBER
from pacewright.cli.options import (
    frame_option,
    json_option,
    open_log_of,
    open_walker,
    out_options,
    probability_option,
    walker_option,
)
from pacewright.cli.output import Answer, answer_each, say, write_out, write_picture
from pacewright.cli.placing import open_start, start_options

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate
    from pacewright.answers.way import WayAnswer
    from pacewright.core.pace.walker import Walker
    from pacewright.core.way.frames import FrameKind

_PAPER_MM = {"a5": (148.0, 210.0), "a4": (210.0, 297.0), "a3": (297.0, 420.0), "letter": (215.9, 279.4)}


@click.command()
@click.argument("files", nargs=-1, metavar="FILE...")
@walker_option
@frame_option
@probability_option
@click.option("--to", "to_name", metavar="NAME|INDEX", help="Goal of the way back (default: the start).")
@click.option("--no-back", is_flag=True, help="Leave the way back out.")
@click.option(
    "--cord", type=NUMBER, metavar="COUNT", help="Draw the tally cord at this count of paces instead."
)
@click.option(
    "--bead-of-metres",
    is_flag=True,
    help="With --cord: a bead is a hundred metres by the walker's own pace count, not a hundred paces.",
)
@click.option("--terrain", metavar="FILE", help="Draw on this ground: a map sheet (GeoTIFF and the like).")
@click.option(
    "--scale", type=NUMBER, metavar="N", help="With --terrain: 1:N, such as 10000; else one that fits."
)
@click.option(
    "--paper", type=click.Choice(list(_PAPER_MM)), default="a4", show_default=True, help="With --terrain."
)
@start_options
@out_options("the drawing (.svg, .png or .pdf)", default="the log's name with .svg")
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
    terrain: str | None,
    scale: float | None,
    paper: str,
    start_text: str | None,
    start_sd_m: float,
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
    if scale is not None and terrain is None:
        raise click.UsageError("--scale goes with --terrain: without it the figure fills the page.")
    walker = open_walker(walker_file)
    if cord is not None:
        target = out or "cord.svg"
        write_out(
            target, render(_cord(cord, walker, bead_of_metres), PurePath(target).suffix or ".svg"), force
        )
        say(Answer({"drawing": target}, [] if target == "-" else [f"Drawn: {target}"]), as_json)
        return 0

    def work(file: str) -> Answer:
        from pacewright.drawing.walk_picture import draw_log
        from pacewright.files.known_places import open_estimate

        log = open_log_of(file, walker)
        estimate = open_estimate(log, walker, open_start(start_text), start_sd_m)
        target = out or ("travel-log.svg" if file == "-" else str(PurePath(file).with_suffix(".svg")))
        if terrain is None:
            svg = draw_log(estimate, frame, probability, to_name, with_back=not no_back)
        else:
            way = None if no_back else _way(estimate, to_name, probability)
            svg = _sheet(estimate, terrain, way, probability, scale, _PAPER_MM[paper])
        if target == "-":
            write_out(target, render(svg, ".svg"), force)
        else:
            write_picture(target, svg, force)
        return Answer({"drawing": target}, [] if target == "-" else [f"Drawn: {target}"])

    return answer_each(files, as_json, work)


def _cord(count: float, walker: Walker, bead_of_metres: bool) -> str:
    from pacewright.core.pace.tally import tally_of_count
    from pacewright.drawing.cord import draw_cord

    if not bead_of_metres:
        return draw_cord(tally_of_count(count))
    paces_per_bead = 100.0 / walker.pace_m()
    caption = f"A bead a hundred metres: {paces_per_bead:g} paces. Count {count:g} paces."
    return draw_cord(tally_of_count(count, paces_per_bead), caption, bead_unit="metre")


def _way(estimate: Estimate, to_name: str | None, probability: float) -> WayAnswer:
    from pacewright.answers.way import WayAsked, answer_way

    log = estimate.log
    there = log.find_station(to_name) if to_name is not None else 0
    return answer_way(estimate, WayAsked(len(log.legs), there, probability))


def _sheet(
    estimate: Estimate,
    terrain: str,
    answer: WayAnswer | None,
    probability: float,
    scale: float | None,
    page_mm: tuple[float, float],
) -> str:
    from pacewright.answers.placing import place_log
    from pacewright.drawing.walk_on_ground import draw_walk_on_ground, walk_on_ground
    from pacewright.files.elevation import read_terrain
    from pacewright.wording.walk import CAUTION
    from pacewright.wording.way_answer import say_short

    said = (*say_short(answer), CAUTION) if answer is not None else ()
    way = None if answer is None else answer.way
    ground, placed = read_terrain(terrain), place_log(estimate)
    walk = walk_on_ground(estimate.log, placed, ground, probability=probability, way=way)
    return draw_walk_on_ground(walk, scale=scale, page_mm=page_mm, caption=said)
