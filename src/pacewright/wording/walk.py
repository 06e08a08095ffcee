"""Where you are, the way back, aiming off: in plain sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import AzimuthUnit, back_azimuth, direction_deg
from pacewright.core.log.questions import find_questions, other_walker
from pacewright.core.log.travel_log import Leg, Sighting, TravelLog
from pacewright.core.pace.tally import whole_count
from pacewright.core.pace.walker import Walker
from pacewright.core.way.aiming_off import AimingOff
from pacewright.core.way.frames import CountedUnit
from pacewright.core.way.reckoning import Reckoning
from pacewright.core.way.regions import ellipse_axes, reach_of, station_region
from pacewright.core.way.search_pattern import Overshoot
from pacewright.core.way.way_back import WayBack
from pacewright.exceptions import Complaint
from pacewright.wording.numbers import (
    say_azimuth,
    say_cord,
    say_length,
    say_odds,
    say_place,
    say_read_azimuth,
    say_tally,
    say_total,
    say_whole,
)

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]

CAUTION: Final = "Caution: an aid, no promise. Local rules and qualified instruction come first."
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
    assumed = log.heading.assumed
    taken = " and ".join(f"'{one}'" for one in assumed)
    both = len(assumed) > 1
    return [
        f"The heading does not say how the log was read or counted: {taken} {'are' if both else 'is'} assumed. "
        f"Add the {'lines' if both else 'line'} to the heading."
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
    """Say where the last station lies from the start, how sure that is, and how much was walked."""
    title = f"{log.heading.title}: " if log.heading.title else ""
    told = f"{title}{say_length(reckoning.last, 'leg')}, {_say_walked(log, reckoning)}."
    return [*_say_stand(log, reckoning, probability), told, *reckoning.remarks]


def _say_walked(log: TravelLog, reckoning: Reckoning) -> str:
    unit = reckoning.frame.unit
    lengths = reckoning.length.tolist()
    counted = sum(leg.count for leg in log.legs) * reckoning.frame.units_per_count
    if unit != "pace" or abs(counted - sum(lengths)) < 1.0:
        return f"{say_total(lengths, unit)} walked"
    return f"{say_length(counted, unit)} walked (as much as {say_total(lengths, unit)} on ordinary ground)"


def _say_stand(log: TravelLog, reckoning: Reckoning, probability: float) -> list[str]:
    frame, last, unit = reckoning.frame, reckoning.last, log.heading.azimuth_unit
    east, north = reckoning.place[last]
    distance, azimuth_deg = math.hypot(east, north), direction_deg(east, north)
    start, end = say_place(reckoning.names[0], 0), reckoning.names[last]
    where = f"{say_length(distance, frame.unit)} from {start}, on azimuth {say_azimuth(azimuth_deg, unit)}"
    is_back = bool(end) and end == reckoning.names[0]
    if is_back and reckoning.held is not None:
        # Put together with the marker, the legs leave nothing to say of it.
        return [f"You are at {end} again: the log says so."]
    along, across = station_region(reckoning, last, probability).half_widths(azimuth_deg)
    sure = (
        f"give or take {say_length(along, frame.unit)} along that line and {say_whole(across)} across it "
        f"({say_odds(probability)})."
    )
    if is_back:
        gap = f"By its legs alone the walk ends {where}: they do not close by that much, {sure}"
        return [f"You are at {end} again: the log says so.", gap]
    return [f"You are {where} ({frame.azimuth_reference}).", _capital(sure)]


def say_frame(reckoning: Reckoning) -> str:
    """Say which frame a reckoning is in, and what its doubt holds."""
    if reckoning.frame.kind == "walker":
        counted = "paces" if reckoning.frame.unit == "pace" else "metres as counted"
        return (
            f"This is in your own {counted} and by your own compass (the walker's frame). A compass or a pace count "
            "that is off all day is not in the doubt: it cancels on the way back. Counts on other ground stand here "
            "as what they are on ordinary ground."
        )
    north = reckoning.frame.azimuth_reference
    return (
        f"This is in metres, from {north} north (the map frame). The doubt holds what your compass and your pace "
        "count may be off all day."
    )


def say_reckoned(
    log: TravelLog, reckoning: Reckoning, probability: float, walker: Walker | None = None
) -> list[str]:
    """Say all of a reckoned log: where its last station lies, what its table leaves out, what was assumed."""
    return [
        *say_reckoning(log, reckoning, probability),
        *say_what_is_left_out(reckoning),
        *say_assumed(log, walker),
    ]


def say_what_is_left_out(reckoning: Reckoning) -> list[str]:
    """Say that the table of a very long log does not show every station."""
    if reckoning.last <= MOST_ROWS:
        return []
    return ["The table shows the named stations and the last; --json and pacewright export give all of them."]


def station_table(log: TravelLog, reckoning: Reckoning, probability: float) -> Rows:
    """The stations as a table, the half-axes of their regions last; of a very long log only the named ones."""
    unit, frame = log.heading.azimuth_unit, reckoning.frame
    heading: tuple[str, ...] = (
        "station",
        "name",
        "azimuth",
        f"{frame.unit}s",
        "east",
        "north",
        "from start",
        "within",
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
                say_read_azimuth(float(reckoning.azimuth_deg[k - 1]), unit),
                say_whole(float(reckoning.length[k - 1])),
            )
        )
        from_start = _say_from_start(east, north, unit) if k else ""
        within = _axes(covariances[k], probability) if k else ""
        name = reckoning.names[k] or ""
        rows.append((str(k), name, *leg, say_whole(east), say_whole(north), from_start, within))
    return heading, rows


def _say_from_start(east: float, north: float, unit: AzimuthUnit) -> str:
    away = say_whole(math.hypot(east, north))
    # What lies no pace off lies in no direction.
    return away if away == "0" else f"{away} on {say_azimuth(direction_deg(east, north), unit)}"


def say_within_column(probability: float) -> str:
    """Say what the last column of the table of stations holds."""
    return (
        f"The column 'within' holds the half-axes of the ellipse that holds the true place ({say_odds(probability)}), "
        "the long one first."
    )


def _axes(covariance: NDArray[np.float64], probability: float) -> str:
    long_sd, short_sd, _ = ellipse_axes(covariance)
    reach = reach_of(probability)
    return f"{say_whole(reach * long_sd)} x {say_whole(reach * short_sd)}"


def say_way_back(log: TravelLog, way: WayBack, turn: Overshoot) -> list[str]:
    """Say the direct way: azimuth, count, cord, region, when to look and when to stop."""
    unit = log.heading.azimuth_unit
    if way.is_there or way.count == 0:
        return say_no_way(way)
    cord = f" The cord then shows {say_tally(way.tally, _of_cord(way.unit))}." if way.tally else ""
    return [
        f"{say_from_to(way)}: azimuth {say_azimuth(way.azimuth_deg, unit)} ({way.azimuth_reference}), "
        f"{say_length(way.count, way.unit)}{_in_steps(log, way.count, way.unit)}.{cord}",
        *say_way_end(log, way, turn),
    ]


def say_no_way(way: WayBack) -> list[str]:
    """Say that nothing is to be walked: the log says so, or the reckoning does."""
    there = say_place(way.to_name, way.to_station or 0)
    if way.is_there:
        return [f"You are at {there} already: the log says so. There is no way to walk."]
    return [
        f"By the reckoning you stand at {there} now: there is no way to walk.",
        f"It lies within {say_length(max(way.along, way.across), way.unit)} of you ({say_odds(way.probability)}); "
        "if you do not see it, search.",
    ]


def say_from_to(way: WayBack) -> str:
    """Say which two places a way joins."""
    here, there = say_place(way.from_name, way.from_station), say_place(way.to_name, way.to_station or 0)
    return f"From {here} to {there}"


def say_way_end(log: TravelLog, way: WayBack, turn: Overshoot) -> list[str]:
    """Say how sure the end of a way is, when to look and when to stop, and for what ground it is counted."""
    return [
        say_within(way),
        say_look_and_stop(log, way, turn),
        f"Not seen by then? Turn to {say_azimuth(back_azimuth(way.azimuth_deg), log.heading.azimuth_unit)}, walk "
        f"back {_counted(log, turn.stop_at - way.count, way.unit)}, and search from there.",
        *_say_ground(way.ground, way.other_counts),
    ]


def say_within(way: WayBack) -> str:
    """Say how near the goal a way ends."""
    there = say_place(way.to_name, way.to_station or 0)
    return (
        f"You will end within {say_length(way.along, way.unit)} of {there} along your line and "
        f"{say_whole(way.across)} across ({say_odds(way.probability)})."
    )


def say_look_and_stop(log: TravelLog, way: WayBack, turn: Overshoot) -> str:
    """Say from which count on to look for the goal, and at which to stop."""
    return f"Look for it from {_counted(log, turn.look_from, way.unit)} on. Stop at {_counted(log, turn.stop_at, way.unit)}; do not walk on."


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
        return ["There is no figure in metres: your pace count is not known (see pacewright calibrate)."]
    unit = log.heading.azimuth_unit
    turned = log.heading.declination_deg if figure.azimuth_reference != way.azimuth_reference else None
    apart_deg = figure.azimuth_deg - way.azimuth_deg
    return [
        f"On the map: azimuth {say_azimuth(figure.azimuth_deg, unit)} ({figure.azimuth_reference}), "
        f"{say_length(figure.length_m, 'metre')}, within {say_length(figure.along_m, 'metre')} along and "
        f"{say_whole(figure.across_m)} across.",
        f"{_why_turned(turned, apart_deg)}The map figure is less sure: it also holds what your pace count "
        f"({walker.count.scale_sd_pct:g} %) and compass ({walker.compass.bias_sd_deg:g} deg) may be off all day. "
        "Walking back with the same stride and compass cancels both, so walk by your own paces.",
    ]


def _why_turned(declination_deg: float | None, apart_deg: float) -> str:
    if not declination_deg:
        return ""
    side = "E" if declination_deg > 0 else "W"
    rest_deg = abs((apart_deg - declination_deg + 540.0) % 360.0 - 180.0)
    differ = f"The two azimuths differ by the declination, {abs(declination_deg):g} deg {side}"
    if rest_deg < 0.5:
        return f"{differ}. "
    return f"{differ}; the other {rest_deg:.0f} deg is grid convergence and what the compass was found to be off. "


def say_answer_line(log: TravelLog, way: WayBack, aim: AimingOff | None = None) -> str:
    """Write what to walk and nothing else: azimuth, count, cord."""
    azimuth_deg, count, tally = (
        (way.azimuth_deg, way.count, way.tally) if aim is None else (aim.azimuth_deg, aim.count, aim.tally)
    )
    counted = f"{say_length(count, way.unit)}{_in_steps(log, count, way.unit)}"
    parts = (say_azimuth(azimuth_deg, log.heading.azimuth_unit), counted, say_cord(tally) if tally else "")
    return "  ".join(part for part in parts if part)


def say_aiming_off(log: TravelLog, aim: AimingOff, way: WayBack) -> list[str]:
    """Say the way that is aimed off: where to walk, when the line should come, and the turn there."""
    cord = f" The cord then shows {say_tally(aim.tally, _of_cord(aim.unit))}." if aim.tally else ""
    azimuth = say_azimuth(aim.azimuth_deg, log.heading.azimuth_unit)
    return [
        f"{say_from_to(way)}, aiming off: azimuth {azimuth} ({way.azimuth_reference}), "
        f"{say_length(aim.count, aim.unit)}{_in_steps(log, aim.count, aim.unit)}, to the line.{cord}",
        *say_at_line(log, aim, way),
    ]


def say_at_line(log: TravelLog, aim: AimingOff, way: WayBack) -> list[str]:
    """Say when the line should come, which way to turn there, and when to turn round."""
    there = say_place(way.to_name, way.to_station or 0)
    along = say_azimuth(aim.turn_azimuth_deg, log.heading.azimuth_unit)
    return [
        f"Look for the line from {_counted(log, aim.line_from, aim.unit)} on. Stop at {_counted(log, aim.line_by, aim.unit)} and search "
        "for it.",
        f"At the line turn {aim.turn} and follow it on {along}: {there} should come after about "
        f"{say_length(aim.offset, aim.unit)}. Not there after {_counted(log, aim.follow_to, aim.unit)}? It lies behind you: "
        "turn round.",
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


def say_retrace(
    unit: CountedUnit, back: TravelLog, along: float, across: float, probability: float
) -> list[str]:
    """Say what walking back leg by leg is worth."""
    in_all = f"{sum(leg.count for leg in back.legs):.10g} {back.heading.count_unit}"
    return [
        f"Leg by leg: {say_length(len(back.legs), 'leg')}, {in_all} in all, as in the table. With no marker on the "
        f"way you will end within {say_length(along, unit)} along and {say_whole(across)} across the direct line "
        f"({say_odds(probability)}). Every marker you meet sets the count right again.",
    ]


def retrace_table(back: TravelLog) -> Rows:
    """The way back leg by leg, as the three columns of a notebook."""
    rows: list[tuple[str, ...]] = []
    for row in back.rows:
        kind = "leg" if isinstance(row, Leg) else "bearing" if isinstance(row, Sighting) else ""
        rows.append((kind, row.cells.azimuth, row.cells.count, row.cells.notes))
    return ("", "azimuth", f"count ({back.heading.count_unit})", "notes"), rows
