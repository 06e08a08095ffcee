"""Cards of pacewright sheet for safety: route, emergency, fix, obstacle, cord, angles, lost."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import click

from pacewright.cli.options import open_log_of, open_walker, probability_option, walker_option
from pacewright.cli.placing import start_options
from pacewright.cli.printing import paper_options, print_each, print_one
from pacewright.cli.sheet_options import estimates, log_files, unit_option

if TYPE_CHECKING:
    import datetime

    from pacewright.core.compass import AzimuthUnit


@click.command("route", short_help="The route card to leave behind.")
@log_files
@walker_option
@start_options
@click.option("--leave", type=click.DateTime(["%H:%M"]), metavar="HH:MM", help="When the party sets out.")
@paper_options
def route_page(
    files: tuple[str, ...],
    walker_file: str | None,
    start_text: str | None,
    start_sd_m: float,
    leave: datetime.datetime | None,
    **paper: Any,
) -> int:
    """Print route cards to leave behind: party, from and to, legs with times, what if overdue."""
    from pacewright.sheets.route_card import route_card

    estimate_of = estimates(walker_file, start_text, start_sd_m)
    at = None if leave is None else leave.time()
    return print_each("route", files, lambda file, on: route_card(estimate_of(file), on, at), **paper)


@click.command("emergency", short_help="Where I am in every form, how sure, and what to say.")
@log_files
@walker_option
@start_options
@probability_option
@paper_options
def emergency_page(
    files: tuple[str, ...],
    walker_file: str | None,
    start_text: str | None,
    start_sd_m: float,
    probability: float,
    **paper: Any,
) -> int:
    """Print emergency cards of the last station of travel logs."""
    from pacewright.sheets.emergency_card import emergency_card

    estimate_of = estimates(walker_file, start_text, start_sd_m)
    return print_each(
        "emergency", files, lambda file, on: emergency_card(estimate_of(file), on, probability), **paper
    )


@click.command("fix", short_help="Worksheet of a fix by bearings, with back azimuths.")
@click.argument("file", required=False, metavar="[FILE]")
@paper_options
def fix_page(file: str | None, **paper: Any) -> int:
    """Print the worksheet of resection and intersection; the bearings of FILE are filled in."""
    from pacewright.sheets.fix_worksheet import fix_worksheet

    log = None if file is None else open_log_of(file, None)
    return print_one("fix", lambda on: fix_worksheet(on, log), **paper)


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


CARDS: Final[tuple[click.Command, ...]] = (
    route_page,
    emergency_page,
    fix_page,
    obstacle_page,
    cord_page,
    angles_page,
    lost_page,
)
