"""The way back on a card: direct, aiming off, leg by leg, and what to do when the goal is not there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from pacewright.answers.way import WayAnswer, WayAsked, answer_way
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Slope, Walker
from pacewright.core.way.search_pattern import ExpandingSquare, LineSearch
from pacewright.core.way.way_back import WayBack
from pacewright.drawing.search_diagram import draw_search
from pacewright.files.known_places import open_estimate
from pacewright.sheets.blocks import (
    Block,
    Column,
    beside,
    caution,
    heading,
    keep,
    lines,
    picture,
    table,
    text,
    texts,
)
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.numbers import say_azimuth, say_chance, say_length, say_place
from pacewright.wording.sheets import PAPER_CAUTION, say_north
from pacewright.wording.walk import retrace_table, say_assumed, say_map_figure, say_way_back, search_table
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


def way_back_card(log: TravelLog, walker: Walker, paper: Paper, asked: WayBackAsked | None = None) -> Sheet:
    """Give the card of the way back.

    Raises
    ------
    ValueComplaint
        The two stations are the same, or the sighting distance is none.
    """
    asked = asked or WayBackAsked()
    found = answer_way(open_estimate(log, walker), _way_asked(log, asked))
    way = found.way
    here, there = say_place(way.from_name, way.from_station), say_place(way.to_name, way.to_station or 0)
    title = f"Way back: {here} to {there}"
    blocks = [
        *texts(say_assumed(log, walker), size_em=0.9),
        *(caution(said) for said in say_doubt(found)),
        *_to_walk(found),
        *_not_aimed(found),
        *_searched(found, asked, paper),
        *_retraced(found, paper),
        *_beside_it(found),
        keep([text("Seen on the way back:", size_em=0.85), lines(3, 7.0)]),
    ]
    return sheet(title, blocks)


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


def _to_walk(found: WayAnswer) -> list[Block]:
    """The one way to walk, in figures and in words: aimed off where it is, else the direct one."""
    log, way, turn, aim = found.log, found.way, found.turn, found.aimed
    goal = "" if aim is None else " (the line)"
    heads = [
        f"azimuth\n{say_north(log.heading)}",
        f"count\n{way.unit}s",
        f"look from{goal}",
        f"stop at{goal}",
    ]
    azimuth_deg = way.azimuth_deg if aim is None else aim.azimuth_deg
    counts = (
        (way.count, turn.look_from, turn.stop_at) if aim is None else (aim.count, aim.line_from, aim.line_by)
    )
    cells = [say_azimuth(azimuth_deg, log.heading.azimuth_unit).split()[0], *map(str, counts)]
    figures = table([Column(head, align="center", bold=True, size_em=2.0) for head in heads], [cells])
    said = texts(say_way_back(log, way, turn) if aim is None else say_aimed(found))
    shown = [] if aim is None and way.count == 0 else [figures]
    return [*shown, *said, caution(PAPER_CAUTION)]


def _searched(found: WayAnswer, asked: WayBackAsked, paper: Paper) -> list[Block]:
    log, way = found.log, found.way
    seen_from = SIGHTING_DISTANCE if asked.sighting_distance is None else asked.sighting_distance
    taken = " (taken so; nothing was said of it)" if asked.sighting_distance is None else ""
    if way.count == 0:
        return []
    search = search_of(found)
    said = list(say_searched(found))
    if search is not None:
        said.append(f"For a goal that is seen from {say_length(seen_from, way.unit)} off{taken}.")
    sides = [] if search is None else [_sides(log, search, way)]
    if isinstance(search, LineSearch):
        return [keep([heading("If it is not there"), *texts(said), *sides])]
    room = paper.room_mm[0]
    wide = room if paper.is_card else min(88.0, 0.55 * room)
    drawn = picture(draw_search(way, found.turn, search, 110.0 if not paper.is_card else 80.0), width_mm=wide)
    told = f"Hatched: the goal lies there {say_chance(way.probability)}, seen from where the count is full."
    if paper.is_card:
        return [heading("If it is not there"), *texts(said), keep([drawn, text(told, size_em=0.85)]), *sides]
    right: list[Block] = [*texts([*said, told], size_em=0.9)]
    if search is not None and len(search.legs) <= 12:
        return [keep([heading("If it is not there"), beside([drawn], [*right, *sides], wide)])]
    return [keep([heading("If it is not there"), beside([drawn], right, wide)]), *sides]


def _sides(log: TravelLog, search: ExpandingSquare | LineSearch, way: WayBack) -> Block:
    heads, rows = search_table(log, search, way)
    shares = (0.7, 1.3, 1.0, 1.0, 1.6)
    columns = [
        Column(head, share, align="right", bold=head in ("azimuth", heads[2]), size_em=0.85)
        for head, share in zip(heads, shares, strict=True)
    ]
    return table(columns, rows, pad_mm=0.6)


def _not_aimed(found: WayAnswer) -> list[Block]:
    """Why a line that was named is not aimed off to."""
    said = () if found.aimed is not None else say_aimed(found)
    return [keep([heading("Aiming off"), *texts(said)])] if said else []


def _beside_it(found: WayAnswer) -> list[Block]:
    """The direct way on the map, or a note of it beside a way that is aimed off; what was not used."""
    is_bare = found.aimed is not None or found.way.is_there or found.way.to_station is None
    on_map = [] if is_bare else say_map_figure(found.log, found.way, found.walker)
    return texts([*on_map, *say_note(found)], size_em=0.85)


def _retraced(found: WayAnswer, paper: Paper) -> list[Block]:
    if found.retraced is None:
        return []
    log, back = found.log, found.retraced.log
    _, rows = retrace_table(back)
    width = 11.0 if paper.is_card else 18.0
    columns = [
        Column("row", mm=10 if paper.is_card else 15, size_em=0.8),
        Column(f"azimuth\n{say_north(log.heading)}", mm=1.35 * width, align="right", bold=True, size_em=1.2),
        Column(f"count\n{log.heading.count_unit}", mm=width, align="right", bold=True, size_em=1.2),
        Column("notes", size_em=0.9),
    ]
    said = say_retraced(found)
    parts = [heading("Leg by leg"), *texts(said), table(columns, rows, row_mm=4.5, heavy_every=5)]
    return parts if paper.is_card or len(rows) > _MOST_ROWS_KEPT else [keep(parts)]
