"""Leg cards: what to dial, what to count, what to expect, and when it is too far; the way back below."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from pacewright.answers.estimate import Estimate, as_written_in_paces
from pacewright.answers.in_steps import as_counted
from pacewright.answers.way import WayAsked, answer_way
from pacewright.core.compass import AzimuthUnit, back_azimuth, format_azimuth, from_degrees, unit_vectors
from pacewright.core.log.travel_log import Sighting, TravelLog
from pacewright.core.pace.tally import Tally, tally_of_count, whole_count
from pacewright.core.pace.walker import Walker
from pacewright.core.way.reckoning import walked_covariance
from pacewright.exceptions import Complaint
from pacewright.route.travel_cost import walking_time_h
from pacewright.sheets.blocks import Block, Column, caution, heading, keep, lines, ruled, table, text, texts
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.sheets.way_figures import way_figures
from pacewright.wording.numbers import say_place, say_tally
from pacewright.wording.sheets import PAPER_CAUTION, TOO_FAR_RULE, say_bead, say_expect, say_north, say_whose
from pacewright.wording.walk import say_assumed, say_not_possible, say_way_back
from pacewright.wording.way_answer import say_doubt

SMALL_EM: Final = 0.9
FIGURE_EM: Final = 1.5
"""Of what is dialled and counted, out and back."""
_WHOLE_WITHIN: Final = 0.05
_SURE_SD: Final = 1.96
"""Of a normal distribution, 39 times in 40 no farther out on that side."""


@dataclass(frozen=True, slots=True)
class CardLeg:
    """One leg as it stands on a card.

    Attributes
    ----------
    number
        From 1.
    from_name, to_name
        The places it joins.
    azimuth, back
        To dial, and back from its end, in the log's unit and north.
    count
        In the log's unit, as written.
    tally, tally_unit
        The cord's setting at its end, and what is counted between two beads; None where metres are counted
        and there is no pace count.
    minutes
        By the rule, without rests and slopes; None without a pace count.
    expect
        On the way and at the end.
    too_far
        The count at which to stop.
    """

    number: int
    from_name: str
    to_name: str
    azimuth: str
    back: str
    count: str
    tally: Tally | None
    tally_unit: str
    minutes: int | None
    expect: str
    too_far: int


def card_legs(log: TravelLog, walker: Walker) -> list[CardLeg]:
    """The legs of a log as a walker carries them.

    A leg is too far when its end should have come 39 times in 40: the count was logged with the
    scatter of the leg, and is walked again with the scatter of a leg.
    """
    reckoning = as_written_in_paces(log, walker)
    frame = reckoning.frame
    unit = log.heading.azimuth_unit
    metres_per_unit = 1.0 if frame.unit == "metre" else walker.pace_m() if walker.per_100_m else None
    seen: dict[int, list[Sighting]] = {}
    for station, one in log.sightings():
        seen.setdefault(station, []).append(one)
    made = []
    for k, leg in enumerate(log.legs, start=1):
        azimuth_deg, length = float(reckoning.azimuth_deg[k - 1]), float(reckoning.length[k - 1])
        along = np.stack(unit_vectors(azimuth_deg))
        spread = reckoning.own[k - 1] + walked_covariance(azimuth_deg, length, walker, frame)
        reach = _SURE_SD * math.sqrt(max(0.0, float(along @ spread @ along)))
        per_count = length / leg.count if leg.count else frame.units_per_count
        walked = length + per_count * sum(2.0 * box.offset for box in leg.boxes)
        hours = None if metres_per_unit is None else walking_time_h(walked * metres_per_unit, off_path=True)
        made.append(
            CardLeg(
                number=k,
                from_name=say_place(reckoning.names[k - 1], k - 1),
                to_name=say_place(reckoning.names[k], k),
                azimuth=_dialled(leg.azimuth_deg, unit),
                back=_dialled(back_azimuth(leg.azimuth_deg), unit),
                count=leg.cells.count.strip(),
                tally=_cord(leg.count, log, walker),
                tally_unit="step" if log.heading.count_unit == "steps" else "pace",
                minutes=None if hours is None else round(60 * float(hours)),
                expect=say_expect(leg, tuple(seen.get(k, ())), unit),
                too_far=math.ceil(leg.count + reach / per_count),
            )
        )
    return made


def _dialled(azimuth_deg: float, unit: AzimuthUnit) -> str:
    # A half that was read between two marks of the dial is not thrown away.
    reading = from_degrees(azimuth_deg, unit)
    return format_azimuth(azimuth_deg, unit, 0 if abs(reading - round(reading)) < _WHOLE_WITHIN else 1)


def _cord(count: float, log: TravelLog, walker: Walker) -> Tally | None:
    if log.heading.count_unit == "metres":
        return None if walker.per_100_m is None else tally_of_count(count / walker.pace_m(), walker.per_100_m)
    return tally_of_count(whole_count(count))


def leg_card(estimate: Estimate, paper: Paper, probability: float = 0.95) -> Sheet:
    """The leg card of a log, with the direct way back at its foot."""
    log, walker = estimate.log, estimate.walker
    legs = card_legs(log, walker)
    notes = [TOO_FAR_RULE]
    if legs and legs[0].minutes is not None:
        notes.append("Minutes: 4 km in the hour off paths, on the level, no rests.")
    counted = f"counts in {log.heading.count_unit}"
    a_pace = ", a pace is two steps" if log.heading.count_unit == "paces" else ""
    bead = say_bead(log.heading, walker)
    read = [f"Azimuths {say_north(log.heading)}; {counted}{a_pace}.", *([bead] if bead else [])]
    build = _card_table if paper.is_card else _narrow_table if paper.is_narrow else _wide_table
    blocks = [
        text(say_whose(estimate), size_em=SMALL_EM),
        text("\n".join(read), bold=True),
        *texts(say_assumed(log, walker), size_em=SMALL_EM),
        build(legs, log),
        *_way_back_at_foot(estimate, probability, paper),
        keep(texts(notes, size_em=SMALL_EM)),
        *_for_the_pencil(paper),
    ]
    title = log.heading.title or "Travel log"
    return sheet(f"Leg card: {title}", blocks)


def _way_back_at_foot(estimate: Estimate, probability: float, paper: Paper) -> list[Block]:
    log = estimate.log
    warned: list[str] = []
    figures: list[Block] = []
    try:
        found = as_counted(answer_way(estimate, WayAsked(len(log.legs), probability=probability)))
        warned, said = list(say_doubt(found)), say_way_back(log, found.way, found.turn)
        figures = way_figures(found, FIGURE_EM)
    except Complaint as complaint:
        said = say_not_possible("way back", complaint)
    told = texts(said) if paper.is_card else [text("\n".join(said))]
    parts = [*map(caution, warned), *figures, *told, caution(PAPER_CAUTION)]
    if paper.is_card:
        return [keep([heading("The way back"), *parts[:1]]), *parts[1:]]
    return [keep([heading("The way back"), *parts])]


def _for_the_pencil(paper: Paper) -> list[Block]:
    asked = "Backstops, light, who knows where you are:"
    if paper.is_card:
        return [keep([text(asked, size_em=SMALL_EM), lines(3, 7.0)])]
    return [ruled(asked, 8.0)]


def _figure(head: str, mm: float, size_em: float) -> Column:
    return Column(head, mm=mm, align="right", bold=True, size_em=size_em)


def _wide_table(legs: list[CardLeg], log: TravelLog) -> Block:
    unit = say_north(log.heading).split()[-1]
    columns = [
        Column("done", mm=9.5),
        Column("leg", mm=8.5, align="right"),
        _figure(f"azimuth\n{unit}", 18, FIGURE_EM),
        Column(f"back\n{unit}", mm=15, align="right"),
        _figure(f"count\n{log.heading.count_unit}", 18, FIGURE_EM),
        _figure("TOO\nFAR", 15, FIGURE_EM),
        Column("my\ncount", mm=15),
        Column("time", mm=14),
        Column("what to expect; cord at the end"),
    ]
    return table(columns, [_row(leg) for leg in legs], row_mm=7.0)


def _row(leg: CardLeg) -> list[str]:
    told = [one for one in (leg.expect, _below(leg)) if one]
    return ["", str(leg.number), leg.azimuth, leg.back, leg.count, str(leg.too_far), "", "", "\n".join(told)]


def _below(leg: CardLeg) -> str:
    """The cord at the end of a leg and the minutes to it."""
    minutes = "" if leg.minutes is None else f"{leg.minutes}\u00a0min"
    return "; ".join(one for one in (_cord_words(leg), minutes) if one)


def _narrow_table(legs: list[CardLeg], log: TravelLog) -> Block:
    columns = [
        Column("done", mm=9),
        Column("leg", mm=8, align="right"),
        _figure(f"azimuth\n{say_north(log.heading).split()[-1]}", 18, FIGURE_EM),
        _figure(f"count\n{log.heading.count_unit}", 15, FIGURE_EM),
        _figure("TOO\nFAR", 15, FIGURE_EM),
        Column("my\ncount", mm=14),
        Column("time", mm=12),
        Column("back azimuth; what to expect; cord at the end"),
    ]
    rows = []
    for leg in legs:
        told = [f"back {leg.back}", *(one for one in (leg.expect, _below(leg)) if one)]
        cells = ["", str(leg.number), leg.azimuth, leg.count, str(leg.too_far), "", ""]
        rows.append([*cells, "\n".join(told)])
    return table(columns, rows, row_mm=7.0)


def _card_table(legs: list[CardLeg], log: TravelLog) -> Block:
    columns = [
        Column("ok", mm=4.5),
        Column("leg", mm=5.9, align="right"),
        _figure("azi-\nmuth", 11.3, 1.3),
        _figure("count", 9.4, 1.3),
        _figure("TOO\nFAR", 9.4, 1.3),
        Column("my\ncount", mm=9.0),
        Column("time", mm=7.5),
    ]
    rows: list[list[str]] = []
    for leg in legs:
        rows.append(["", str(leg.number), leg.azimuth, leg.count, str(leg.too_far), "", ""])
        told = [f"back {leg.back}", *(one for one in (leg.expect, _below(leg)) if one)]
        rows.append(["; ".join(told)])
    return table(columns, rows, row_mm=3.6, pad_mm=0.5, heavy_every=2)


def _cord_words(leg: CardLeg) -> str:
    return "" if leg.tally is None else say_tally(leg.tally, leg.tally_unit)
