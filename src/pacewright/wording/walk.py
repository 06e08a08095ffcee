"""Where you are, the way back, aiming off, searching: in plain sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import accumulate
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import back_azimuth, direction_deg
from pacewright.core.log.questions import find_questions, other_walker
from pacewright.core.log.travel_log import Leg, Sighting, TravelLog
from pacewright.core.pace.tally import whole_count
from pacewright.core.pace.walker import Walker
from pacewright.core.way.aiming_off import AimingOff
from pacewright.core.way.frames import CountedUnit
from pacewright.core.way.reckoning import Reckoning
from pacewright.core.way.regions import ellipse_axes, reach_of, station_region
from pacewright.core.way.search_pattern import ExpandingSquare, LineSearch, Overshoot
from pacewright.core.way.way_back import WayBack
from pacewright.exceptions import Complaint
from pacewright.wording.numbers import (
    say_azimuth,
    say_chance,
    say_length,
    say_place,
    say_tally,
    say_total,
    say_whole,
)

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]

CAUTION: Final = (
    "Caution: this is an aid, not a promise. Local rules and what qualified instruction taught you come first; "
    "turn back while there is light."
)
MOST_ROWS: Final = 400


def say_assumed(log: TravelLog, walker: Walker | None = None) -> list[str]:
    """Say what the heading left out and what was taken instead, and what the log makes one ask.

    Parameters
    ----------
    log
        The log.
    walker
        Whose figures go with it, if any do.
    """
    return [*_say_left_out(log), *say_questions(log, walker)]


def _say_left_out(log: TravelLog) -> list[str]:
    if not log.heading.assumed:
        return []
    taken = " and ".join(f"'{one}'" for one in log.heading.assumed)
    return [
        f"The heading does not say how it was read or counted; taken as {taken}. Add the line to the heading."
    ]


def say_questions(log: TravelLog, walker: Walker | None = None) -> list[str]:
    """Say what a log makes one ask: of its rows, of its unit, and whether the walker's figures are its own."""
    said = list(find_questions(log))
    other = other_walker(log, walker) if walker is not None else None
    if other is not None:
        said.append(
            f"Whose log is this? {_capital(other)}. Take the walker's own figures, or correct the name."
        )
    return said


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def say_reckoning(log: TravelLog, reckoning: Reckoning, probability: float) -> list[str]:
    """Say where the last station lies from the start, and how sure that is."""
    frame, last, unit = reckoning.frame, reckoning.last, log.heading.azimuth_unit
    walked = say_total(reckoning.length.tolist(), frame.unit)
    title = f"{log.heading.title}: " if log.heading.title else ""
    sentences = [f"{title}{say_length(last, 'leg')}, {walked} walked."]
    east, north = reckoning.place[last]
    distance, azimuth_deg = math.hypot(east, north), direction_deg(east, north)
    start, end = say_place(reckoning.names[0], 0), reckoning.names[last]
    where = f"{say_length(distance, frame.unit)} from {start}, on azimuth {say_azimuth(azimuth_deg, unit)}"
    if end and end == reckoning.names[0] and reckoning.held is not None:
        # Put together with the marker, the legs leave nothing to say of it.
        sentences += [f"You are at {end} again: the log says so.", _say_frame(reckoning)]
        return [*sentences, *reckoning.remarks]
    if end and end == reckoning.names[0]:
        sentences.append(
            f"The log ends at {end} again; by the reckoning it ends {where}. "
            "That gap is what the legs do not close by; the place itself is known."
        )
    else:
        sentences.append(f"You are {where} ({frame.azimuth_reference}).")
    along, across = station_region(reckoning, last, probability).half_widths(azimuth_deg)
    sentences.append(
        f"{_sure(probability)} the true place lies within {say_length(along, frame.unit)} along that line and "
        f"{say_length(across, frame.unit)} across it."
    )
    sentences.append(_say_frame(reckoning))
    return [*sentences, *reckoning.remarks]


