"""pacewright plan: legs from here to there that can be held by compass and count, proved by made walkers."""

from __future__ import annotations

import datetime
import re
import sys
from typing import TYPE_CHECKING, Any, Final

import click

from pacewright.cli.angles import angle_option
from pacewright.cli.measures import Metres, Number
from pacewright.cli.options import (
    json_option,
    open_log,
    open_walker,
    out_options,
    time_rule_option,
    walker_option,
)
from pacewright.cli.output import Answer, Table, say, write_out
from pacewright.cli.renamed import NewName

if TYPE_CHECKING:
    from pacewright.answers.hand_plan import HandLeg
    from pacewright.answers.plan import PlanAnswer
    from pacewright.answers.plan_daylight import PlanByDay
    from pacewright.answers.plan_question import MapHeld, Named, PlanAsked, PlanNorth
    from pacewright.core.pace.walker import Walker
    from pacewright.ground.grid_text import Position

_TIME: Final = re.compile(r"(\d{1,2}):(\d{2})")
_SEED: Final = 1
"""The same question has the same answer."""


# A latitude south begins with a minus and must not be taken for an option.
@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("places", nargs=-1, metavar="FROM TO")
@click.option("--terrain", metavar="FILE", help="Heights of the land (GeoTIFF and the like).")
@click.option(
    "--no-map", is_flag=True, help="Plan over --known-line and --known-point alone; places are local metres."
)
@click.option(
    "--features", multiple=True, metavar="FILE",
    help="Your own lines, points and areas to keep off (GeoJSON, GeoPackage, GPX).",
)  # fmt: skip
@click.option("--via", multiple=True, metavar="PLACE", help="Go through this place; repeat for more.")
@click.option(
    "--known-line", "--line", "lines", cls=NewName, multiple=True, metavar="KIND: PLACE; PLACE...",
    help="A line typed by hand.",
)  # fmt: skip
@click.option(
    "--known-point", "--point", "points", cls=NewName, multiple=True, metavar="NAME = PLACE",
    help="A sight typed by hand.",
)  # fmt: skip
@click.option(
    "--keep-off", "areas", multiple=True, metavar="PLACE; PLACE; PLACE...", help="An area to keep off."
)
@click.option(
    "--from-log", "from_log", metavar="LOG", help="Plan from where this log stands; then give TO only."
)
@click.option("--prove", "hand_plan", metavar="LOG", help="No planning: prove these legs, planned by hand.")
@click.option(
    "--miss", type=Number(0.1, 60), default=5.0, show_default=True, metavar="PCT",
    help="The chance of missing that is allowed.",
)  # fmt: skip
@click.option("--within-min", type=Number(1, 5000), metavar="N", help="The surest plan within N minutes.")
@click.option(
    "--north", type=click.Choice(["magnetic", "true", "grid"]), default="magnetic", show_default=True,
    help="North of the azimuths.",
)  # fmt: skip
@click.option(
    "--date", "date_text", metavar="DATE", help="Date of the declination and the sun; today if not given."
)
@click.option("--declination", metavar="ANGLE", help="Take this declination, such as 5.5 E; no model then.")
@time_rule_option
@click.option(
    "--rest-min", type=Number(0, 45), default=10.0, show_default=True, metavar="N",
    help="Minutes of rest in an hour.",
)  # fmt: skip
@click.option(
    "--seen-m", type=Metres(5, 500), default=50.0, show_default=True, metavar="N",
    help="How far off a sight is seen.",
)  # fmt: skip
@click.option(
    "--steepest", type=Number(5, 90), default=35.0, show_default=True, metavar="DEG",
    help="Cross ground steeper than this on a slant only, and keep off what is 10 degrees steeper still.",
)  # fmt: skip
@click.option("--level-is-dry", is_flag=True, help="Level areas are no water: they may be crossed.")
@click.option("--no-streams", is_flag=True, help="Take no streams from the heights.")
@click.option("--ridges", is_flag=True, help="Take ridges from the heights as lines too.")
@click.option(
    "--stream-km2", type=Number(0.01, 100), default=0.5, show_default=True, metavar="N",
    help="Land that drains through the smallest stream.",
)  # fmt: skip
@click.option("--leave", metavar="HH:MM", help="When you set out; says times, daylight, when to turn back.")
@click.option("--zone", metavar="+HH:MM", help="With --leave: the clock's offset from universal time.")
@click.option(
    "--sheet", "sheet_file", metavar="FILE.pdf", help="Print leg card, card to leave behind, and map."
)
@click.option(
    "--paper", "paper_name", type=click.Choice(["a4", "letter", "a5"]), default="a4", show_default=True,
    help="With --sheet: paper.",
)  # fmt: skip
@click.option("--scale", type=Number(100, 1_000_000), metavar="N", help="With --sheet: the map at 1:N.")
@walker_option
@out_options("the plan (.csv travel log, .geojson)")
@angle_option
@json_option
def command(places: tuple[str, ...], **given: Any) -> int:
    """Plan legs that can be held by compass and count, and say how likely they are to be missed.

    A place is in quotes: "37.4521 -119.2984", UTM or MGRS; with --no-map "local 300 400". Made walkers walk
    every plan before it is shown. Exit code 1: no plan keeps what was asked.
    """
    import numpy as np

    from pacewright.answers.plan import answer_plan, prove_by_hand
    from pacewright.files.plan_files import plan_keys, write_plan_geojson, write_plan_log
    from pacewright.wording.planning import others_table, plan_table, say_plan

    for word in places:
        if re.match(r"--|-[A-Za-z]", word):
            raise click.NoSuchOption(word)
    walker = open_walker(given["walker_file"])
    held, asked, begin = _asked(places, walker, given)
    leave = _leave(given) if given["leave"] else None
    if leave is not None and begin is None:
        raise click.UsageError("--leave needs a place on the earth: it goes with --terrain.")
    progress = None if given["as_json"] else _Progress()
    rng = np.random.default_rng(_SEED)
    if given["hand_plan"]:
        answer = prove_by_hand(held, walker, asked, _hand_legs(given["hand_plan"], walker), rng)
    else:
        answer = answer_plan(held, walker, asked, rng, progress)
    if progress is not None:
        progress.end()
    by_day = _by_day(answer, begin, leave)
    if given["out"] and answer.legs:
        date = given["date_text"] or datetime.date.today().isoformat()
        is_log = given["out"].lower().endswith(".csv")
        data = write_plan_log(answer, date) if is_log else write_plan_geojson(answer)
        write_out(given["out"], data, given["force"])
    if given["sheet_file"] and answer.legs:
        _print_sheets(answer, by_day, given)
    tables = [Table(*plan_table(answer, by_day)), Table(*others_table(answer))] if answer.legs else []
    finding = not answer.holds or (by_day is not None and not by_day.is_before_dark)
    said = say_plan(answer, by_day)
    if not answer.legs and (given["out"] or given["sheet_file"]):
        said.append("Nothing was written: there is no plan to write.")
    say(Answer(plan_keys(answer, by_day), said, tables, finding=finding), given["as_json"])
    return int(finding)


