"""pacewright sheet: paper for the pencil, and results that work when the battery is dead."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from pacewright.cli.measures import METRES, NUMBER
from pacewright.cli.options import (
    log_files,
    open_log_of,
    open_walker,
    option_azimuth,
    probability_option,
    walker_option,
)
from pacewright.cli.placing import open_start, start_options
from pacewright.cli.printing import paper_options, print_each, print_one
from pacewright.cli.sheet_cards import CARDS
from pacewright.cli.sheet_options import estimate_options, unit_option

if TYPE_CHECKING:
    from pacewright.cli.sheet_options import EstimateOf
    from pacewright.core.compass import AzimuthUnit
    from pacewright.core.pace.walker import Slope
    from pacewright.sheets.paper import Paper, Sheet


@click.group("sheet")
def command() -> None:
    """Print log pages, cards and tables: one PDF, fonts in it, black ink.

    A pocket sheet is a card of up to eight panels to cut out and fold, on A4 (pocket) or Letter
    (pocket-letter). Print at 100 %.
    """


@command.command("log", short_help="Log pages: blank, or logs as they were written.")
@click.argument("files", nargs=-1, metavar="[FILE...]")
@click.option("--pages", type=click.IntRange(1, 200), help="How many blank pages.")
@paper_options
def log_page(files: tuple[str, ...], pages: int | None, **paper: Any) -> int:
    """Print log pages of three columns: blank ones, or travel logs as they were written."""
    from pacewright.sheets.log_page import blank_logs, filled_log

    if files and pages is not None:
        raise click.UsageError("--pages is for blank pages: leave FILE or --pages away.")
    if not files:
        return print_one("log", lambda on: blank_logs(on, pages or 1), **paper)
    return print_each("log", files, lambda file, on: filled_log(open_log_of(file, None), on), **paper)


@command.command("trials", short_help="The pace trial sheet, with a mean worked.")
@click.argument("trials", required=False, metavar="[TRIALS.csv]")
@paper_options
def trials_page(trials: str | None, **paper: Any) -> int:
    """Print the pace trial sheet: blank with a made-up mean worked, or with the runs of TRIALS.csv."""
    from pacewright.files.disk import read_bytes
    from pacewright.files.trials_csv import read_trials, read_trials_heading
    from pacewright.sheets.trial_sheet import trial_sheet

    if trials is None:
        return print_one("trials", trial_sheet, **paper)
    data = read_bytes(trials)
    runs = read_trials(data, trials)
    return print_one("trials", lambda on: trial_sheet(on, runs, read_trials_heading(data)), **paper)


@command.command("pace-card", short_help="Paces for metres and metres for paces.")
@click.option("--walker", "walker_file", metavar="FILE", required=True, help="Walker file (TOML).")
@paper_options
def pace_card_page(walker_file: str, **paper: Any) -> int:
    """Print the walker's pace card: counts for 10 to 1000 m on each class of ground, and back."""
    from pacewright.sheets.pace_card import pace_card

    walker = open_walker(walker_file)
    return print_one("pace-card", lambda on: pace_card(walker, on), **paper)


@command.command("leg-card", short_help="Azimuth, count, cord, what to expect, when it is too far.")
@log_files
@estimate_options
@probability_option
@paper_options
def leg_card_page(
    files: tuple[str, ...],
    estimate_of: EstimateOf,
    probability: float,
    **paper: Any,
) -> int:
    """Print leg cards of travel logs, the way back at the foot."""
    from pacewright.sheets.leg_cards import leg_card

    return print_each(
        "leg-card", files, lambda file, on: leg_card(estimate_of(file), on, probability), **paper
    )


@command.command("way-back", short_help="The way back: direct, leg by leg, and the search.")
@log_files
@estimate_options
@click.option("--to", "to_name", metavar="NAME|INDEX", help="Goal (default: the start).")
@click.option(
    "--from", "from_name", metavar="NAME|INDEX", help="Where you stand (default: the last station)."
)
@click.option("--line", metavar="AZIMUTH", help="A line through the goal, to aim off by.")
@click.option("--sighting-distance", type=NUMBER, metavar="N", help="How far off you see the goal (else 20).")
@click.option("--ground", metavar="NAME", help="Ground of the way back (default: what you walked out on).")
@click.option("--slope", type=click.Choice(["up", "level", "down"]), help="How the way back lies.")
@probability_option
@paper_options
def way_back_page(
    files: tuple[str, ...],
    estimate_of: EstimateOf,
    to_name: str | None,
    from_name: str | None,
    line: str | None,
    sighting_distance: float | None,
    ground: str | None,
    slope: Slope | None,
    probability: float,
    **paper: Any,
) -> int:
    """Print the way back on a card: direct, aiming off, leg by leg, and the search to scale."""
    from pacewright.sheets.way_back_card import WayBackAsked, way_back_card

    def work(file: str, on: Paper) -> Sheet:
        estimate = estimate_of(file)
        log = estimate.log
        unit = log.heading.azimuth_unit
        here = log.find_station(from_name) if from_name is not None else len(log.legs)
        asked = WayBackAsked(
            from_station=here,
            to_station=0 if to_name is None else estimate.find_goal(to_name, here),
            probability=probability,
            line_azimuth_deg=None if line is None else option_azimuth("--line", line, unit),
            sighting_distance=sighting_distance,
            ground=ground,
            slope=slope,
        )
        return way_back_card(estimate, on, asked)

    return print_each("way-back", files, work, **paper)


