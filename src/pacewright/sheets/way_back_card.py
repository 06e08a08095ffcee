"""The way back on a card: direct, aiming off, leg by leg, and what to do when the goal is not there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from pacewright.answers.estimate import Estimate
from pacewright.answers.in_steps import as_counted
from pacewright.answers.way import WayAnswer, WayAsked, answer_way
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Slope
from pacewright.core.way.search_pattern import ExpandingSquare, LineSearch
from pacewright.core.way.way_back import WayBack
from pacewright.drawing.search_diagram import draw_search
from pacewright.sheets.blocks import (
    Block,
    Column,
    beside,
    caution,
    heading,
    keep,
    lines,
    picture,
    ruled,
    table,
    text,
    texts,
)
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.sheets.way_figures import legs_in_words, way_figures
from pacewright.wording.numbers import say_azimuth, say_chance, say_length, say_place
from pacewright.wording.searching import search_table
from pacewright.wording.sheets import PAPER_CAUTION, say_bead, say_whose
from pacewright.wording.walk import say_assumed, say_map_figure, say_way_back
from pacewright.wording.way_answer import (
    say_aimed,
    say_doubt,
    say_note,
    say_retraced,
    say_searched,
    search_of,
)

SIGHTING_DISTANCE: Final = 20.0
"""How far off the goal is taken to be seen, in the unit of the way, where nothing is said of it."""


SMALL_EM: Final = 0.9
_MOST_BESIDE: Final = 16
"""Sides of a search that stand beside its drawing."""
_DRAWN_TIMES: Final = {False: 1.19, True: 1.36}
"""How many times as wide the search is drawn: made smaller on paper, its letters are still large enough."""
_MOST_ROWS_KEPT: Final = 14
"""A table of no more rows than this stays on one page."""


@dataclass(frozen=True, slots=True)
class WayBackAsked:
    """What is asked of the card.

    Attributes
    ----------
    from_station, to_station
        By default from the last station to the start; the goal may be a place that is known or seen.
    probability
        Share of walks that the region holds.
    line_azimuth_deg
        A line through the goal to aim off by, by the log's own north.
    sighting_distance
        How far off the goal is seen, in the unit of the way.
    ground, slope
        What the way crosses; by default what was walked out on.
    """

    from_station: int | None = None
    to_station: int | str = 0
    probability: float = 0.95
    line_azimuth_deg: float | None = None
    sighting_distance: float | None = None
    ground: str | None = None
    slope: Slope | None = None


def way_back_card(estimate: Estimate, paper: Paper, asked: WayBackAsked | None = None) -> Sheet:
    """The card of the way back.

    Parameters
    ----------
    estimate
        The log put together: the same as behind every other answer.
    paper
        What it is printed on.
    asked
        Which way, and what else is asked.

    Raises
    ------
    ValueComplaint
        The two stations are the same, or the sighting distance is none.
    """
    asked = asked or WayBackAsked()
    log, walker = estimate.log, estimate.walker
    found = as_counted(answer_way(estimate, _way_asked(log, asked)))
    way = found.way
    here, there = say_place(way.from_name, way.from_station), say_place(way.to_name, way.to_station or 0)
    title = f"Way back: {here} to {there}"
    blocks = [
        text(say_whose(estimate), size_em=SMALL_EM),
        *texts(say_assumed(log, walker), size_em=SMALL_EM),
        *(caution(said) for said in say_doubt(found)),
        *_to_walk(found, estimate, paper),
        *_not_aimed(found),
        *_searched(found, asked, paper),
        *_retraced(found, paper),
        *_beside_it(found),
        *_for_the_pencil(paper),
    ]
    return sheet(title, blocks)


def _for_the_pencil(paper: Paper) -> list[Block]:
    seen = "Seen on the way back:"
    if paper.is_card:
        return [keep([text(seen, size_em=SMALL_EM), lines(3, 7.0)])]
    return [ruled(seen, 7.0)]


def _way_asked(log: TravelLog, asked: WayBackAsked) -> WayAsked:
    seen_from = SIGHTING_DISTANCE if asked.sighting_distance is None else asked.sighting_distance
    return WayAsked(
        from_station=len(log.legs) if asked.from_station is None else asked.from_station,
        to=asked.to_station,
        probability=asked.probability,
        ground=asked.ground,
        slope=asked.slope,
        line_deg=asked.line_azimuth_deg,
        sighting_distance=seen_from,
        with_retrace=True,
    )


def _to_walk(found: WayAnswer, estimate: Estimate, paper: Paper) -> list[Block]:
    """The one way to walk, in figures and in words: aimed off where it is, else the direct one."""
    said = say_way_back(found.log, found.way, found.turn) if found.aimed is None else say_aimed(found)
    bead = say_bead(found.log.heading, estimate.walker)
    shown = way_figures(found)
    told = [*said, *([bead] if bead and shown else [])]
    return [*shown, *(texts(told) if paper.is_card else [text("\n".join(told))]), caution(PAPER_CAUTION)]


def _searched(found: WayAnswer, asked: WayBackAsked, paper: Paper) -> list[Block]:
    log, way = found.log, found.way
    seen_from = SIGHTING_DISTANCE if asked.sighting_distance is None else asked.sighting_distance
    taken = " (taken so; nothing was said of it)" if asked.sighting_distance is None else ""
    if way.count == 0:
        return []
    search = search_of(found)
    said = list(say_searched(found))
    if search is not None:
        off = say_length(2 * seen_from if way.unit == "step" else seen_from, way.unit)
        said.append(f"For a goal that is seen from {off} off{taken}.")
    sides = [] if search is None else [_sides(log, search, way)]
    if isinstance(search, LineSearch):
        return [keep([heading("If it is not there"), *texts(said), *sides])]
    wide_mm = _wide_mm(paper)
    drawn = picture(
        draw_search(way, found.turn, search, _DRAWN_TIMES[paper.is_card] * wide_mm), width_mm=wide_mm
    )
    sure = say_chance(way.probability)
    told = f"Broken line: the goal lies inside it {sure}, seen from where the count is full."
    if paper.is_card:
        return [
            heading("If it is not there"),
            *texts(said),
            keep([drawn, text(told, size_em=SMALL_EM)]),
            *sides,
        ]
    words = [text("\n".join([*said, told]), size_em=SMALL_EM)]
    is_short = search is not None and len(search.legs) <= _MOST_BESIDE
    right, below = ([*words, *sides], []) if is_short else (words, sides)
    return [keep([heading("If it is not there"), beside([drawn], right, wide_mm)]), *below]


def _wide_mm(paper: Paper) -> float:
    room = paper.room_mm[0]
    return room if paper.is_card else min(62.0, 0.45 * room)


def _sides(log: TravelLog, search: ExpandingSquare | LineSearch, way: WayBack) -> Block:
    (side, azimuth, length, total, _), rows = search_table(log, search, way)
    unit = say_azimuth(0.0, log.heading.azimuth_unit).split()[1]
    heads = (side, f"{azimuth}\n{unit}", length, total, "seen by then\nof 100")
    shares = (0.7, 1.4, 1.0, 1.0, 1.3)
    columns = [
        Column(head, share, align="right", bold=i in (1, 2), size_em=SMALL_EM)
        for i, (head, share) in enumerate(zip(heads, shares, strict=True))
    ]
    shown = [
        [one, at.removesuffix(f" {unit}"), *more, seen.removesuffix(" in 100")]
        for one, at, *more, seen in rows
    ]
    return table(columns, shown, pad_mm=0.45)


def _not_aimed(found: WayAnswer) -> list[Block]:
    """Why a line that was named is not aimed off to."""
    said = () if found.aimed is not None else say_aimed(found)
    return [keep([heading("Aiming off"), *texts(said)])] if said else []


def _beside_it(found: WayAnswer) -> list[Block]:
    """The direct way on the map, or a note of it beside a way that is aimed off; what was not used."""
    is_bare = found.aimed is not None or found.way.is_there or found.way.to_station is None
    on_map = [] if is_bare else say_map_figure(found.log, found.way, found.walker)
    said = [*on_map, *say_note(found)]
    return [text("\n".join(said), size_em=SMALL_EM)] if said else []


def _retraced(found: WayAnswer, paper: Paper) -> list[Block]:
    if found.retraced is None:
        return []
    back = found.retraced.log
    parts = [heading("Leg by leg"), *texts(say_retraced(found), size_em=SMALL_EM), legs_in_words(back, paper)]
    return parts if paper.is_card or len(back.rows) > _MOST_ROWS_KEPT else [keep(parts)]
