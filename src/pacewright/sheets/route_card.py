"""The route card to leave behind: who, from where to where, the legs and their times, what if overdue."""

from __future__ import annotations

import datetime
from itertools import accumulate
from typing import Final

from pacewright.answers.estimate import Estimate
from pacewright.answers.placing import place_log
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.exceptions import Complaint
from pacewright.sheets.blocks import Block, Column, caution, fields, heading, keep, ruled, table, text, texts
from pacewright.sheets.leg_cards import CardLeg, card_legs
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.estimate import say_condemned
from pacewright.wording.numbers import say_place
from pacewright.wording.placing import say_lat_lon, say_mgrs
from pacewright.wording.sheets import PAPER_CAUTION, say_bead, say_north, say_whose
from pacewright.wording.sheets_field import OVERDUE

SMALL_EM: Final = 0.9
PARTY: Final = (
    (("Party, everybody's name", 1.0),),
    (("and", 1.0),),
    (("Telephones", 1.0),),
    (("Clothes, tent, colours", 1.0),),
    (("Vehicle, where it stands", 1.4), ("Set out at", 0.7)),
    (("LATEST TIME BACK", 1.0), ("Day", 1.0)),
    (("Left with (name)", 1.0), ("Emergency number there", 1.0)),
)
"""What whoever stays behind must know: labels, and their share of a line."""


def route_card(estimate: Estimate, paper: Paper, leave: datetime.time | None = None) -> Sheet:
    """The route card of the legs of a log or a plan.

    Parameters
    ----------
    estimate
        The log, or the plan, put together.
    paper
        What it is printed on.
    leave
        When the party sets out: the times of the legs are then filled in, by the rule alone.
    """
    log, walker = estimate.log, estimate.walker
    legs = card_legs(log, walker)
    names = log.station_names()
    ends = f"{say_place(names[0], 0)} to {say_place(names[-1], len(log.legs))}"
    party = [[(label, _filled(label, estimate, leave), share) for label, share in row] for row in PARTY]
    if paper.is_card:
        party = [[one] for row in party for one in row]
    timed = legs and legs[0].minutes is not None
    bead = say_bead(log.heading, walker)
    told = [
        f"Azimuths {say_north(log.heading)}; counts in {log.heading.count_unit}.",
        *([bead] if bead else []),
    ]
    if timed:
        total = sum(leg.minutes or 0 for leg in legs)
        told.append(
            f"In all {total // 60} h {total % 60:02d} min by 4 km in the hour, without rests or slopes."
        )
    blocks: list[Block] = [
        text(say_whose(estimate), size_em=SMALL_EM),
        *map(caution, say_condemned(estimate)),
        *([fields([row], 7.5) for row in party] if paper.is_card else [keep([fields(party, 8.5)])]),
        *_on_the_map(estimate),
        *(texts(told, size_em=SMALL_EM) if paper.is_card else [text("\n".join(told), size_em=SMALL_EM)]),
        _legs(legs, log, paper, leave),
        keep([heading("If we are overdue"), text(OVERDUE), caution(PAPER_CAUTION)]),
        *([] if paper.is_card else [ruled("Other ways we may take, places to wait:", 8.0)]),
    ]
    return sheet(f"Route card to leave behind: {ends}", blocks)


def _on_the_map(estimate: Estimate) -> list[Block]:
    """Where the start and the end lie, so that whoever is called can look there."""
    try:
        placed = place_log(estimate)
    except Complaint:
        return [fields([[("The start on the map", "", 1.0)]], 7.5)]
    told = []
    for which, at in (("From", 0), ("To", placed.last)):
        where = (say(placed, at, DEFAULT_PROBABILITY) for say in (say_lat_lon, say_mgrs))
        told.append(f"{which} {say_place(placed.names[at], at)}: {', MGRS '.join(where)}.")
    return texts(told, size_em=SMALL_EM)


def _filled(label: str, estimate: Estimate, leave: datetime.time | None) -> str:
    if label.startswith("Party"):
        return estimate.walker.name or estimate.log.heading.walker
    return f"{leave:%H:%M}" if leave is not None and label == "Set out at" else ""


def _legs(legs: list[CardLeg], log: TravelLog, paper: Paper, leave: datetime.time | None) -> Block:
    unit = say_north(log.heading).split()[-1]
    number, azimuth, count, minutes, clock = (
        (6.2, 10.5, 9.5, 7.5, 9.5) if paper.is_card else (9, 20, 20, 14, 18)
    )
    columns = [
        Column("leg", mm=number, align="right"),
        Column("to"),
        Column("azi-\nmuth" if paper.is_card else f"azimuth\n{unit}", mm=azimuth, align="right", bold=True),
        Column(
            "count" if paper.is_card else f"count\n{log.heading.count_unit}",
            mm=count,
            align="right",
            bold=True,
        ),
        Column("min", mm=minutes, align="right"),
        Column("there\nat", mm=clock, align="right"),
    ]
    walked = accumulate(leg.minutes or 0 for leg in legs)
    rows = [
        [
            str(leg.number),
            leg.to_name,
            leg.azimuth,
            leg.count,
            "" if leg.minutes is None else str(leg.minutes),
            _clock(leave, so_far) if leave is not None and leg.minutes is not None else "",
        ]
        for leg, so_far in zip(legs, walked, strict=True)
    ]
    return table(columns, rows, row_mm=0.0 if paper.is_card else 5.0, heavy_every=5)


def _clock(leave: datetime.time, minutes: int) -> str:
    at = datetime.datetime.combine(datetime.date(2000, 1, 1), leave) + datetime.timedelta(minutes=minutes)
    return f"{at:%H:%M}"
