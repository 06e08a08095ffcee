"""pacewright export: stations and legs for other programs."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

import click

from pacewright.cli.options import (
    frame_option,
    json_option,
    log_files,
    open_log_of,
    open_walker,
    out_options,
    probability_option,
    walker_option,
)
from pacewright.cli.output import Answer, answer_each, write_out
from pacewright.cli.placing import open_start, start_options
from pacewright.files.station_files import ENDINGS, ON_THE_MAP_ONLY, STATION_FILES

if TYPE_CHECKING:
    from pacewright.core.way.frames import FrameKind
    from pacewright.files.station_files import StationFile


@click.command()
@log_files
@walker_option
@frame_option
@probability_option
@start_options
@click.option(
    "--as", "kind", type=click.Choice(STATION_FILES), help="Kind of file; else from the ending of --out."
)
@out_options("the result", default="the log's name with another ending")
@json_option
def command(
    files: tuple[str, ...],
    walker_file: str | None,
    frame: FrameKind | None,
    probability: float,
    start_text: str | None,
    start_sd_m: float,
    kind: str | None,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Write the stations of a travel log as CSV, GeoJSON, GPX or GeoPackage.

    FILE is a travel log; - reads standard input. Where the heading or --start knows a station's place,
    coordinates are on the map; else, or with --frame, they are east and north from the start, which CSV
    and GeoJSON alone can hold.
    """
    if out and len(files) > 1:
        raise click.UsageError("--out takes one result: give one FILE, or leave --out away.")
    if out == "-" and as_json:
        raise click.UsageError("--out - and --json both want standard output; give --out a file name.")
    chosen = kind or (PurePath(out).suffix.lstrip(".").lower() if out else "csv")
    if chosen not in ENDINGS:
        raise click.UsageError(
            "Say what to write: --as csv, geojson, gpx or gpkg, or an --out that ends in one of them."
        )
    if frame and (start_text is not None or chosen in ON_THE_MAP_ONLY):
        raise click.UsageError("--frame gives places from the start, not on the map: leave it away.")
    kind_of: StationFile = chosen
    walker, start = open_walker(walker_file), open_start(start_text)

    def work(file: str) -> Answer:
        from pacewright.files.known_places import open_estimate
        from pacewright.files.station_files import find_placed, write_from_start, write_on_the_map
        from pacewright.wording.estimate import say_condemned
        from pacewright.wording.placing import say_disagreement, say_not_placed, say_not_reached, say_written

        log = open_log_of(file, walker)
        target = out or str(PurePath("travel-log" if file == "-" else file).with_suffix(ENDINGS[kind_of]))
        estimate = open_estimate(log, walker, start, start_sd_m)
        placed, why_not = None, None
        if frame is None:
            is_needed = kind_of in ON_THE_MAP_ONLY or start is not None
            placed, why_not = find_placed(estimate, is_needed=is_needed)
        if placed is None:
            data = write_from_start(estimate, kind_of, probability, frame)
        else:
            data = write_on_the_map(estimate, placed, kind_of, probability)
        write_out(target, data, force)
        warned = say_condemned(estimate)
        keys = {"written": target, "on_the_map": placed is not None, "doubts": warned}
        if target == "-":
            return Answer(keys)
        sentences = [*warned, say_written(target, placed)]
        if placed is not None:
            sentences += [*say_not_reached(placed), *say_disagreement(placed)]
        elif why_not is not None:
            sentences.append(say_not_placed(why_not))
        return Answer(keys, sentences)

    return answer_each(files, as_json, work)