def _asked(
    places: tuple[str, ...], walker: Walker, given: dict[str, Any]
) -> tuple[MapHeld, PlanAsked, Position | None]:
    from pacewright.answers.plan_question import MapHeld, PlanNorth

    if bool(given["terrain"]) == given["no_map"]:
        raise click.UsageError("Give --terrain FILE, or --no-map with --known-line and --known-point.")
    wanted = 1 if given["from_log"] else 2
    if len(places) != wanted:
        raise click.UsageError(
            "Give FROM and TO, each in quotes." if wanted == 2 else "With --from-log give TO alone."
        )
    if given["no_map"]:
        if given["from_log"] or given["features"]:
            raise click.UsageError("--from-log and --features need --terrain.")
        ends, via = [_local(one) for one in places], [_local(one) for one in given["via"]]
        held = MapHeld(None, *_typed(given, _local))
        asked = _filled(_named(ends, via), PlanNorth(LOCAL_NORTH), given)
        return held, asked, None
    return _on_map(places, walker, given)


LOCAL_NORTH: Final = "local"
"""Without a map azimuths are by the north that the places are measured from."""


def _on_map(
    places: tuple[str, ...], walker: Walker, given: dict[str, Any]
) -> tuple[MapHeld, PlanAsked, Position]:
    from dataclasses import replace

    from pacewright.files.plan_land import onto_grid, open_map, open_north, standing_after

    after = None
    found = [(_name_of(text, k, len(places)), _place(text)) for k, text in enumerate(places)]
    if given["from_log"]:
        after = standing_after(open_log(given["from_log"]), walker)
        found.insert(0, (after.name, after.position))
    found += [(f"Via {k}", _place(text)) for k, text in enumerate(given["via"], 1)]
    held, named = open_map(given["terrain"], given["features"], found)
    assert held.terrain is not None
    crs = held.terrain.crs
    lines, points, barred = _typed(given, lambda text: onto_grid(_place(text), crs))
    held = replace(held, lines=held.lines + lines, points=held.points + points, barred=held.barred + barred)
    begin = found[0][1]
    date = given["date_text"] or datetime.date.today().isoformat()
    north = open_north(given["north"], begin, crs, date, given["declination"])
    start, goal, *via = named
    asked = _filled((start, goal, tuple(via)), north, given)
    if after is not None:
        asked = replace(asked, start_spread=after.spread, start_mistake=after.mistake)
    return held, asked, begin


