"""pacewright export: stations and legs for other programs."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

import click

from pacewright.cli.options import (
    frame_option,
    json_option,
    log_files,
    open_log,
    open_walker,
    out_options,
    probability_option,
    walker_option,
)
from pacewright.cli.output import Answer, answer_each, write_out

if TYPE_CHECKING:
    from pacewright.core.frames import FrameKind
    from pacewright.core.travel_log import TravelLog
    from pacewright.core.walker import Walker

_ENDINGS = {"csv": ".stations.csv", "geojson": ".geojson"}


@click.command()
@log_files
@walker_option
@frame_option
@probability_option
@click.option(
    "--as", "kind", type=click.Choice(list(_ENDINGS)), help="Kind of file; else from the ending of --out."
)
@out_options("the result (default: the log's name with another ending)")
@json_option
def command(
    files: tuple[str, ...],
    walker_file: str | None,
    frame: FrameKind | None,
    probability: float,
    kind: str | None,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Write the stations of a travel log as CSV or GeoJSON.

    FILE is a travel log; - reads standard input. Coordinates are east and north from the start.
    """
    if out and len(files) > 1:
        raise click.UsageError("--out takes one result: give one FILE, or leave --out away.")
    if out == "-" and as_json:
        raise click.UsageError("--out - and --json both want standard output; give --out a file name.")
    chosen = kind or (PurePath(out).suffix.lstrip(".").lower() if out else "csv")
    if chosen not in _ENDINGS:
        raise click.UsageError(
            "Say what to write: --as csv, --as geojson, or an --out that ends in one of them."
        )
    walker = open_walker(walker_file)

    def work(file: str) -> Answer:
        log = open_log(file)
        target = out or str(PurePath("travel-log" if file == "-" else file).with_suffix(_ENDINGS[chosen]))
        write_out(target, _written(log, walker, frame, probability, chosen), force)
        return Answer({"written": target}, [] if target == "-" else [f"Written: {target}"])

    return answer_each(files, as_json, work)


def _written(log: TravelLog, walker: Walker, frame: FrameKind | None, probability: float, kind: str) -> bytes:
    from pacewright.core.frames import choose_frame
    from pacewright.core.reckoning import reckon
    from pacewright.core.regions import named_regions
    from pacewright.files.geojson import write_local_geojson
    from pacewright.files.stations_csv import write_stations

    reckoning = reckon(log, walker, choose_frame(log.heading, walker, frame))
    if kind == "csv":
        return write_stations(reckoning)
    return write_local_geojson(log, reckoning, named_regions(reckoning, probability))
