"""pacewright pocket: the small part of the tool that a phone can do, in one file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from pacewright.cli.options import open_log, open_walker, out_options, walker_option
from pacewright.cli.output import Answer, say, write_out

if TYPE_CHECKING:
    import datetime

    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker
    from pacewright.pocket.tables import Table


@click.command()
@click.argument("files", nargs=-1, metavar="[LOG...]")
@walker_option
@click.option("--sun", "sun_place", metavar="PLACE", help="Carry rise, set and twilight of this place.")
@click.option(
    "--norths-at", "north_place", metavar="PLACE", help="Carry the declination and grid of this place."
)
@click.option(
    "--places",
    "places_file",
    metavar="FILE",
    help="Carry these places, and the ways between (CSV: name,place).",
)
@click.option(
    "--date",
    metavar="DATE",
    help="First day of --sun, day of --norths-at and --places (default: of the first LOG).",
)
@click.option(
    "--days", type=click.IntRange(1, 31), default=3, show_default=True, help="So many days of --sun."
)
@click.option("--zone", metavar="+HH:MM", help="The clock of --sun, such as +02:00 (default: UTC).")
@out_options("the page (HTML)")
def command(
    files: tuple[str, ...],
    walker_file: str | None,
    sun_place: str | None,
    north_place: str | None,
    places_file: str | None,
    date: str | None,
    days: int,
    zone: str | None,
    out: str | None,
    force: bool,
) -> int:
    """Write one HTML file that a phone opens with no signal: type a row, see the way back.

    LOG is a travel log that travels inside, as do the walker's figures, the pace card and the ranging card.
    Copy the file to the phone before you go, open it there once, and take paper all the same. PLACE is
    latitude longitude, UTM or MGRS.
    """
    from pacewright.cli.when import read_date
    from pacewright.files.disk import read_bytes
    from pacewright.pocket.carried import carry
    from pacewright.pocket.page_text import page_text
    from pacewright.wording.pocket import say_page_written

    if out is None:
        raise click.UsageError("The page goes to a file: add --out pocket.html.")
    if sun_place is None and zone:
        raise click.UsageError("--zone is of the sun: add --sun PLACE.")
    if date and not (sun_place or north_place or places_file):
        raise click.UsageError("--date is of --sun, --norths-at and --places: add one of them.")
    walker = open_walker(walker_file)
    logs = [open_log(file) for file in files]
    texts = [read_bytes(file).decode("utf-8-sig") for file in files]
    first = logs[0] if logs else None
    tables: list[Table] = []
    if sun_place is not None:
        tables += _sun(sun_place, read_date(date, first), days, zone)
    if north_place is not None:
        tables += _norths(north_place, read_date(date, first), first)
    if places_file is not None:
        tables += _places(places_file, read_date(date, first), walker)
    page = page_text(carry(walker, texts, tables)).encode("utf-8")
    write_out(out, page, force)
    say(Answer({}, say_page_written(out, len(page), walker)), as_json=False)
    return 0


def _sun(place: str, first: datetime.date, days: int, zone: str | None) -> list[Table]:
    from pacewright.cli.when import read_zone
    from pacewright.ground.grid_text import parse_place
    from pacewright.pocket.tables import SunAsked, sun_tables

    position = parse_place(place)
    clock, name = read_zone(zone, has_time=False)
    return sun_tables(SunAsked(position.latitude_deg, position.longitude_deg, first, days, clock, name))


def _norths(place: str, date: datetime.date, log: TravelLog | None) -> list[Table]:
    from pacewright.files.field_model import bundled_field_model
    from pacewright.ground.grid_text import parse_place
    from pacewright.ground.norths_at import norths_at
    from pacewright.pocket.tables import north_tables

    here = norths_at(bundled_field_model(), parse_place(place), date.isoformat())
    return north_tables(here, "degrees" if log is None else log.heading.azimuth_unit)


def _places(file: str, date: datetime.date, walker: Walker) -> list[Table]:
    from pacewright.files.disk import read_bytes
    from pacewright.files.field_model import bundled_field_model
    from pacewright.files.places_csv import read_places
    from pacewright.pocket.tables import place_tables

    return place_tables(read_places(read_bytes(file), file), walker, bundled_field_model(), date.isoformat())
