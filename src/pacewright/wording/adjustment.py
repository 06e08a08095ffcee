"""An adjusted log, and what a walker learns from it: in plain sentences and tables."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.adjustment import Adjustment, Parameter
from pacewright.core.adjust.rule_adjustment import RuleAdjustment
from pacewright.core.compass import direction_deg
from pacewright.core.learn.believed_figures import HALF_LIFE_LOGS
from pacewright.core.learn.learning import Change, Learnt
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.observations import Observations
from pacewright.core.way.reckoning import Reckoning
from pacewright.core.way.regions import ellipse_axes, reach_of
from pacewright.wording.closure import say_how_often, say_traverse, written_decimals
from pacewright.wording.numbers import (
    say_azimuth,
    say_length,
    say_odds,
    say_place,
    say_read_azimuth,
    say_whole,
)
from pacewright.wording.walk import MOST_ROWS, Rows

MISTAKE_BELOW: Final = 0.01
"""A misfit that scatter alone makes less often than this is a finding."""

_NOTABLE_TRUST: Final = 0.5


def is_finding(adjustment: Adjustment) -> bool:
    """Whether the caller must look at something: the log fits worse than scatter explains, or may not
    be adjusted."""
    chance = adjustment.fit_chance
    return adjustment.is_as_written or (chance is not None and chance < MISTAKE_BELOW)


def say_adjustment(log: TravelLog, adjustment: Adjustment, probability: float) -> list[str]:
    """Say what was adjusted, how well it fits, what it tells of compass and pace, what was left out.

    Parameters
    ----------
    log, adjustment
        The log and its adjustment.
    probability
        Share of walks that a stated region holds.
    """
    unit = adjustment.frame.unit
    title = f"{log.heading.title}: " if log.heading.title else ""
    if adjustment.is_as_written:
        return [
            f"{title}{say_length(adjustment.reckoning.last, 'leg')}, not adjusted: that would spread the mistake over "
            "legs that hold none. The stations stand as written, each from the last sure marker.",
            *adjustment.reckoning.remarks,
        ]
    said = [f"{title}{say_length(adjustment.reckoning.last, 'leg')}, adjusted by least squares."]
    said.append(_say_used(adjustment.observations, adjustment.redundancy))
    if adjustment.redundancy:
        said += [_say_fit(adjustment), _say_moved(adjustment), *_say_trust(log, adjustment)]
        said.append(
            f"The last column of the table says within how many {unit}s the true place lies ({say_odds(probability)}), "
            "if scatter is as believed and the log holds no mistake."
        )
    said += [*_say_parameters(adjustment), *adjustment.observations.unused]
    return [*said, *adjustment.reckoning.remarks]


def _say_used(observations: Observations, redundancy: int) -> str:
    counts = (
        (len(observations.ties), "marker met again", "markers met again"),
        (len(observations.fixes), "known point", "known points"),
        (len(observations.bearings), "bearing", "bearings"),
        (len(observations.back_azimuths), "back azimuth", "back azimuths"),
    )
    used = [f"{count} {one if count == 1 else many}" for count, one, many in counts if count]
    if not redundancy:
        return (
            "Nothing in this log checks it: no marker is met again, no known point is reached and no bearing "
            "tells more than it asks. The stations stand as reckoned."
        )
    numbers = "number" if redundancy == 1 else "numbers"
    return f"Beside the legs it used {_and(used)}: {redundancy} {numbers} more than needed."


def _say_fit(adjustment: Adjustment) -> str:
    chance = adjustment.fit_chance or 0.0
    often = say_how_often(chance)
    if is_finding(adjustment):
        return (
            f"It does not fit: scatter alone explains this {often}. Look for a mistake (pacewright check) before you "
            "use this: an adjustment spreads a mistake over legs that hold none."
        )
    return f"It fits as well as scatter lets it ({often} it fits worse). No mistake shows; there may be one all the same."


def _say_moved(adjustment: Adjustment) -> str:
    reckoning, unit = adjustment.reckoning, adjustment.frame.unit
    moved = np.hypot(*(adjustment.place - reckoning.place).T)
    most = int(np.argmax(moved))
    station = say_place(reckoning.names[most], most)
    return f"The station that moved most is {station}, by {say_length(float(moved[most]), unit)}."


def _say_trust(log: TravelLog, adjustment: Adjustment) -> list[str]:
    """Say which legs and observations a robust adjustment trusted less than half."""
    weights, found = adjustment.weights, adjustment.observations
    little = [f"leg {k + 1}" for k in np.flatnonzero(weights.legs < _NOTABLE_TRUST)]
    little += [
        f"the bearing to {found.bearings[k].name} from station {found.bearings[k].station}"
        for k in np.flatnonzero(weights.bearings < _NOTABLE_TRUST)
    ]
    little += [
        f"{found.ties[k].name} met again at station {found.ties[k].second}"
        for k in np.flatnonzero(weights.ties < _NOTABLE_TRUST)
    ]
    little += [
        f"the known place of {found.fixes[k].name}"
        for k in np.flatnonzero(weights.fixes[: len(found.fixes)] < _NOTABLE_TRUST)
    ]
    little += [
        f"the back azimuth of leg {found.back_azimuths[k].leg}"
        for k in np.flatnonzero(weights.back_azimuths < _NOTABLE_TRUST)
    ]
    return [f"Trusted less than half: {_and(little)}. Look there first."] if little else []


def _say_parameters(adjustment: Adjustment) -> list[str]:
    """Say what the log tells of bias, scale and grounds; never call a prior an estimate."""
    bias, scale = adjustment.find_parameter("compass bias"), adjustment.find_parameter("pace scale")
    said, untold = [], []
    if bias and bias.prior_sd:
        if bias.observable:
            said.append(_say_bias(bias))
        else:
            untold.append(f"compass bias ({_say_deg_sd(bias)})")
    if scale and scale.prior_sd:
        if scale.observable:
            said.append(_say_scale(scale))
        else:
            untold.append(f"pace scale ({_say_scale_sd(scale)})")
    if untold:
        why = " A loop closes just as well when the whole figure is turned or stretched; a known point would tell."
        said.append(f"The log does not tell {_and(untold)}.{why}")
    handling = adjustment.find_parameter("handling bias")
    if handling and handling.value is not None:
        way = "clockwise" if handling.value >= 0 else "counter-clockwise"
        said.append(
            f"Walking turned {abs(handling.value):.1f} deg {way} of what the compass reads standing (give or take "
            f"{handling.sd:.1f} deg)."
        )
    for one in adjustment.parameters:
        if one.name.startswith("ground ") and one.value is not None:
            said.append(
                f"On {one.name.removeprefix('ground ')} the legs came out {_per_cent(one.value)} than the pace table "
                f"has them (give or take {100 * one.sd:.1f} %)."
            )
    return said


def _say_bias(bias: Parameter) -> str:
    value = bias.value or 0.0
    way = "low" if value >= 0 else "high"
    return (
        f"Compass bias: azimuths read {abs(value):.1f} deg too {way} ({_say_deg_sd(bias)}). A declination that is off "
        "looks the same."
    )


def _say_deg_sd(bias: Parameter) -> str:
    return f"give or take {bias.sd:.1f} deg; believed beforehand: {bias.prior_sd:.1f} deg either way"


def _say_scale_sd(scale: Parameter) -> str:
    return (
        f"give or take {100 * scale.sd:.1f} %; believed beforehand: {100 * scale.prior_sd:.1f} % either way"
    )


def _say_scale(scale: Parameter) -> str:
    return f"Pace scale: the way was {_per_cent(scale.value or 1.0)} than counted ({_say_scale_sd(scale)})."


def _per_cent(factor: float) -> str:
    return f"{abs(100 * (factor - 1)):.1f} % {'longer' if factor >= 1 else 'shorter'}"


def say_rule(log: TravelLog, adjustment: RuleAdjustment) -> list[str]:
    """Say what a textbook rule spread, and what it leaves out."""
    reckoning, controls = adjustment.reckoning, adjustment.controls
    title = f"{log.heading.title}: " if log.heading.title else ""
    said = [f"{title}{say_length(reckoning.last, 'leg')}, adjusted by the {adjustment.rule} rule."]
    if len(controls) == 1:
        said.append(
            "Nothing closes that the rule could spread: the start is not met again, nor is a known point."
        )
    for (first, last), traverse in zip(pairwise(controls), adjustment.traverses, strict=True):
        where = say_place(reckoning.names[last], last)
        told = say_traverse(traverse, reckoning.frame.unit, written_decimals(log))
        said += [f"Legs {first + 1} to {last}, to {where}: {told[0][0].lower()}{told[0][1:]}", *told[1:]]
    said.append(
        "The rule does not say how sure a station is, nor what the compass or the pace count is off; least "
        "squares (without --rule) does as far as the log tells."
    )
    return [*said, *adjustment.observations.unused, *reckoning.remarks]


def adjusted_station_table(adjustment: Adjustment | RuleAdjustment, probability: float) -> Rows:
    """The stations as adjusted: place, how far moved, and how sure where that is known."""
    reckoning = adjustment.reckoning
    covariances = adjustment.covariances() if isinstance(adjustment, Adjustment) else None
    heading: tuple[str, ...] = ("station", "name", "east", "north", "moved")
    heading += ("within",) if covariances is not None else ()
    moved = np.hypot(*(adjustment.place - reckoning.place).T)
    rows: list[tuple[str, ...]] = []
    for k in _shown(reckoning):
        east, north = adjustment.place[k]
        row: tuple[str, ...] = (
            str(k),
            reckoning.names[k] or "",
            say_whole(east),
            say_whole(north),
            say_whole(moved[k]),
        )
        if covariances is not None:
            row += (_within(covariances[k], probability) if k else "",)
        rows.append(row)
    return heading, rows


def _within(covariance: NDArray[np.float64], probability: float) -> str:
    long_sd, short_sd, _ = ellipse_axes(covariance)
    reach = reach_of(probability)
    return f"{say_whole(reach * long_sd)} x {say_whole(reach * short_sd)}"


def adjusted_leg_table(log: TravelLog, adjustment: Adjustment | RuleAdjustment) -> Rows:
    """The legs as read and counted beside those between adjusted stations, and how far each is checked."""
    reckoning, unit = adjustment.reckoning, log.heading.azimuth_unit
    steps = np.diff(adjustment.place, axis=0)
    heading: tuple[str, ...] = ("leg", "azimuth", "adjusted", f"{reckoning.frame.unit}s", "adjusted")
    extra = _checks(adjustment) if isinstance(adjustment, Adjustment) else {}
    rows: list[tuple[str, ...]] = []
    for station in _shown(reckoning):
        k = station - 1
        if k < 0:
            continue
        read, (east, north) = float(reckoning.azimuth_deg[k]), steps[k]
        # A leg of no length has no azimuth but the one it was read with.
        adjusted = direction_deg(float(east), float(north)) if reckoning.length[k] > 0 else read
        azimuths = (say_read_azimuth(read, unit), say_azimuth(adjusted, unit))
        lengths = (say_whole(reckoning.length[k]), say_whole(np.hypot(east, north)))
        rows.append((str(station), *azimuths, *lengths, *(column[k] for column in extra.values())))
    return (*heading, *extra), rows


def _checks(adjustment: Adjustment) -> dict[str, list[str]]:
    columns = {"checked": [f"{50 * r:.0f} %" for r in adjustment.leg_redundancies()]}
    if (adjustment.weights.legs != 1).any():
        columns["trust"] = [f"{min(1.0, trust):.2f}" for trust in adjustment.weights.legs]
    return columns


def _shown(reckoning: Reckoning) -> Sequence[int]:
    is_long = reckoning.last > MOST_ROWS
    return [k for k, name in enumerate(reckoning.names) if not is_long or name or k == reckoning.last]


def say_learnt(learnt: Learnt, walker: Walker) -> list[str]:
    """Say what a walker's figures became, before and after, and which logs taught nothing."""
    whose = walker.name or "the walker"
    said = [f"Learning, for {whose}:", *learnt.said]
    if not learnt.changes:
        return [*said, "No figure changed."]
    said += [_say_change(change) for change in learnt.changes]
    said.append(
        f"Evidence counts for half after {HALF_LIFE_LOGS:g} more logs. Learn from each log once, and only from the "
        "walker's own, with the same compass."
    )
    return said


def _say_change(change: Change) -> str:
    return (
        f"{_capital(change.name)}: {change.before:.1f} give or take {change.before_sd:.1f} before, "
        f"{change.after:.1f} give or take {change.after_sd:.1f} now ({change.unit})."
    )


def learnt_table(learnt: Learnt) -> Rows:
    """The figures before and after as a table."""
    heading = ("figure", "unit", "before", "give or take", "now", "give or take")
    rows: list[tuple[str, ...]] = [
        (
            one.name,
            one.unit,
            f"{one.before:.2f}",
            f"{one.before_sd:.2f}",
            f"{one.after:.2f}",
            f"{one.after_sd:.2f}",
        )
        for one in learnt.changes
    ]
    return heading, rows


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _and(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