def _filled(
    ends: tuple[Named, Named, tuple[Named, ...]], north: PlanNorth, given: dict[str, Any]
) -> PlanAsked:
    from pacewright.answers.plan_question import PlanAsked

    start, goal, via = ends
    return PlanAsked(
        start=start, goal=goal, via=via, miss=given["miss"] / 100.0,
        most_min=given["within_min"], north=north, rule=given["rule"], rest_min=given["rest_min"],
        seen_m=given["seen_m"], steepest_deg=given["steepest"], with_level=not given["level_is_dry"],
        with_streams=not given["no_streams"], with_ridges=given["ridges"], stream_km2=given["stream_km2"],
    )  # fmt: skip


def _named(
    ends: list[tuple[float, float]], via: list[tuple[float, float]]
) -> tuple[Named, Named, tuple[Named, ...]]:
    from pacewright.answers.plan_question import Named

    start, goal = (Named(name, place) for name, place in zip(("start", "goal"), ends, strict=True))
    return start, goal, tuple(Named(f"Via {k}", place) for k, place in enumerate(via, 1))


def _name_of(text: str, number: int, count: int) -> str:
    return "goal" if number == count - 1 else "start"


def _place(text: str) -> Position:
    from pacewright.files.plan_land import place_typed

    return place_typed(text)


def _local(text: str) -> tuple[float, float]:
    from pacewright.core.plausible import decimal_point
    from pacewright.exceptions import ValueComplaint

    bare = re.sub(r"^\s*local\b", "", text, flags=re.IGNORECASE)
    words = decimal_point(bare).split()
    words = words if len(words) == 2 else bare.replace(",", " ").split()
    try:
        east, north = (float(word) for word in words)
    except ValueError:
        raise ValueComplaint(
            f"{text[:60]} is not two lengths in metres", 'Write east and north, such as "local 300 400"'
        ) from None
    if not (abs(east) < 1e6 and abs(north) < 1e6):
        raise ValueComplaint(f"{text[:60]} is too far away", "Give metres within 1000 km")
    return east, north


def _typed(given: dict[str, Any], place: Any) -> tuple[Any, Any, Any]:
    """Read what was typed by hand: lines, points, areas."""
    from pacewright.files.plan_typed import read_area, read_line, read_point

    kinds = (("lines", read_line), ("points", read_point), ("areas", read_area))
    lines, points, areas = (tuple(read(text, place) for text in given[name]) for name, read in kinds)
    return lines, points, areas


def _hand_legs(path: str, walker: Walker) -> list[HandLeg]:
    from pacewright.answers.hand_plan import hand_legs

    return hand_legs(open_log(path), walker)


def _leave(given: dict[str, Any]) -> datetime.datetime:
    from pacewright.cli.when import read_date, read_zone
    from pacewright.exceptions import ValueComplaint

    match = _TIME.fullmatch(given["leave"].strip())
    if not match or int(match[1]) > 23 or int(match[2]) > 59:
        raise ValueComplaint(
            f"--leave: {given['leave'][:20]} is no time of day", "Write hours and minutes, such as 08:30"
        )
    zone, _ = read_zone(given["zone"], has_time=True)
    date = read_date(given["date_text"] or datetime.date.today().isoformat(), None)
    return datetime.datetime.combine(date, datetime.time(int(match[1]), int(match[2])), zone)


def _by_day(answer: PlanAnswer, begin: Position | None, leave: datetime.datetime | None) -> PlanByDay | None:
    from pacewright.answers.plan_daylight import plan_by_day

    if leave is None or begin is None or not answer.legs:
        return None
    return plan_by_day(answer, begin.latitude_deg, begin.longitude_deg, leave)


def _print_sheets(answer: PlanAnswer, by_day: PlanByDay | None, given: dict[str, Any]) -> None:
    from pacewright.cli.printing import pdf_name
    from pacewright.sheets.paper import PAPERS
    from pacewright.sheets.plan_sheets import plan_sheets
    from pacewright.sheets.typesetting import print_sheets

    paper = PAPERS[given["paper_name"]]
    target = pdf_name(given["sheet_file"])
    sheets = plan_sheets(answer, paper, by_day, given["scale"])
    printed = print_sheets(sheets, paper, printed_on=datetime.date.today().isoformat())
    write_out(target, printed.pdf, given["force"])


class _Progress:
    """A line on standard error once planning takes more than a second; only on a terminal."""

    def __init__(self) -> None:
        import time

        self._clock, self._begun, self._is_shown = time.monotonic, time.monotonic(), False

    def __call__(self, share: float) -> None:
        if sys.stderr.isatty() and self._clock() - self._begun > 1.0:
            self._is_shown = True
            click.echo(f"\rPlanning and walking: {100 * share:3.0f} %. ", err=True, nl=False)

    def end(self) -> None:
        """Clear the line."""
        if self._is_shown:
            click.echo("\r" + " " * 40 + "\r", err=True, nl=False)