def _sure(probability: float) -> str:
    return _capital(say_chance(probability))


def _say_frame(reckoning: Reckoning) -> str:
    if reckoning.frame.kind == "walker":
        counted = "own paces" if reckoning.frame.unit == "pace" else "metres as counted"
        return (
            f"This is in the walker's frame: {counted}, own compass, nothing converted. What compass or pace count "
            "are off all day is not in it, for it cancels on the way back."
        )
    north = reckoning.frame.azimuth_reference
    return (
        f"This is in the map frame: metres, {north} north. What the pace count and the compass may be off all day "
        "is in it."
    )


def say_reckoned(
    log: TravelLog, reckoning: Reckoning, probability: float, walker: Walker | None = None
) -> list[str]:
    """Say all of a reckoned log: what was assumed, where its last station lies, what its table leaves out."""
    return [
        *say_assumed(log, walker),
        *say_reckoning(log, reckoning, probability),
        *say_what_is_left_out(reckoning),
    ]


def say_what_is_left_out(reckoning: Reckoning) -> list[str]:
    """Say that the table of a very long log does not show every station."""
    if reckoning.last <= MOST_ROWS:
        return []
    return ["The table shows the named stations and the last; --json and pacewright export give all of them."]


def station_table(log: TravelLog, reckoning: Reckoning, probability: float) -> Rows:
    """Give the stations as a table; of a very long log only the named ones and the last."""
    unit, frame = log.heading.azimuth_unit, reckoning.frame
    heading: tuple[str, ...] = (
        "station",
        "name",
        "azimuth",
        f"{frame.unit}s",
        "east",
        "north",
        "from start",
        "long half",
        "short half",
    )
    is_long = reckoning.last > MOST_ROWS
    shown = [k for k, name in enumerate(reckoning.names) if not is_long or name or k == reckoning.last]
    covariances = reckoning.covariances()
    rows: list[tuple[str, ...]] = []
    for k in shown:
        east, north = (float(v) for v in reckoning.place[k])
        leg = (
            ("", "")
            if k == 0
            else (
                say_azimuth(float(reckoning.azimuth_deg[k - 1]), unit),
                say_whole(float(reckoning.length[k - 1])),
            )
        )
        away = say_azimuth(direction_deg(east, north), unit) if k else ""
        from_start = f"{say_whole(math.hypot(east, north))} on {away}" if k else ""
        long_half, short_half = _axes(covariances[k], probability) if k else ("", "")
        name = reckoning.names[k] or ""
        rows.append(
            (str(k), name, *leg, say_whole(east), say_whole(north), from_start, long_half, short_half)
        )
    return heading, rows


def _axes(covariance: NDArray[np.float64], probability: float) -> tuple[str, str]:
    long_sd, short_sd, _ = ellipse_axes(covariance)
    reach = reach_of(probability)
    return say_whole(reach * long_sd), say_whole(reach * short_sd)


def say_way_back(log: TravelLog, way: WayBack, turn: Overshoot) -> list[str]:
    """Say the direct way: azimuth, count, cord, region, when to look and when to stop."""
    unit = log.heading.azimuth_unit
    here, there = say_place(way.from_name, way.from_station), say_place(way.to_name, way.to_station or 0)
    if way.is_there:
        return [f"You are at {there} already: the log says so. There is no way to walk."]
    if way.count == 0:
        return [
            f"By the reckoning you stand at {there} now: there is no way to walk.",
            f"{_sure(way.probability)} {there} lies within {say_length(max(way.along, way.across), way.unit)} of you; "
            "if you do not see it, search.",
        ]
    cord = f" The cord then shows {say_tally(way.tally, _of_cord(way.unit))}." if way.tally else ""
    return [
        f"From {here} to {there}: azimuth {say_azimuth(way.azimuth_deg, unit)} ({way.azimuth_reference}), "
        f"{say_length(way.count, way.unit)}{_in_steps(log, way.count, way.unit)}.{cord}",
        f"{_sure(way.probability)} you will then stand within {say_length(way.along, way.unit)} along the way and "
        f"{say_length(way.across, way.unit)} across it of {there}.",
        f"Look for it from {_counted(log, turn.look_from, way.unit)} on; at {_counted(log, turn.stop_at, way.unit)} stop and search, do "
        "not walk on.",
        f"If you have overshot: turn to {say_azimuth(back_azimuth(way.azimuth_deg), unit)}, walk back "
        f"{_counted(log, turn.stop_at - way.count, way.unit)}.",
        *_say_ground(way.ground, way.other_counts),
    ]


