"""Cards of pacewright sheet for safety: route, emergency, fix, obstacle, cord, angles, lost, sun."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import click

from pacewright.cli.options import (
    log_files,
    open_walker,
    out_options,
    probability_option,
    walker_option,
)
from pacewright.cli.output import write_out
from pacewright.cli.printing import paper_options, pdf_name, print_each, print_one
from pacewright.cli.sheet_options import estimate_options, unit_option

if TYPE_CHECKING:
    import datetime

    from pacewright.cli.sheet_options import EstimateOf
    from pacewright.core.compass import AzimuthUnit
    from pacewright.sheets.paper import PaperName


@click.command("route", short_help="The route card to leave behind.")
@log_files
@estimate_options
@click.option("--leave", type=click.DateTime(["%H:%M"]), metavar="HH:MM", help="When the party sets out.")
@paper_options
def route_page(
    files: tuple[str, ...],
    estimate_of: EstimateOf,
    leave: datetime.datetime | None,
    **paper: Any,
) -> int:
    """Print route cards to leave behind: party, from and to, legs with times, what if overdue."""
    from pacewright.sheets.route_card import route_card

    at = None if leave is None else leave.time()
    return print_each("route", files, lambda file, on: route_card(estimate_of(file), on, at), **paper)


@click.command("emergency", short_help="Where I am in every form, how sure, and what to say.")
@log_files
@estimate_options
@probability_option
@paper_options
def emergency_page(
    files: tuple[str, ...],
    estimate_of: EstimateOf,
    probability: float,
    **paper: Any,
) -> int:
    """Print emergency cards of the last station of travel logs."""
    from pacewright.sheets.emergency_card import emergency_card

    return print_each(
        "emergency", files, lambda file, on: emergency_card(estimate_of(file), on, probability), **paper
    )


@click.command("fix", short_help="Worksheet of a fix by bearings, with back azimuths.")
@click.argument("file", required=False, metavar="[FILE]")
@estimate_options
@paper_options
def fix_page(file: str | None, estimate_of: EstimateOf, **paper: Any) -> int:
    """Print the worksheet of resection and intersection; the bearings of FILE are filled in."""
    from pacewright.sheets.fix_worksheet import fix_worksheet

    estimate = None if file is None else estimate_of(file)
    return print_one("fix", lambda on: fix_worksheet(on, estimate), **paper)


@click.command("obstacle", short_help="Round an obstacle: both sides, what counts and what does not.")
@unit_option
@paper_options
def obstacle_page(unit: AzimuthUnit | None, **paper: Any) -> int:
    """Print the card of boxing round an obstacle."""
    from pacewright.sheets.field_cards import obstacle_card

    return print_one("obstacle", lambda on: obstacle_card(on, unit or "degrees"), **paper)


@click.command("cord", short_help="The tally cord: how to tie it, both customs.")
@walker_option
@paper_options
def cord_page(walker_file: str | None, **paper: Any) -> int:
    """Print the card of the tally cord."""
    from pacewright.sheets.field_cards import cord_card

    walker = open_walker(walker_file)
    return print_one("cord", lambda on: cord_card(walker, on), **paper)


@click.command("angles", short_help="Back azimuths, and the angles that a hand fills.")
@unit_option
@paper_options
def angles_page(unit: AzimuthUnit | None, **paper: Any) -> int:
    """Print the card of back azimuths and hand angles, with a column for your own hand."""
    from pacewright.sheets.field_cards import angle_card

    return print_one("angles", lambda on: angle_card(on, unit or "degrees"), **paper)


@click.command("lost", short_help="What to do when you are lost.")
@paper_options
def lost_page(**paper: Any) -> int:
    """Print the card of what to do when lost, with blanks to fill in before the walk."""
    from pacewright.sheets.field_cards import lost_card

    return print_one("lost", lost_card, **paper)


# A longitude west begins with a minus and must not be taken for an option.
@click.command(
    "sun",
    short_help="Rise, set, light and the sun's azimuths for a place and a week.",
    context_settings={"ignore_unknown_options": True},
)
@click.argument("place", nargs=-1, required=True, metavar="LAT LON | PLACE")
@click.option("--date", "date_text", metavar="DATE", required=True, help="The first day, such as 2026-05-14.")
@click.option("--days", type=click.IntRange(1, 14), default=7, show_default=True, help="How many days.")
@click.option("--zone", metavar="+HH:MM", help="The offset of the watch that is carried, such as +02:00.")
@click.option("--declination", metavar="DEG", help="Such as '5.5 E'; by the magnetic model if not given.")
@paper_options
def sun_page(
    place: tuple[str, ...],
    date_text: str,
    days: int,
    zone: str | None,
    declination: str | None,
    **paper: Any,
) -> int:
    """Print the card of sun and daylight of a place, for a week from a date on."""
    from pacewright.answers.sunlight import SunAsked, answer_days
    from pacewright.cli.sun import read_declination, read_place
    from pacewright.cli.when import read_date, read_zone
    from pacewright.exceptions import MissingComplaint
    from pacewright.sheets.sun_card import sun_card

    if zone is None:
        raise MissingComplaint(
            "a card of times has to go by the watch that is carried", "Add --zone, such as --zone +02:00"
        )
    clock, zone_name = read_zone(zone, True)
    where, date = read_place(place), read_date(date_text, None)
    used = read_declination(where, date, declination, None)
    found = answer_days(SunAsked(*where, date, clock, used), days)
    return print_one("sun", lambda on: sun_card(found, zone_name, on), **paper)


# A longitude west begins with a minus and must not be taken for an option.
@click.command("booklet", short_help="All that a walker needs without the tool, to print and staple.")
@walker_option
@unit_option
@click.option(
    "--place", "place", metavar="PLACE", help='A place whose norths go into the booklet: "37.45 -119.3".'
)
@click.option("--date", "date_text", metavar="DATE", help="Date of the norths; today if not given.")
@click.option("--log-pages", type=click.IntRange(1, 60), default=8, show_default=True, help="Blank pages.")
@click.option("--flat", "is_flat", is_flag=True, help="Its A5 pages one after the other, not imposed.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Paper.")
@out_options("the booklet (PDF)", default="booklet.pdf")
def booklet_page(
    walker_file: str | None,
    unit: AzimuthUnit | None,
    place: str | None,
    date_text: str | None,
    log_pages: int,
    is_flat: bool,
    paper: PaperName,
    out: str | None,
    force: bool,
) -> int:
    """Print a field booklet of A5 pages, imposed on A4 or Letter: print on both sides, fold, staple."""
    import datetime

    from pacewright.files.field_model import open_norths
    from pacewright.sheets.booklet import FOLD, booklet_sheets, print_booklet
    from pacewright.sheets.paper import PAPERS

    today = datetime.date.today().isoformat()
    norths = None if place is None else open_norths(place, date_text or today)
    made = booklet_sheets(open_walker(walker_file), norths, log_pages, unit or "degrees")
    printed = print_booklet(made, PAPERS[paper], today, is_flat=is_flat)
    target = pdf_name(out or "booklet.pdf")
    write_out(target, printed.pdf, force)
    if target != "-":
        click.echo(f"Printed: {target}. {'' if is_flat else FOLD}".rstrip())
    return 0


CARDS: Final[tuple[click.Command, ...]] = (
    route_page,
    emergency_page,
    fix_page,
    obstacle_page,
    cord_page,
    angles_page,
    lost_page,
    sun_page,
    booklet_page,
)
