"""Searching at the end of a way: in plain sentences and a table."""

from __future__ import annotations

from itertools import accumulate

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.tally import whole_count
from pacewright.core.way.aiming_off import AimingOff
from pacewright.core.way.search_pattern import ExpandingSquare, LineSearch
from pacewright.core.way.way_back import WayBack
from pacewright.wording.numbers import say_azimuth, say_chance, say_length, say_total, say_whole

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]


def say_square(square: ExpandingSquare, way: WayBack) -> list[str]:
    """Say how to search at the end of the way."""
    return [
        f"Not there? Go to where the count was full ({way.count}) and look round: the goal is in sight at once "
        f"{_say_share(square.seen_at_once)}.",
        "Then walk an expanding square from there, all turns to the right, sides "
        f"{say_length(square.spacing, way.unit)} apart: {say_length(len(square.legs), 'side')}, "
        f"{say_total((leg.length for leg in square.legs), way.unit)} in all. That brings it into sight "
        f"{_say_share(square.legs[-1].seen_share)}.",
    ]


def say_line_search(log: TravelLog, search: LineSearch, aim: AimingOff) -> list[str]:
    """Say how to search from where the line is met."""
    unit, (first, *more) = log.heading.azimuth_unit, search.legs
    said = [
        "The search starts where you meet the line. Look round: the goal is in sight at once "
        f"{_say_share(search.seen_at_once)}.",
        f"Then follow the line on {say_azimuth(first.azimuth_deg, unit)} for {say_length(first.length, aim.unit)}: "
        f"in sight by then {_say_share(first.seen_share)}.",
    ]
    for leg in more:
        said.append(
            f"Still not seen? Turn round and follow the line on {say_azimuth(leg.azimuth_deg, unit)} for "
            f"{say_length(leg.length, aim.unit)}, back past where you met it: in sight by then {_say_share(leg.seen_share)}."
        )
    return said


def _say_share(share: float) -> str:
    times = whole_count(100 * share)
    if times == 0:
        return "less than 1 time in 100"
    return "more than 99 times in 100" if times == 100 else say_chance(times / 100)


def _in_100(share: float) -> str:
    times = whole_count(100 * share)
    return "< 1 in 100" if times == 0 else "> 99 in 100" if times == 100 else f"{times} in 100"


def search_table(log: TravelLog, search: ExpandingSquare | LineSearch, way: WayBack) -> Rows:
    """The sides of the search as a table; row 0 is the look round before the first step."""
    heading: tuple[str, ...] = ("side", "azimuth", f"{way.unit}s", "in all", "in sight by then")
    totals = accumulate(whole_count(leg.length) for leg in search.legs)
    rows: list[tuple[str, ...]] = [("0", "look round", "0", "0", _in_100(search.seen_at_once))]
    rows += [
        (
            str(i),
            say_azimuth(leg.azimuth_deg, log.heading.azimuth_unit),
            say_whole(leg.length),
            str(total),
            _in_100(leg.seen_share),
        )
        for i, (leg, total) in enumerate(zip(search.legs, totals, strict=True), start=1)
    ]
    return heading, rows
