"""The way to walk in large figures, and its legs numbered and in words."""

from __future__ import annotations

from typing import Final

from pacewright.answers.way import WayAnswer
from pacewright.core.log.travel_log import Leg, Sighting, TravelLog
from pacewright.sheets.blocks import Block, Column, table
from pacewright.sheets.paper import Paper
from pacewright.wording.numbers import say_azimuth
from pacewright.wording.sheets import say_expect, say_north

LARGE_EM: Final = 2.0


def way_figures(found: WayAnswer, size_em: float = LARGE_EM) -> list[Block]:
    """The one way to walk, aimed off where it is; nothing where nothing is to be walked."""
    log, way, turn, aim = found.log, found.way, found.turn, found.aimed
    if aim is None and way.count == 0:
        return []
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
    return [table([Column(head, align="center", bold=True, size_em=size_em) for head in heads], [cells])]


def legs_in_words(log: TravelLog, paper: Paper) -> Block:
    """The rows of a log as a table: legs numbered, remarks in words, bearings beside them."""
    number_mm, azimuth_mm, count_mm = (7.0, 15.0, 11.0) if paper.is_card else (9.0, 24.0, 18.0)
    columns = [
        Column("leg", mm=number_mm, align="right"),
        Column(f"azimuth\n{say_north(log.heading)}", mm=azimuth_mm, align="right", bold=True, size_em=1.2),
        Column(f"count\n{log.heading.count_unit}", mm=count_mm, align="right", bold=True, size_em=1.2),
        Column("what to expect", size_em=0.9),
    ]
    rows, number = [], 0
    for row in log.rows:
        if isinstance(row, Leg):
            number += 1
            told = say_expect(row, (), log.heading.azimuth_unit)
            rows.append([str(number), row.cells.azimuth, row.cells.count, told])
        elif isinstance(row, Sighting):
            rows.append(["", row.cells.azimuth, "", f"{row.name} bears so from here"])
    return table(columns, rows, pad_mm=0.8, heavy_every=5)
