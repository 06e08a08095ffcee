"""pacewright demo: the main job on a log that comes with the tool."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from pacewright.cli.options import json_option
from pacewright.cli.output import Answer, Table, say
from pacewright.exceptions import OutputComplaint, Where


@click.command()
@click.option(
    "--into",
    "--out-dir",
    "into",
    default="pacewright-demo",
    show_default=True,
    metavar="FOLDER",
    help="Folder for the log, the walker file and the pictures; '.' is the one you are in.",
)
@json_option
def command(into: str, as_json: bool) -> int:
    """Run the main job on a log that comes with the tool: from the page to the way back.

    The walk, its walker and its places are made up.
    """
    from pacewright.answers.way import WayAsked, answer_way
    from pacewright.files.bundled import DEMO_LOG, DEMO_WALKER, bundled
    from pacewright.files.known_places import open_estimate
    from pacewright.files.log_csv import read_log
    from pacewright.files.result_json import reckoning_keys, way_back_keys
    from pacewright.files.walker_toml import read_walker
    from pacewright.wording.walk import say_reckoning, station_table
    from pacewright.wording.way_answer import brief_way, say_way

    page = bundled(DEMO_LOG)
    log, walker = read_log(page, DEMO_LOG), read_walker(bundled(DEMO_WALKER), DEMO_WALKER)
    estimate = open_estimate(log, walker)
    stations, answer = estimate.stations(), answer_way(estimate, WayAsked(len(log.legs)))
    way = answer.way
    written = _leave(Path(into))
    keys: dict[str, Any] = {
        "reckon": reckoning_keys(stations),
        "back": way_back_keys(way),
        "written": written,
    }
    sentences = [
        *page.decode("utf-8").splitlines(),
        "",
        *say_reckoning(log, stations, way.probability),
        "",
        "The way back:",
        *say_way(answer),
    ]
    table = Table(*station_table(log, stations, way.probability))
    say(Answer(keys, sentences, [table], brief=brief_way(answer)), as_json)
    if not as_json:
        click.echo()
        click.echo("Left for you: " + ", ".join(written))
    return 0


def _leave(folder: Path) -> list[str]:
    from pacewright.drawing.render import render
    from pacewright.drawing.walk_picture import draw_log
    from pacewright.files.bundled import DEMO_LOG, DEMO_WALKER, bundled
    from pacewright.files.disk import write_bytes
    from pacewright.files.known_places import open_estimate
    from pacewright.files.log_csv import read_log
    from pacewright.files.walker_toml import read_walker

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as refused:
        raise OutputComplaint(
            f"this folder cannot be made ({refused.strerror})", "Give another --into", Where(str(folder))
        ) from None
    log, walker = read_log(bundled(DEMO_LOG)), read_walker(bundled(DEMO_WALKER), DEMO_WALKER)
    svg = draw_log(open_estimate(log, walker))
    stem = DEMO_LOG.removesuffix(".csv")
    files = {name: bundled(name) for name in (DEMO_LOG, DEMO_WALKER)}
    files |= {stem + ending: render(svg, ending) for ending in (".svg", ".png", ".pdf")}
    for name, data in files.items():
        # The demo's own folder and its own names: a second run makes the same files again.
        write_bytes(str(folder / name), data, force=True)
    return [str(folder / name) for name in files]