def _say_ground(ground: Sequence[tuple[str, float]], other_counts: Sequence[tuple[str, int]]) -> list[str]:
    """Say what ground the count is for, and what it would be on the walker's other classes."""
    if not ground and not other_counts:
        return []
    shares = [name if share > 0.995 else f"{name} {100 * share:.0f} %" for name, share in ground]
    counted = f"The count is for {', '.join(shares) or 'ordinary ground'}."
    others = "; ".join(f"{name} {count}" for name, count in other_counts)
    return [f"{counted} On other ground: {others}." if others else counted]


def _counted(log: TravelLog, count: int, unit: CountedUnit) -> str:
    steps = _in_steps(log, count, unit)
    return f"{count} paces{steps}" if steps else str(count)


def _in_steps(log: TravelLog, count: int, unit: CountedUnit) -> str:
    return f" ({2 * count} steps)" if log.heading.count_unit == "steps" and unit == "pace" else ""


def _of_cord(unit: CountedUnit) -> str:
    """Between two beads a walker counts paces, in a log of metres as well."""
    return "step" if unit == "step" else "pace"


def say_map_figure(log: TravelLog, way: WayBack, walker: Walker) -> list[str]:
    """Say the same way in the map frame, and why the two differ."""
    figure = way.map_figure
    if figure is None:
        return [
            "There is no map figure: without a pace count paces do not become metres (see pacewright calibrate)."
        ]
    unit = log.heading.azimuth_unit
    turned = log.heading.declination_deg if figure.azimuth_reference != way.azimuth_reference else None
    return [
        f"On the map: azimuth {say_azimuth(figure.azimuth_deg, unit)} ({figure.azimuth_reference}), "
        f"{say_length(figure.length_m, 'metre')}, known within {say_length(figure.along_m, 'metre')} along and "
        f"{say_length(figure.across_m, 'metre')} across before any step back is walked.",
        f"{_why_turned(turned)}The two differ in their doubt: the map also bears what the pace count ({walker.count.scale_sd_pct:g} %) and "
        f"the compass ({walker.compass.bias_sd_deg:g} deg) may be off all day; walking back with the same stride "
        "and compass cancels both. Walk by your own paces.",
    ]


def _why_turned(declination_deg: float | None) -> str:
    if not declination_deg:
        return ""
    side = "E" if declination_deg > 0 else "W"
    return f"The azimuths differ by the declination, {abs(declination_deg):g} deg {side}. "


