"""How a log closes, a traverse worked by hand, and stations that pull the compass: in plain sentences."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from pacewright.core.adjust.closure import Closure, Verdict
from pacewright.core.adjust.rule_adjustment import RuleAdjustment
from pacewright.core.adjust.traverse_rules import Traverse
from pacewright.core.compass import AzimuthUnit, direction_deg, format_azimuth
from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.tally import whole_count
from pacewright.wording.numbers import say_azimuth, say_length, say_whole

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]


def say_closures(log: TravelLog, closures: Sequence[Closure], unit: str) -> list[str]:
    """Say how each closure comes out, or what would close a log that does not.

    Parameters
    ----------
    log, closures
        The log and its closures.
    unit
        The frame's unit, `pace` or `metre`.
    """
    if not closures:
        return say_nothing_closes(log)
    return [sentence for one in closures for sentence in say_closure(log, one, unit)]


def say_closure(log: TravelLog, closure: Closure, unit: str) -> list[str]:
    """Say one closure: by how much, how much that is of the way, and whether it is ordinary."""
    first, last = closure.legs
    if closure.verdict == "no legs":
        return [
            f"{closure.at} is named at stations {first - 1} and {last}, and no way was walked between them: that checks "
            f"nothing. Is a count missing in {_legs(first, last)}?"
        ]
    missed = _missed(log, closure, unit)
    return [f"{_opening(closure)} {missed}.", _VERDICT[closure.verdict](closure)]


def _opening(closure: Closure) -> str:
    legs = _legs(*closure.legs)
    if closure.kind == "loop":
        return f"Back at {closure.at} after {legs}, the reckoning"
    return f"At {closure.at}, whose place is known, the reckoning by {legs}"


def _missed(log: TravelLog, closure: Closure, unit: str) -> str:
    walked = say_length(closure.walked, unit)
    if closure.ratio is None:
        return f"comes out exactly there, {walked} walked"
    toward = say_azimuth(direction_deg(closure.east, closure.north), log.heading.azimuth_unit)
    return (
        f"misses it by {say_length(closure.length, unit)} on azimuth {toward} "
        f"({_side(closure.east, 'east', 'west')}, {_side(closure.north, 'north', 'south')}): {walked} walked, closure "
        f"{say_ratio(closure.ratio)}"
    )


def say_ratio(ratio: float | None) -> str:
    """Write a ratio of closure.

    >>> say_ratio(2792.1), say_ratio(12.34), say_ratio(None)
    ('1:2792', '1:12', 'no misclosure')
    """
    return "no misclosure" if ratio is None else f"1:{ratio:.0f}"


def say_how_often(p_value: float) -> str:
    """Write how often ordinary scatter alone does as much or more.

    >>> say_how_often(0.42), say_how_often(0.004), say_how_often(0.0)
    ('42 times in 100', 'once in 250', 'less than once in 1,000')
    """
    if p_value < 1e-3:
        return "less than once in 1,000"
    if p_value >= 0.1:
        return f"{100 * p_value:.0f} times in 100"
    one_in = 1.0 / p_value
    return f"once in {float(f'{one_in:.2g}'):.0f}"


def _ordinary(closure: Closure) -> str:
    return (
        f"That is ordinary: scatter alone does as much {say_how_often(closure.p_value)}. No mistake shows; there may "
        "be one all the same."
    )


def _unusual(closure: Closure) -> str:
    return (
        f"That is a lot: scatter alone does as much {say_how_often(closure.p_value)}. Look these legs over before you "
        "trust them."
    )


def _mistake(closure: Closure) -> str:
    return (
        f"Scatter alone explains this {say_how_often(closure.p_value)}. Look for a mistake in these legs before you "
        "spread the gap over them."
    )


_VERDICT: Final = {"ordinary": _ordinary, "unusual": _unusual, "mistake": _mistake}


def say_nothing_closes(log: TravelLog) -> list[str]:
    """Say that nothing checks this log, and what would."""
    names = list(dict.fromkeys(name for name in log.station_names() if name))
    back = f"walk back to a marker named before ({', '.join(names[:5])})" if names else "name your markers"
    seen = any(log.sightings()) or any(leg.find(BackReading) for leg in log.legs)
    shows = "can show only by its bearings and back readings" if seen else "would not show"
    known = [point.name for point in log.heading.known if point.name in names]
    reached = "no station is a known point"
    if known:
        reached = f"{known[0]} is the only known point, which says where the log lies and checks nothing"
    one = "another" if known else "one"
    return [
        f"Nothing closes in this log: no marker is met again and {reached}. A mistake in it {shows}.",
        f"To close it, {back} and write [at NAME] in the last leg's notes. Or give the place of {one} in the heading: "
        "# known: NAME = local EAST NORTH +-10 m.",
    ]


def closure_table(log: TravelLog, closures: Sequence[Closure], unit: str) -> Rows:
    """Give the closures as a table."""
    heading: tuple[str, ...] = (
        "at",
        "legs",
        f"walked, {unit}s",
        "east",
        "north",
        "missed",
        "ratio",
        "chance",
        "verdict",
    )
    rows: list[tuple[str, ...]] = [
        (
            one.at,
            f"{one.legs[0]}-{one.legs[1]}",
            say_whole(one.walked),
            f"{whole_count(one.east):+d}",
            f"{whole_count(one.north):+d}",
            say_whole(one.length),
            say_ratio(one.ratio),
            f"{one.p_value:.3f}",
            _PLAIN[one.verdict],
        )
        for one in closures
    ]
    return heading, rows


_PLAIN: Final[dict[Verdict, str]] = {
    "ordinary": "ordinary",
    "unusual": "look it over",
    "mistake": "look for a mistake",
    "no legs": "checks nothing",
}


def traverse_table(
    traverse: Traverse, points: Sequence[str], unit: AzimuthUnit = "degrees", decimals: int = 2
) -> Rows:
    """Give a traverse worked by hand, in the order of the textbooks, sums in the last row.

    Parameters
    ----------
    traverse
        As adjusted by the compass rule or the transit rule.
    points
        Names of the points, the start first, one more than there are legs.
    unit, decimals
        How azimuths are written, and digits of lengths.
    """
    heading = (
        *("leg", "azimuth", "length", "latitude", "departure", "corr. lat.", "corr. dep."),
        *("adj. latitude", "adj. departure", "adj. azimuth", "adj. length", "north", "east"),
    )
    start = _fixed(traverse.north[0], decimals), _fixed(traverse.east[0], decimals)
    rows: list[tuple[str, ...]] = [(points[0], *[""] * (len(heading) - 3), *start)]
    for i in range(len(traverse.length)):
        numbers = (
            traverse.latitude[i],
            traverse.departure[i],
            traverse.latitude_correction[i],
            traverse.departure_correction[i],
            traverse.adjusted_latitude[i],
            traverse.adjusted_departure[i],
        )
        rows.append(
            (
                f"{points[i]} - {points[i + 1]}",
                format_azimuth(float(traverse.azimuth_deg[i]), unit, 1),
                _fixed(traverse.length[i], decimals),
                *(_fixed(number, decimals) for number in numbers),
                format_azimuth(float(traverse.adjusted_azimuth_deg[i]), unit, 1),
                _fixed(traverse.adjusted_length[i], decimals),
                _fixed(traverse.north[i + 1], decimals),
                _fixed(traverse.east[i + 1], decimals),
            )
        )
    return heading, [*rows, _sums(traverse, decimals)]


def traverse_tables(adjustment: RuleAdjustment, unit: AzimuthUnit = "degrees") -> list[Rows]:
    """Give the working of a log by a textbook rule, a table for each stretch between exact stations."""
    names = adjustment.reckoning.names
    tables = []
    for (first, last), traverse in zip(pairwise(adjustment.controls), adjustment.traverses, strict=True):
        points = [names[k] or ("start" if k == 0 else str(k)) for k in range(first, last + 1)]
        tables.append(traverse_table(traverse, points, unit, 1))
    return tables


def _sums(traverse: Traverse, decimals: int) -> tuple[str, ...]:
    columns = (
        traverse.latitude,
        traverse.departure,
        traverse.latitude_correction,
        traverse.departure_correction,
        traverse.adjusted_latitude,
        traverse.adjusted_departure,
    )
    sums = (_fixed(float(column.sum()), decimals) for column in columns)
    return ("sum", "", _fixed(traverse.perimeter, decimals), *sums, "", "", "", "")


def _fixed(number: float, decimals: int) -> str:
    shown = f"{number:.{decimals}f}"
    return shown.removeprefix("-") if float(shown) == 0 else shown


def say_traverse(traverse: Traverse, unit: str) -> list[str]:
    """Say by how much a traverse misses and by which rule it was adjusted."""
    how = {
        "compass": "the compass rule, in proportion to the length of each leg",
        "transit": "the transit rule, in proportion to the latitude and the departure of each leg",
    }[traverse.rule]
    if traverse.ratio is None:
        return ["The legs close exactly; there is nothing to spread."]
    return [
        f"The legs miss by {_fixed(traverse.misclosure, 1)} {unit}s in {_fixed(traverse.perimeter, 1)} "
        f"(closure {say_ratio(traverse.ratio)}): {_fixed(traverse.misclosure_north, 1)} in latitude, "
        f"{_fixed(traverse.misclosure_east, 1)} in departure.",
        f"That was spread by {how}.",
    ]


def _legs(first: int, last: int) -> str:
    return f"leg {first}" if first == last else f"legs {first} to {last}"


def _side(amount: float, positive: str, negative: str) -> str:
    return f"{say_whole(abs(amount))} {positive if amount >= 0 else negative}"
