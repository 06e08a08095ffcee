"""A plan in plain sentences: how sure, how long, and what to do leg by leg."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Final

from pacewright.answers.plan import CountedLeg, PlanAnswer
from pacewright.answers.plan_daylight import PlanByDay, TimedStation
from pacewright.answers.plan_question import rest_share
from pacewright.core.compass import AzimuthUnit, back_azimuth, format_azimuth, from_degrees
from pacewright.route.map_leg import PacedLength
from pacewright.route.planning.figures import dialled_unit
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.proving import ProvedPlan
from pacewright.wording.findings import say_percent
from pacewright.wording.map_legs import say_no_pace_count
from pacewright.wording.numbers import SHORT_UNITS, say_azimuth, say_cord, say_length, say_whole
from pacewright.wording.sun import say_duration
from pacewright.wording.walk import Rows

PLAN_CAUTION: Final = (
    "Caution: a plan is an aid, no promise. Local rules and qualified instruction come first."
)
FROM_HEIGHTS: Final = (
    "Streams and tops are taken from heights alone: they may be dry, hidden, or others than shown. Heights show no "
    "cliff, fence or building smaller than a cell. Look at the land itself."
)

_HEMMED_IN_M: Final = 45.0


def say_plan(answer: PlanAnswer, by_day: PlanByDay | None = None) -> list[str]:
    """Say how sure a plan is and how long it takes, what to do leg by leg, and what it rests on."""
    said = [] if by_day is None or answer.plan is None else [say_dark(by_day)]
    said += [*_say_verdict(answer), *_say_start_doubt(answer)]
    if answer.legs:
        said += [
            f"Leg {number}: {say_leg_of_plan(answer, number - 1)}"
            for number in range(1, len(answer.legs) + 1)
        ]
        said += [_say_straight(answer), *_say_barred(answer)]
    if answer.walker.per_100_m is None:
        said.append(say_no_pace_count())
    if answer.legs and say_marks(answer):
        said.append(say_marks(answer))
    if answer.land.has_heights:
        said.append(FROM_HEIGHTS)
    return [*said, *answer.remarks, PLAN_CAUTION]


def say_plan_in_short(answer: PlanAnswer, by_day: PlanByDay | None = None) -> list[str]:
    """Say how sure a plan is and how long it takes, and nothing else: the head of its sheets."""
    dark = [] if by_day is None or answer.plan is None else [say_dark(by_day)]
    return [*dark, *_say_verdict(answer), *_say_start_doubt(answer)]


def _say_start_doubt(answer: PlanAnswer) -> list[str]:
    mistake = answer.asked.start_mistake
    if mistake is None:
        return []
    return [
        f"Take care: the log that says where you stand may hold a mistake ({say_percent(mistake)}). You may stand "
        "elsewhere, and no chance here holds that. Search first (pacewright check)."
    ]


def say_from_start(minutes: float) -> str:
    """Write hours and minutes from setting out.

    >>> say_from_start(119.7), say_from_start(5.2)
    ('2:00', '0:05')
    """
    whole = round(minutes)
    return f"{whole // 60}:{whole % 60:02d}"


def say_too_far_rule() -> str:
    """Say what a too far is."""
    return (
        "TOO FAR: stop there, the end was missed. Look about; if you do not see it, do what the leg says then, "
        "find yourself on the map, and plan anew from there."
    )


def say_dark(by_day: PlanByDay) -> str:
    """Say first whether the plan ends before dark."""
    if by_day.sunset is None and by_day.is_before_dark:
        return "The sun does not set on the way."
    end = by_day.stations[-1].arrive
    if by_day.is_before_dark and by_day.sunset is not None:
        return f"There by {end:%H:%M}; the sun sets at {by_day.sunset:%H:%M}."
    if by_day.sunset is None or not by_day.is_light:
        rises = (
            "and does not rise within a day"
            if by_day.sunrise is None
            else f"and rises at {by_day.sunrise:%H:%M}. Set out after that, or not at all"
        )
        return f"In the dark: the sun is down when you set out, {rises}. The moon is not counted on."
    return (
        f"Not before dark: there by {end:%H:%M}, the sun sets at {by_day.sunset:%H:%M}, and "
        f"{say_duration(by_day.reserve)} are kept in reserve. Set out earlier, or not at all. The moon is not "
        "counted on."
    )


def say_turn_back(station: TimedStation) -> str:
    """Write until when one can still turn back at a station; empty where the sun says nothing of it."""
    by = station.turn_back_by
    if by is None:
        return ""
    return f"{by:%H:%M}" if by >= station.arrive else "too late"


def say_miss(plan: ProvedPlan) -> str:
    """Write the chance of missing as walked."""
    missed = 100.0 * plan.walked.missed
    return "less than 1 in 100" if missed < 1.0 else f"{missed:.0f} in 100"


def say_rises(one: CountedLeg) -> str:
    """Write what a leg climbs and falls, in metres."""
    return f"+{say_whole(one.told.climb_m)} -{say_whole(one.told.descent_m)}"


def say_chance_of_leg(one: CountedLeg) -> str:
    """Write the chance of not missing a leg, never as certainty."""
    per_cent = round(100.0 * one.told.chance)
    return f"{per_cent} %" if per_cent < 100 else "over 99 %"


def say_leg_of_plan(answer: PlanAnswer, number: int) -> str:
    """Say what to do on one leg of a plan, from its first step to when it is too far."""
    one = answer.legs[number]
    leg, told = one.told.leg, one.told
    if leg.follows:
        before = answer.legs[number - 1] if number else None
        return f"follow {_the_line(answer, one, before)} {_length(one.length)} as a handrail, to {_the(answer, one)}.{_too_far(answer, one)}"
    met = [f"a {line.kind} at {_at(one, line.at_m)}" for line in told.met]
    walk = f"walk {_dialled(answer, leg.dial_deg)}, {_length(one.length)}"
    on_it = _met(met) + _in_the_way(one)
    if leg.ends == "count":
        return f"{walk}, and stop there: nothing marks the end.{on_it}"
    if leg.ends == "sight":
        return f"{walk}, to {_the(answer, one)}.{on_it}{_too_far(answer, one)}"
    end = f" From {_bare(one.look)} on look for a {told.end_kind}: the first one ends the leg."
    return f"{walk}, to a {told.end_kind}.{on_it}{end}{_aims_off(answer, number)}{_too_far(answer, one)}"


def say_dialled(answer: PlanAnswer, azimuth_deg: float) -> str:
    """Write an azimuth that is dialled as the mark it is, without its unit: 297.5 degrees, 340 mils."""
    shown = format_azimuth(azimuth_deg, dialled_in(answer), decimals=3)
    return shown.rstrip("0").rstrip(".")


def dialled_in(answer: PlanAnswer) -> AzimuthUnit:
    """What the marks are numbered in that a plan is dialled by."""
    return dialled_unit(answer.figures.azimuth_step_deg)


def say_marks(answer: PlanAnswer) -> str:
    """Say between which marks of the compass azimuths are taken; empty for whole degrees."""
    per_mark, unit = answer.figures.azimuth_step_deg, dialled_in(answer)
    if per_mark == 1.0:
        return ""
    return f"Azimuths are the marks of your compass, every {from_degrees(per_mark, unit):g} {unit}."


def _dialled(answer: PlanAnswer, azimuth_deg: float) -> str:
    return f"{say_dialled(answer, azimuth_deg)} {SHORT_UNITS[dialled_in(answer)]}"


def plan_table(answer: PlanAnswer, by_day: PlanByDay | None = None) -> Rows:
    """A plan as a leg card."""
    heading = [
        "leg",
        "azimuth",
        "back",
        "paces",
        "cord",
        "metres",
        "climb",
        "time",
        "at the end",
        "too far",
        "chance",
    ]
    rows = []
    for number, one in enumerate(answer.legs, 1):
        leg = one.told.leg
        rows.append(
            [
                str(number),
                "along" if leg.follows else _dialled(answer, leg.dial_deg),
                _back(answer, leg),
                "-" if one.length.count is None else str(one.length.count),
                "" if one.length.tally is None else say_cord(one.length.tally),
                f"{leg.length_m:.0f}",
                say_rises(one),
                f"{round(leg.minutes)} min",
                one.told.sight or one.told.end_kind or "count",
                "" if leg.ends == "count" else _bare(one.too_far),
                say_chance_of_leg(one),
            ]
        )
    if by_day is not None:
        heading += ["there at", "turn back by"]
        for row, station in zip(rows, by_day.stations, strict=True):
            row += [f"{station.arrive:%H:%M}", say_turn_back(station)]
    return tuple(heading), [tuple(row) for row in rows]


def _back(answer: PlanAnswer, leg: PlanLeg) -> str:
    """The back azimuth: of a line that is followed about, of a leg that is dialled the mark."""
    back_deg = back_azimuth(leg.dial_deg)
    return say_azimuth(back_deg, dialled_in(answer)) if leg.follows else _dialled(answer, back_deg)


def sayable_plans(answer: PlanAnswer) -> list[tuple[str, float, ProvedPlan]]:
    """The plan, those beside it and the straight line: a name, minutes with rests, the plan."""
    plans: list[tuple[str, ProvedPlan]] = [] if answer.plan is None else [("this plan", answer.plan)]
    plans += [("surer" if _is_surer(answer, one) else "faster", one) for one in answer.others]
    plans.append(("straight line", answer.straight))
    return [(name, rest_share(answer.asked) * one.minutes, one) for name, one in plans]


def others_table(answer: PlanAnswer) -> Rows:
    """The plan beside others and the straight line: minutes against the chance of missing."""
    rows: list[tuple[str, ...]] = [
        (name, str(len(one.legs)), say_duration(datetime.timedelta(minutes=minutes)), say_miss(one))
        for name, minutes, one in sayable_plans(answer)
    ]
    return ("plan", "legs", "time", "missed"), rows


def _is_surer(answer: PlanAnswer, one: ProvedPlan) -> bool:
    return answer.plan is not None and one.chance >= answer.plan.chance


def _say_verdict(answer: PlanAnswer) -> list[str]:
    asked, plan = answer.asked, answer.plan
    if plan is None:
        why = (
            "all that a plan looks through was looked through, and no chain of legs led there"
            if answer.gave_up
            else "no chain of legs leads there that keeps off cliffs, water and barred ground"
        )
        return [
            f"There is no plan from {asked.start.name} to {asked.goal.name}: {why}.",
            *_say_hemmed_in(answer),
            "Take a place that can be come at, add lines you know (--features), or allow steeper ground (--steepest).",
        ]
    total_m = sum(leg.length_m for leg in plan.legs)
    kilometres = f"{total_m / 1000:.1f} km"
    takes = say_duration(datetime.timedelta(minutes=answer.minutes))
    legs = "1 leg" if len(plan.legs) == 1 else f"{len(plan.legs)} legs"
    of = f"{say_whole(plan.walked.walkers)} made walkers"
    if answer.holds and asked.most_min is None and not answer.by_hand:
        return [
            f"{legs}, {kilometres}, {takes} with rests. The chance of missing is {say_miss(plan)}, walked by {of}."
        ]
    if answer.by_hand or asked.most_min is not None:
        bound = "" if asked.most_min is not None else f"; {100 * asked.miss:.0f} in 100 was asked"
        return [
            f"{legs}, {kilometres}, {takes} with rests. The chance of missing is {say_miss(plan)}, walked by {of}{bound}."
        ]
    return [
        f"No plan keeps the chance of missing to {100 * asked.miss:.0f} in 100: the best there is misses "
        f"{say_miss(plan)}, walked by {of}. {_why(answer)}",
        f"It has {legs}, {kilometres}, and takes {takes} with rests.",
    ]


def _say_hemmed_in(answer: PlanAnswer) -> list[str]:
    ends = zip((answer.asked.start.name, answer.asked.goal.name), answer.hemmed_in_m, strict=True)
    return [
        f"The {name} lies {say_whole(away)} m from ground that is kept off: no leg keeps clear of it there."
        for name, away in ends
        if away < _HEMMED_IN_M
    ]


def _why(answer: PlanAnswer) -> str:
    away = answer.nearest_line_m
    if away is None:
        return "There is no line that could catch you."
    weak = min(range(len(answer.legs)), key=lambda k: answer.legs[k].told.chance)
    leg = f"Most is lost on leg {weak + 1}"
    if away > 100.0:
        return f"{leg}; the nearest catching feature is {say_whole(away)} m from {answer.asked.goal.name}."
    return f"{leg}."


def _say_straight(answer: PlanAnswer) -> str:
    return f"Straight from {answer.asked.start.name} to {answer.asked.goal.name} the chance of missing would be {say_miss(answer.straight)}."


def _say_barred(answer: PlanAnswer) -> list[str]:
    return [
        f"Take care: on leg {number} the 95 % corridor touches ground that is kept off, {say_whole(one.told.barred_at_m)} m on."
        for number, one in enumerate(answer.legs, 1)
        if one.told.barred_at_m is not None
    ]


def _the_line(answer: PlanAnswer, one: CountedLeg, before: CountedLeg | None) -> str:
    leg, kind = one.told.leg, one.told.end_kind
    way = ""
    if kind == "stream":
        way = " downstream" if leg.way > 0 else " upstream"
    side = (
        "" if before is None or before.told.leg.ends != "line" else f" to the {_side(before.told.leg, leg)}"
    )
    return f"the {kind}{way}{side}, about {say_azimuth(leg.dial_deg, dialled_in(answer))},"


def _side(leg: PlanLeg, after: PlanLeg) -> str:
    turn = (after.dial_deg - leg.dial_deg + 180.0) % 360.0 - 180.0
    return "right" if turn > 0 else "left"


def _aims_off(answer: PlanAnswer, number: int) -> str:
    one = answer.legs[number]
    if one.told.aims_off_deg is None or number + 1 >= len(answer.legs):
        return ""
    off = answer.legs[number + 1]
    return (
        f" It aims off by {_length(off.length)} on purpose, so that {_inside(_the(answer, off))} lies to the "
        f"{_side(one.told.leg, off.told.leg)}."
    )


def _too_far(answer: PlanAnswer, one: CountedLeg) -> str:
    """Say when it is too far, and what then: to the nearest backstop, or back where none is sure to be met."""
    leg, bail = one.told.leg, one.told.bail_out
    far = f" Too far at {_bare(one.too_far)}"
    if leg.follows:
        return f"{far}: then turn round and follow it back."
    if bail is None:
        back = _dialled(answer, back_azimuth(leg.dial_deg))
        return f"{far}: no line is sure to be met from there, so walk back on {back} to where the leg began."
    within = f"{_at(one, bail.within_m)}{'' if one.length.count is None else ' paces'}"
    return f"{far}: then walk {_dialled(answer, bail.dial_deg)} to the nearest backstop, a {bail.kind} within {within}."


def _met(met: Sequence[str]) -> str:
    return f" On the way: {', '.join(met)}." if met else ""


def _in_the_way(one: CountedLeg) -> str:
    """Say where steep ground is crossed, and what is boxed."""
    way = one.told.in_the_way
    steep = [f"from {_at(one, begin)} to {_at(one, end)}" for begin, end in way.steep]
    said = f" Steep ground {' and '.join(steep)}: cross it on a slant, if it can be crossed." if steep else ""
    for box in way.boxes:
        out = _at(one, box.out_m) + ("" if one.length.count is None else " paces")
        said += f" At {_at(one, box.at_m)} box the {box.what} on its {box.side}, {out} out and back."
    return said


def _at(one: CountedLeg, metres: float) -> str:
    if one.length.count is None:
        return f"{say_whole(metres)} m"
    return say_whole(metres * one.length.count / max(one.told.leg.length_m, 1.0))


def _length(length: PacedLength) -> str:
    return say_length(length.metres, "metre") if length.count is None else say_length(length.count, "pace")


def _bare(length: PacedLength) -> str:
    return f"{say_whole(length.metres)} m" if length.count is None else say_whole(length.count)


def _the(answer: PlanAnswer, one: CountedLeg) -> str:
    """Name the sight at the end of a leg: a place that was asked for by its name, and what it looks like."""
    asked, what = answer.asked, one.told.sight
    if " crosses " in what:
        first, _, other = what.partition(" crosses ")
        what = f"crossing of {first} and {other}"
    named = [asked.start, *asked.via, asked.goal]
    sight = one.told.leg.sight
    if sight is not None and sight < len(named) and named[sight].name != one.told.sight:
        return f"{_with_article(named[sight].name)}, a {what}"
    return _with_article(what)


def _inside(told: str) -> str:
    """Close what was put between commas, where a sentence goes on behind it."""
    return f"{told}," if ", a " in told else told


def _with_article(name: str) -> str:
    """`the junction`, but a name as it stands.

    >>> _with_article("hut"), _with_article("Split oak")
    ('the hut', 'Split oak')
    """
    return name if name[:1].isupper() else f"the {name}"