def say_aiming_off(log: TravelLog, aim: AimingOff, way: WayBack) -> list[str]:
    """Say the way that is aimed off: where to walk, when the line should come, and the turn there."""
    unit = log.heading.azimuth_unit
    here, there = say_place(way.from_name, way.from_station), say_place(way.to_name, way.to_station or 0)
    cord = f" The cord then shows {say_tally(aim.tally, _of_cord(aim.unit))}." if aim.tally else ""
    return [
        f"From {here} to {there}, aiming off: azimuth {say_azimuth(aim.azimuth_deg, unit)} ({way.azimuth_reference}), "
        f"{say_length(aim.count, aim.unit)}{_in_steps(log, aim.count, aim.unit)}, to the line.{cord}",
        f"Look for the line from {_counted(log, aim.line_from, aim.unit)} on; at {_counted(log, aim.line_by, aim.unit)} stop and search "
        "for it, do not walk on.",
        f"At the line turn {aim.turn} and follow it on {say_azimuth(aim.turn_azimuth_deg, unit)}: {there} should come "
        f"after about {say_length(aim.offset, aim.unit)}. If it has not come after "
        f"{_counted(log, aim.follow_to, aim.unit)}, it lies behind you: turn round.",
        f"The chance of meeting the line on the wrong side is {_say_small(aim.wrong_side_chance)} in 100.",
        *_say_ground(way.ground, _others_aimed(aim, way)),
    ]


def _others_aimed(aim: AimingOff, way: WayBack) -> list[tuple[str, int]]:
    """The count to the line on the walker's other classes of ground, which are to each other as those of the way."""
    ordinary = aim.count / (way.distance * way.counts_per_unit)
    return [(name, whole_count(count * ordinary)) for name, count in way.other_counts]


def say_not_to_walk(log: TravelLog, way: WayBack) -> str:
    """Say the direct way beside the one that is aimed off, as a note."""
    azimuth = say_azimuth(way.azimuth_deg, log.heading.azimuth_unit)
    return f"(The direct way, not to be walked: {azimuth}, {say_length(way.count, way.unit)}.)"


def _say_small(chance: float) -> str:
    return "less than 0.01" if chance < 1e-4 else f"{100 * chance:.2g}"


def say_not_possible(what: str, complaint: Complaint) -> list[str]:
    """Say that a part of the answer cannot be given, and why."""
    return [f"No {what}: {complaint}"]


def say_square(square: ExpandingSquare, way: WayBack) -> list[str]:
    """Say how to search at the end of the way."""
    return [
        f"Not there? Go to where the count was full ({way.count}) and look round: the goal may be in sight before the "
        f"first step ({_say_share(square.seen_at_once)}).",
        "Then walk an expanding square from there, all turns to the right, sides "
        f"{say_length(square.spacing, way.unit)} apart: {say_length(len(square.legs), 'side')}, "
        f"{say_total((leg.length for leg in square.legs), way.unit)} in all, to bring it into sight "
        f"{_say_share(square.legs[-1].seen_share)}.",
    ]


def say_line_search(log: TravelLog, search: LineSearch, aim: AimingOff) -> list[str]:
    """Say how to search from where the line is met."""
    unit, (first, *more) = log.heading.azimuth_unit, search.legs
    said = [
        f"The search starts where you meet the line. Look round: the goal may be in sight before the first step "
        f"({_say_share(search.seen_at_once)}).",
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
    """Give the sides of the search as a table; row 0 is the look round before the first step."""
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


def say_retrace(
    unit: CountedUnit, back: TravelLog, along: float, across: float, probability: float
) -> list[str]:
    """Say what walking back leg by leg is worth."""
    in_all = f"{sum(leg.count for leg in back.legs):.10g} {back.heading.count_unit}"
    return [
        f"Leg by leg: {say_length(len(back.legs), 'leg')}, {in_all} in all, as in the table below. Without meeting a marker on the way, "
        f"{say_chance(probability)} you will stand within {say_length(along, unit)} along and "
        f"{say_length(across, unit)} across the direct line; every marker you meet sets the count right again.",
    ]


def retrace_table(back: TravelLog) -> Rows:
    """Give the way back leg by leg, as the three columns of a notebook."""
    rows: list[tuple[str, ...]] = []
    for row in back.rows:
        kind = "leg" if isinstance(row, Leg) else "bearing" if isinstance(row, Sighting) else ""
        rows.append((kind, row.cells.azimuth, row.cells.count, row.cells.notes))
    return ("", "azimuth", f"count ({back.heading.count_unit})", "notes"), rows
