"""pacewright locate: where on a terrain a log was walked, and where the walker now stands."""

from __future__ import annotations

import sys
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

import click

from pacewright.cli.angles import angle_option
from pacewright.cli.measures import Metres, Number
from pacewright.cli.options import (
    json_option,
    log_files,
    open_log,
    open_walker,
    probability_option,
    walker_option,
)
from pacewright.cli.output import Answer, Table, answer_each, write_out
from pacewright.cli.printing import PAPERS, pdf_name
from pacewright.cli.renamed import NewName
from pacewright.exceptions import Complaint

if TYPE_CHECKING:
    from pacewright.answers.locate import LocateAnswer, LocateAsked
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker
    from pacewright.files.prior_area import AreaAsked
    from pacewright.files.search_keeping import SearchKeeping
    from pacewright.ground.terrain import Terrain
    from pacewright.sheets.paper import PaperName


@click.command()
@log_files
@click.option("--terrain", required=True, metavar="FILE", help="Heights of the land (GeoTIFF and the like).")
@walker_option
@click.option(
    "--area",
    "inside",
    multiple=True,
    metavar="FILE",
    help="The start lies in this area (GeoJSON, GeoPackage).",
)
@click.option(
    "--not-in", "outside", multiple=True, metavar="FILE", help="The start does not lie in this area."
)
@click.option("--near", "near", metavar="PLACE", help="The start lies about this place; give --within-km.")
@click.option("--along", "along", metavar="FILE", help="The start lies along these lines; give --within-km.")
@click.option("--within-km", type=Number(0.01, 1000), metavar="N", help="How near to PLACE or the lines.")
@click.option("--streams", metavar="FILE", help="Streams as lines, instead of those found from the heights.")
@click.option(
    "--wrong-remarks", type=Number(0, 60), default=None, metavar="PCT",
    help="Share of remarks that may be plainly wrong (default 10).",
)  # fmt: skip
@click.option(
    "--height-error-m", type=Metres(0, 100), default=None, metavar="N",
    help="How far the terrain's heights are off (default: 3 and 10 are both tried).",
)  # fmt: skip
@click.option(
    "--altimeter-off-m", type=Metres(0, 1000), default=None, metavar="N",
    help="How far the altimeter may be off all day (default 30).",
)  # fmt: skip
@click.option(
    "--posterior", metavar="FILE.tif", help="Write the probability of every cell: band 1 start, band 2 now."
)
@click.option("--out", metavar="FILE", help="Write the likely places and their figures (.geojson).")
@click.option(
    "--draw",
    "--picture",
    "picture",
    cls=NewName,
    metavar="FILE",
    help="Draw the likely places on the map (.svg, .png, .pdf): FILE, FILE-2 and so on.",
)
@click.option("--sheet", metavar="FILE.pdf", help="Print the likely places and a map of each.")
@click.option("--paper", type=PAPERS, default="a4", show_default=True, help="With --sheet: paper.")
@click.option("--scale", type=Number(100, 1_000_000), metavar="N", help="Scale of --draw and --sheet, 1:N.")
@click.option(
    "--keep", metavar="FOLDER", help="Keep what is found so far there, and go on from it another time."
)
@click.option("--workers", metavar="ADDRESS", help="Search on the workers of this Dask scheduler.")
@click.option("--force", is_flag=True, help="Write over files that are already there.")
@click.option(
    "--threads", type=click.IntRange(1, 256), default=2, show_default=True, help="Threads to search with."
)
@probability_option
@angle_option
@json_option
def command(
    files: tuple[str, ...],
    terrain: str,
    walker_file: str | None,
    inside: tuple[str, ...],
    outside: tuple[str, ...],
    near: str | None,
    along: str | None,
    within_km: float | None,
    streams: str | None,
    wrong_remarks: float | None,
    height_error_m: float | None,
    altimeter_off_m: float | None,
    posterior: str | None,
    out: str | None,
    picture: str | None,
    sheet: str | None,
    paper: PaperName,
    scale: float | None,
    keep: str | None,
    workers: str | None,
    force: bool,
    threads: int,
    probability: float,
    as_json: bool,
) -> int:
    """Find where on a terrain a log was walked, by its azimuths, counts and remarks on the ground.

    FILE is a travel log; - reads standard input. Remarks: [up] [level] [down], [cross stream] [no stream] of
    a leg; [faces NE] [flat] [slope 20 %], [on ridge] [in valley] [on slope] [on stream], [alt 512 m] of a
    station; those of the start stand in a first row without azimuth and count.
    """
    from pacewright.answers.locate import LocateAsked, answer_locate
    from pacewright.drawing.located_map import draw_located, drawn_places
    from pacewright.drawing.render import render
    from pacewright.files.cluster import searcher_on
    from pacewright.files.known_places import open_model
    from pacewright.files.layer_keeping import keeper_beside
    from pacewright.files.locate_json import locate_keys, write_candidates
    from pacewright.files.locate_land import open_land
    from pacewright.files.posterior_tif import write_posterior
    from pacewright.files.prior_area import starts_within, streams_on
    from pacewright.ground.locate.land_layers import LandLayers
    from pacewright.ground.locate.search import search
    from pacewright.wording.locating import place_rows, say_located

    if (near is None and along is None) != (within_km is None):
        raise click.UsageError("--within-km goes with --near PLACE or --along FILE, and they need it.")
    if len(files) > 1 and (posterior or out or picture or sheet):
        raise click.UsageError("--posterior, --out, --draw and --sheet take one log: give one FILE.")
    if sheet is not None:
        pdf_name(sheet)
    walker = open_walker(walker_file)
    area = _area(inside, outside, near, along, within_km)
    land = open_land(terrain, area)
    starts = starts_within(area, land)
    rivers = None if streams is None else streams_on(streams, land)
    ground = LandLayers(land, rivers, keeper_beside(terrain))
    asked = LocateAsked(probability, _doubt(wrong_remarks, height_error_m, altimeter_off_m), workers=threads)

    def work(file: str) -> Answer:
        log = open_log(file)
        progress = None if as_json else _Progress()
        keeping = None if keep is None else _keeping(keep, log, walker, asked, land, starts, rivers)
        found = answer_locate(
            log, walker, land, open_model(log), starts, asked, ground=ground, progress=progress,
            kept=None if keeping is None else keeping.kept, keep=None if keeping is None else keeping.keep,
            searcher=search if workers is None else searcher_on(workers),
        )  # fmt: skip
        if progress is not None:
            progress.end()
        if posterior:
            write_out(posterior, write_posterior(terrain, land, found.found.start, found.found.now), force)
        if out:
            write_out(out, write_candidates(found), force)
        for number in drawn_places(found) if picture else ():
            svg = draw_located(found, number, scale=scale)
            target = PurePath(str(picture))
            name = target if number == 0 else target.with_stem(f"{target.stem}-{number + 1}")
            write_out(str(name), render(svg, target.suffix or ".svg"), force)
        if sheet:
            write_out(sheet, _sheet(found, paper, scale), force)
        tables = [Table(*place_rows(found))] if found.candidates else []
        return Answer(locate_keys(found), say_located(found), tables, finding=not found.can_tell)

    return answer_each(files, as_json, work)


