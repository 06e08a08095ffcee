"""pacewright pocket: the small part of the tool that a phone can do, in one file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from pacewright.cli.options import open_log, open_walker, out_options, walker_option
from pacewright.cli.output import Answer, say, write_out

if TYPE_CHECKING:
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.pocket.carried import SunAsked


@click.command()
@click.argument("files", nargs=-1, metavar="[LOG...]")
@walker_option
@click.option("--sun", "place", metavar="PLACE", help="Carry rise, set and twilight of this place.")
@click.option("--date", metavar="DATE", help="First day of --sun (default: the date of the first LOG).")
@click.option(
    "--days", type=click.IntRange(1, 31), default=3, show_default=True, help="So many days of --sun."
)
@click.option("--zone", metavar="+HH:MM", help="The clock of --sun, such as +02:00 (default: UTC).")
@out_options("the page (HTML)")
def command(
    files: tuple[str, ...],
    walker_file: str | None,
    place: str | None,
    date: str | None,
    days: int,
    zone: str | None,
    out: str | None,
    force: bool,
) -> int:
    """Write one HTML file that a phone opens with no signal: type a row, see the way back.

    LOG is a travel log that travels inside, as do the walker's figures. Copy the file to the phone before you
    go, open it there once, and take paper all the same. PLACE is latitude longitude, UTM or MGRS.
    """
    from pacewright.files.disk import read_bytes
    from pacewright.pocket.carried import carry
    from pacewright.pocket.page_text import page_text
    from pacewright.wording.pocket import say_page_written

    if out is None:
        raise click.UsageError("The page goes to a file: add --out pocket.html.")
    if place is None and (date or zone):
        raise click.UsageError("--date and --zone are of the sun: add --sun PLACE.")
    walker = open_walker(walker_file)
    logs = [open_log(file) for file in files]
    texts = [read_bytes(file).decode("utf-8-sig") for file in files]
    sun = None if place is None else _sun(place, date, days, zone, logs)
    page = page_text(carry(walker, texts, sun)).encode("utf-8")
    write_out(out, page, force)
    say(Answer({}, say_page_written(out, len(page), walker)), as_json=False)
    return 0


def _sun(place: str, date: str | None, days: int, zone: str | None, logs: list[TravelLog]) -> SunAsked:
    from pacewright.cli.when import read_date, read_zone
    from pacewright.ground.grid_text import parse_place
    from pacewright.pocket.carried import SunAsked

    position = parse_place(place)
    clock, name = read_zone(zone, has_time=False)
    first = read_date(date, logs[0] if logs else None)
    return SunAsked(position.latitude_deg, position.longitude_deg, first, days, clock, name)
