"""How a log closes, a traverse worked by hand, and stations that pull the compass: in plain sentences."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.closure import Closure
from pacewright.core.adjust.rule_adjustment import RuleAdjustment
from pacewright.core.adjust.traverse_rules import Traverse
from pacewright.core.compass import AzimuthUnit, direction_deg
from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.log.written_azimuths import Fineness, fineness_of, write_like
from pacewright.wording.numbers import say_azimuth, say_length, say_whole

Array = NDArray[np.float64]
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


def traverse_table(
    traverse: Traverse,
    points: Sequence[str],
    sample: str = "0.0",
    unit: AzimuthUnit = "degrees",
    decimals: int = 2,
) -> tuple[Rows, Rows]:
    """The form of a traverse worked by hand: as measured with its corrections, and as adjusted.

    Parameters
    ----------
    traverse
        As adjusted by the compass rule or the transit rule.
    points
        Names of the points, the start first, one more than there are legs.
    sample, unit, decimals
        A reading written as azimuths are to be, its unit, and digits of lengths.
    """
    legs = [f"{here} - {there}" for here, there in pairwise(points)]
    measured, adjusted = (
        [write_like(sample, float(azimuth_deg), unit) for azimuth_deg in column]
        for column in (traverse.azimuth_deg, traverse.adjusted_azimuth_deg)
    )
    parts = (
        traverse.latitude,
        traverse.departure,
        traverse.latitude_correction,
        traverse.departure_correction,
    )
    after = (traverse.adjusted_latitude, traverse.adjusted_departure)
    first = _form(legs, (measured,), (traverse.length, *parts), decimals)
    second = _form(
        legs,
        (adjusted,),
        (traverse.adjusted_length, *after, traverse.north[1:], traverse.east[1:]),
        decimals,
    )
    sums = [_fixed(float(column.sum()), decimals) for column in (traverse.length, *parts)]
    start = _fixed(traverse.north[0], decimals), _fixed(traverse.east[0], decimals)
    return (
        (
            ("leg", "azimuth", "length", "latitude", "departure", "corr. lat.", "corr. dep."),
            [*first, ("sum", "", *sums)],
        ),
        (
            ("leg", "adj. azimuth", "adj. length", "adj. lat.", "adj. dep.", "north", "east"),
            [(points[0], "", "", "", "", *start), *second],
        ),
    )


def _form(
    legs: Sequence[str], texts: Sequence[Sequence[str]], columns: Sequence[Array], decimals: int
) -> list[tuple[str, ...]]:
    numbers = [[_fixed(float(number), decimals) for number in column] for column in columns]
    return [tuple(row) for row in zip(legs, *texts, *numbers, strict=True)]


def traverse_tables(log: TravelLog, adjustment: RuleAdjustment) -> list[Rows]:
    """The working of a log by a textbook rule, as finely as it is written; two tables for each stretch."""
    names = adjustment.reckoning.names
    tables: list[Rows] = []
    for (first, last), traverse in zip(pairwise(adjustment.controls), adjustment.traverses, strict=True):
        points = [names[k] or ("start" if k == 0 else str(k)) for k in range(first, last + 1)]
        unit = log.heading.azimuth_unit
        tables += traverse_table(traverse, points, finest_azimuth(log), unit, written_decimals(log))
    return tables


def finest_azimuth(log: TravelLog) -> str:
    """The azimuth of a leg that is written most finely, to the letter; with one decimal where all are whole."""
    unit = log.heading.azimuth_unit
    texts = [leg.cells.azimuth.strip() for leg in log.legs]
    finest = min(texts, key=lambda text: fineness_of(text, unit).step_deg)
    return "0.0" if fineness_of(finest, unit) == Fineness(unit) else finest


def written_decimals(log: TravelLog) -> int:
    """To how many decimals the counts of a log are written, and at least one: corrections are small."""
    texts = (leg.cells.count.strip().replace(",", ".") for leg in log.legs)
    return max(1, *(len(text.partition(".")[2]) for text in texts))


def _fixed(number: float, decimals: int) -> str:
    shown = f"{number:.{decimals}f}"
    return shown.removeprefix("-") if float(shown) == 0 else shown


def say_traverse(traverse: Traverse, unit: str, decimals: int = 1) -> list[str]:
    """By how much a traverse misses, by which rule it was adjusted, and the area of a loop."""
    how = {
        "compass": "the compass rule, in proportion to the length of each leg",
        "transit": "the transit rule, in proportion to the latitude and the departure of each leg",
    }[traverse.rule]
    area = traverse.area
    enclosed = [] if area is None else [f"The adjusted figure encloses {area:.{decimals}f} square {unit}s."]
    if traverse.ratio is None:
        return ["The legs close exactly; there is nothing to spread.", *enclosed]
    missed, north, east = (
        _fixed(part, decimals)
        for part in (traverse.misclosure, traverse.misclosure_north, traverse.misclosure_east)
    )
    return [
        f"The legs miss by {missed} {unit}s in {_fixed(traverse.perimeter, decimals)} "
        f"(closure {say_ratio(traverse.ratio)}): {north} in latitude, {east} in departure.",
        f"That was spread by {how}.",
        *enclosed,
    ]


def _legs(first: int, last: int) -> str:
    return f"leg {first}" if first == last else f"legs {first} to {last}"


def _side(amount: float, positive: str, negative: str) -> str:
    return f"{say_whole(abs(amount))} {positive if amount >= 0 else negative}"