def _sheet(found: LocateAnswer, paper: PaperName, scale: float | None) -> bytes:
    import datetime

    from pacewright.sheets.located_sheet import located_sheet
    from pacewright.sheets.paper import PAPERS as KNOWN
    from pacewright.sheets.typesetting import typeset

    on = KNOWN[paper]
    made = located_sheet(found, on, scale=scale)
    return typeset([made], on, printed_on=datetime.date.today().isoformat())


def _keeping(
    folder: str, log: TravelLog, walker: Walker, asked: LocateAsked, land: Terrain, starts: Any, rivers: Any
) -> SearchKeeping:
    from pacewright.files.log_csv import write_log
    from pacewright.files.search_keeping import SearchKeeping

    texts = (write_log(log).decode("utf-8"), repr(walker), repr(asked))
    return SearchKeeping(folder, texts, land, starts, rivers)


def _area(
    inside: tuple[str, ...],
    outside: tuple[str, ...],
    near: str | None,
    along: str | None,
    within_km: float | None,
) -> AreaAsked:
    from pacewright.files.prior_area import AreaAsked
    from pacewright.ground.grid_text import parse_place

    circles: tuple[tuple[float, float, float], ...] = ()
    within_m = 1000.0 * (within_km or 0.0)
    if near is not None:
        try:
            place = parse_place(near)
        except Complaint as complaint:
            raise type(complaint)(f"--near: {complaint.what}", complaint.do) from None
        circles = ((place.latitude_deg, place.longitude_deg, within_m),)
    return AreaAsked(inside, outside, circles, ((along, within_m),) if along else ())


def _doubt(wrong_remarks: float | None, height_error_m: float | None, altimeter_off_m: float | None) -> Any:
    from dataclasses import replace

    from pacewright.ground.locate.chances import Doubt

    doubt = Doubt()
    if wrong_remarks is not None:
        doubt = replace(doubt, wrong_remarks=wrong_remarks / 100.0)
    if height_error_m is not None:
        doubt = replace(doubt, height_sd_m=height_error_m, other_heights=())
    if altimeter_off_m is not None:
        doubt = replace(doubt, altimeter_offset_sd_m=altimeter_off_m)
    return doubt


class _Progress:
    """A line on standard error that says how much is done and how long the rest takes; only on a terminal."""

    def __init__(self) -> None:
        import time

        self._clock, self._begun, self._shown = time.monotonic, time.monotonic(), 0.0
        self._is_shown = sys.stderr.isatty()

    def __call__(self, share: float) -> None:
        now = self._clock()
        if not self._is_shown or now - self._shown < 0.3 or share <= 0:
            return
        self._shown = now
        left_s = (now - self._begun) * (1.0 - share) / share
        click.echo(f"\rSearching: {100 * share:3.0f} %, about {left_s:.0f} s left. ", err=True, nl=False)

    def end(self) -> None:
        """Clear the line."""
        if self._is_shown and self._shown:
            click.echo("\r" + " " * 50 + "\r", err=True, nl=False)
