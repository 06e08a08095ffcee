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
from pacewright.cli.placing import open_placed, open_start, start_options
from pacewright.exceptions import MissingComplaint

if TYPE_CHECKING:
    from pacewright.core.frames import FrameKind
    from pacewright.core.travel_log import TravelLog
    from pacewright.core.walker import Walker
    from pacewright.ground.map_frame import PlacedLog

_ENDINGS = {"csv": ".stations.csv", "geojson": ".geojson", "gpx": ".gpx", "gpkg": ".gpkg"}
_ON_THE_MAP_ONLY = ("gpx", "gpkg")


@click.command()
@log_files
@walker_option
@frame_option
@probability_option
@start_options
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
    if chosen not in _ENDINGS:
        raise click.UsageError(
            "Say what to write: --as csv, geojson, gpx or gpkg, or an --out that ends in one of them."
        )
    if frame and (start_text is not None or chosen in _ON_THE_MAP_ONLY):
        raise click.UsageError("--frame gives places from the start, not on the map: leave it away.")
    walker, start = open_walker(walker_file), open_start(start_text)

    def work(file: str) -> Answer:
        from pacewright.ground.map_frame import has_places
        from pacewright.wording.placing import say_disagreement, say_not_placed, say_not_reached, say_written

        log = open_log(file)
        target = out or str(PurePath("travel-log" if file == "-" else file).with_suffix(_ENDINGS[chosen]))
        placed, why_not = None, None
        if start is not None or chosen in _ON_THE_MAP_ONLY:
            placed = open_placed(log, walker, start, start_sd_m)
        elif frame is None and has_places(log):
            try:
                placed = open_placed(log, walker, None, start_sd_m)
            except MissingComplaint as complaint:
                why_not = complaint
        if placed is None:
            data = _local(log, walker, frame, probability, chosen)
        else:
            data = _on_the_map(log, placed, probability, chosen)
        write_out(target, data, force, source=file)
        keys = {"written": target, "on_the_map": placed is not None}
        if target == "-":
            return Answer(keys)
        sentences = [say_written(target, placed)]
        if placed is not None:
            sentences += [*say_not_reached(placed), *say_disagreement(placed)]
        elif why_not is not None:
            sentences.append(say_not_placed(why_not))
        return Answer(keys, sentences)

    return answer_each(files, as_json, work)


def _local(log: TravelLog, walker: Walker, frame: FrameKind | None, probability: float, kind: str) -> bytes:
    from pacewright.core.frames import choose_frame
    from pacewright.core.reckoning import reckon
    from pacewright.core.regions import named_regions
    from pacewright.files.geojson import write_local_geojson
    from pacewright.files.stations_csv import write_stations

    reckoning = reckon(log, walker, choose_frame(log.heading, walker, frame))
    if kind == "csv":
        return write_stations(reckoning)
    return write_local_geojson(log, reckoning, named_regions(reckoning, probability))


def _on_the_map(log: TravelLog, placed: PlacedLog, probability: float, kind: str) -> bytes:
    if kind == "csv":
        from pacewright.files.stations_csv import write_placed_stations

        return write_placed_stations(placed)
    if kind == "gpx":
        from pacewright.files.gpx import write_gpx

        return write_gpx(log.heading.title or "Travel log", placed, probability)
    if kind == "gpkg":
        from pacewright.files.geopackage import write_geopackage

        return write_geopackage(log, placed, probability)
    from pacewright.files.geojson_placed import write_placed_geojson

    return write_placed_geojson(log, placed, probability)
