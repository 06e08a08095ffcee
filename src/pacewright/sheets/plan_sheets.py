"""A plan on paper: the leg card, the card to leave behind, the map at exact scale and the heights."""

from __future__ import annotations

from typing import Final

from pacewright.answers.plan import PlanAnswer
from pacewright.answers.plan_daylight import PlanByDay
from pacewright.core.compass import back_azimuth
from pacewright.drawing.plan_chart import draw_plans
from pacewright.drawing.plan_map import draw_plan_map, draw_profile
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import (
    Block,
    Column,
    caution,
    fields,
    heading,
    keep,
    picture,
    table,
    text,
    texts,
)
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.sheets.room_taken import body_mm, gap_mm, heights_mm
from pacewright.sheets.route_card import PARTY
from pacewright.wording.numbers import say_tally
from pacewright.wording.planning import (
    say_chance_of_leg,
    say_dialled,
    say_from_start,
    say_leg_of_plan,
    say_marks,
    say_plan_in_short,
    say_rises,
    say_too_far_rule,
    say_turn_back,
)
from pacewright.wording.sheets import PAPER_CAUTION
from pacewright.wording.sheets_field import OVERDUE

_FIGURE_EM: Final = 1.4
_SMALL_EM: Final = 0.9


def plan_sheets(
    answer: PlanAnswer, paper: Paper, by_day: PlanByDay | None = None, scale: float | None = None
) -> list[Sheet]:
    """The sheets of a plan.

    Raises
    ------
    ValueComplaint
        There is no plan to print, the paper is a card, or the map does not fit at this scale.
    """
    if not answer.legs:
        raise ValueComplaint("there is no plan to print", "Ask for one that can be had")
    if paper.is_card:
        raise ValueComplaint("a plan takes flat paper", "Take a4, letter or a5")
    made = [_leg_card(answer, paper, by_day), _left_behind(answer, by_day)]
    return [*made, _map(answer, paper, scale)] if answer.land.has_heights else made


def _leg_card(answer: PlanAnswer, paper: Paper, by_day: PlanByDay | None) -> Sheet:
    counted = "paces" if answer.walker.per_100_m is not None else "metres"
    narrow = paper.is_narrow
    columns = [
        Column("leg", mm=8.0, align="right"),
        Column("azimuth", mm=16.0, align="right", bold=True, size_em=_FIGURE_EM),
        Column("back", mm=11.0, align="right"),
        Column(counted, mm=16.0, align="right", bold=True, size_em=_FIGURE_EM),
        Column("TOO\nFAR", mm=15.0, align="right", bold=True, size_em=_FIGURE_EM if not narrow else 1.1),
        Column("my\ncount", mm=12.0),
        Column("what to do; cord, metres, climb, time, chance"),
    ]
    rows = [_row(answer, k) for k in range(len(answer.legs))]
    blocks: list[Block] = [
        *texts(say_plan_in_short(answer, by_day), bold=True),
        text(
            f"Azimuths {answer.asked.north.name}, to be dialled as they stand. {say_marks(answer)}",
            size_em=_SMALL_EM,
        ),
        table(columns, rows, row_mm=8.0),
        text(say_too_far_rule(), size_em=_SMALL_EM),
        keep([heading("Beside other plans"), picture(draw_plans(answer, paper.room_mm[0]))]),
        caution(PAPER_CAUTION),
    ]
    return sheet(f"Leg card: {_ends(answer)}", blocks)


def _row(answer: PlanAnswer, number: int) -> list[str]:
    one = answer.legs[number]
    leg = one.told.leg
    in_paces = one.length.count is not None
    count, far = (
        (one.length.count, one.too_far.count) if in_paces else (round(leg.length_m), round(leg.stop_m))
    )
    cord = "" if one.length.tally is None else f"{say_tally(one.length.tally, 'pace')}; "
    told = say_leg_of_plan(answer, number)
    more = f"{cord}{leg.length_m:.0f} m, {say_rises(one)} m, {round(leg.minutes)} min"
    more += f", chance {say_chance_of_leg(one)}"
    azimuth = "along" if leg.follows else say_dialled(answer, leg.dial_deg)
    back = "" if leg.follows else say_dialled(answer, back_azimuth(leg.dial_deg))
    too_far = "" if leg.ends == "count" else str(far)
    return [str(number + 1), azimuth, back, str(count), too_far, "", f"{told[0].upper()}{told[1:]}\n{more}"]


def _left_behind(answer: PlanAnswer, by_day: PlanByDay | None) -> Sheet:
    leave = "" if by_day is None else f"{by_day.leave:%H:%M}"
    party = [[(label, _filled(label, answer, leave), share) for label, share in row] for row in PARTY]
    columns = [
        Column("leg", mm=9.0, align="right"),
        Column("to"),
        Column("azimuth", mm=18.0, align="right", bold=True),
        Column("metres", mm=16.0, align="right"),
        Column("there\nat", mm=16.0, align="right"),
        Column("turn\nback by", mm=20.0, align="right"),
    ]
    rows = []
    for k, one in enumerate(answer.legs):
        station = None if by_day is None else by_day.stations[k]
        arrive = say_from_start(one.leave_min) if station is None else f"{station.arrive:%H:%M}"
        by = "" if station is None else say_turn_back(station)
        to = one.told.sight or one.told.end_kind or "where the count is full"
        azimuth = "along" if one.told.leg.follows else say_dialled(answer, one.told.leg.dial_deg)
        rows.append([str(k + 1), to, azimuth, f"{one.told.leg.length_m:.0f}", arrive, by])
    clock = "Times are by the clock" if by_day is not None else "Times are hours and minutes from setting out"
    blocks: list[Block] = [
        keep([fields(party, 8.5)]),
        *texts(say_plan_in_short(answer, by_day)),
        text(f"{clock}, rests of {answer.asked.rest_min:g} minutes in the hour included.", size_em=_SMALL_EM),
        table(columns, rows, row_mm=5.0),
        keep([heading("If we are overdue"), text(OVERDUE), caution(PAPER_CAUTION)]),
    ]
    return sheet(f"Route card to leave behind: {_ends(answer)}", blocks)


def _filled(label: str, answer: PlanAnswer, leave: str) -> str:
    if label.startswith("Party"):
        return answer.walker.name
    return leave if label == "Set out at" else ""


def _map(answer: PlanAnswer, paper: Paper, scale: float | None) -> Sheet:
    title = f"Map of the plan: {_ends(answer)}"
    told = [
        "Legs are heavy, what is followed is dashed; beside every leg its 95 % corridor. Streams are dotted, "
        "tracks and other lines drawn in one go. Grid north is up.",
    ]
    profile = picture(draw_profile(answer, paper.room_mm[0]))
    words = [heading(title, 1), text("1:100 000", bold=True), *texts(told, size_em=_SMALL_EM), profile]
    words.append(text(PAPER_CAUTION, size_em=_SMALL_EM))
    high = body_mm(paper) - heights_mm(words, paper) - 2 * gap_mm(paper) - 3.0
    drawn, at_scale = draw_plan_map(answer, (paper.room_mm[0], high), scale)
    blocks = [
        text(f"1:{at_scale:.0f}; 1 mm is {at_scale / 1000:g} m", bold=True),
        picture(drawn),
        *texts(told, size_em=_SMALL_EM),
        profile,
        text(PAPER_CAUTION, size_em=_SMALL_EM),
    ]
    return sheet(title, blocks)


def _ends(answer: PlanAnswer) -> str:
    return f"{answer.asked.start.name} to {answer.asked.goal.name}"