@command.command("debrief", short_help="The walk as walked: figure, closures, suspects, adjusted stations.")
@log_files
@estimate_options
@probability_option
@click.option(
    "--plan", "plan_file", metavar="PLAN", help="The log of the planned legs: printed beside the walk."
)
@paper_options
def debrief_page(
    files: tuple[str, ...],
    estimate_of: EstimateOf,
    probability: float,
    plan_file: str | None,
    **paper: Any,
) -> int:
    """Print the debrief of travel logs: how each closes, what may be wrong in it, and the way back."""
    from pacewright.sheets.debrief import debrief_of, debrief_sheet

    plan = None if plan_file is None else open_log_of(plan_file, None)

    def work(file: str, on: Paper) -> Sheet:
        return debrief_sheet(debrief_of(estimate_of(file)), on, probability, plan)

    return print_each("debrief", files, work, **paper)


@command.command("plotting", short_help="Protractor, rulers in paces and metres, squared paper.")
@walker_option
@click.option(
    "--scale", type=NUMBER, default=5000.0, show_default=True, metavar="N", help="Scale of the map, 1:N."
)
@unit_option
@paper_options
def plotting_page(walker_file: str | None, scale: float, unit: AzimuthUnit | None, **paper: Any) -> int:
    """Print a full-circle protractor and rulers at exact scale, with a line to check the printer by."""
    from pacewright.sheets.plotting import plotting_sheet

    walker = open_walker(walker_file)
    return print_one("plotting", lambda on: plotting_sheet(on, walker, scale, unit or "degrees"), **paper)


@command.command("traverse-table", short_help="North and east parts, with a log worked.")
@click.argument("file", required=False, metavar="[FILE]")
@walker_option
@start_options
@unit_option
@paper_options
def traverse_page(
    file: str | None,
    walker_file: str | None,
    start_text: str | None,
    start_sd_m: float,
    unit: AzimuthUnit | None,
    **paper: Any,
) -> int:
    """Print the traverse table, and a log (FILE, or the one that comes with the tool) worked with it."""
    from pacewright.files.bundled import DEMO_LOG, bundled
    from pacewright.files.known_places import open_estimate
    from pacewright.files.log_csv import read_log
    from pacewright.sheets.traverse_sheet import traverse_sheet

    walker = open_walker(walker_file)
    log = read_log(bundled(DEMO_LOG), DEMO_LOG) if file is None else open_log_of(file, walker)
    estimate = open_estimate(log, walker, open_start(start_text), start_sd_m)
    return print_one("traverse-table", lambda on: traverse_sheet(estimate, on, unit), **paper)


@command.command("ranging", short_help="Six ways to find a distance that cannot be walked.")
@walker_option
@paper_options
def ranging_page(walker_file: str | None, **paper: Any) -> int:
    """Print the ranging card: each method with its drawing and its table."""
    from pacewright.sheets.ranging_card import ranging_card

    walker = open_walker(walker_file)
    return print_one("ranging", lambda on: ranging_card(walker, on), **paper)


# A longitude west begins with a minus and must not be taken for an option.
@command.command(
    "north",
    short_help="Declination and convergence of a place, and what to do to an azimuth.",
    context_settings={"ignore_unknown_options": True},
)
@click.argument("place", nargs=-1, required=True, metavar="LAT LON | PLACE")
@click.option("--date", "date_text", metavar="DATE", required=True, help="2026-05-14, or a decimal year.")
@click.option("--height-m", type=METRES, default=0.0, show_default=True, help="Height above the sea.")
@unit_option
@paper_options
def north_page(
    place: tuple[str, ...], date_text: str, height_m: float, unit: AzimuthUnit | None, **paper: Any
) -> int:
    """Print the declination card of a place and a date."""
    from pacewright.files.field_model import open_norths
    from pacewright.sheets.north_card import north_card

    _refuse_unknown_options(place)
    found = open_norths(" ".join(place), date_text, height_m)
    return print_one("north", lambda on: north_card(found, on, unit or "degrees"), **paper)


@command.command("map", short_help="A log on its ground, to exact scale, over several pages.")
@click.argument("file", metavar="FILE")
@estimate_options
@click.option("--terrain", metavar="FILE", required=True, help="The ground (GeoTIFF and the like).")
@click.option(
    "--scale", type=NUMBER, metavar="N", help="Scale 1:N, over as many pages as it takes; else one page."
)
@click.option("--no-back", is_flag=True, help="Leave the way back out.")
@probability_option
@paper_options
def map_page(
    file: str,
    estimate_of: EstimateOf,
    terrain: str,
    scale: float | None,
    no_back: bool,
    probability: float,
    **paper: Any,
) -> int:
    """Print a map sheet with a log on it; at a stated scale cut into pages, with an index."""
    from pacewright.files.elevation import read_terrain
    from pacewright.sheets.map_of_log import map_of_log

    estimate = estimate_of(file)
    ground = read_terrain(terrain)

    def make(on: Paper) -> Sheet:
        return map_of_log(estimate, ground, on, scale=scale, probability=probability, with_back=not no_back)

    return print_one("map", make, **paper)


def _refuse_unknown_options(place: Sequence[str]) -> None:
    unknown = next((word for word in place if word.startswith("--")), None)
    if unknown is not None:
        raise click.UsageError(f"No such option: {unknown}")


for _card in CARDS:
    command.add_command(_card)
