"""A log on its ground as a printed map sheet, the way back with it."""

from __future__ import annotations

from pacewright.answers.estimate import Estimate
from pacewright.answers.in_steps import as_counted
from pacewright.answers.placing import place_log
from pacewright.answers.way import WayAsked, answer_way
from pacewright.drawing.walk_on_ground import walk_on_ground
from pacewright.ground.terrain import Terrain
from pacewright.sheets.map_sheets import map_sheets
from pacewright.sheets.paper import Paper, Sheet
from pacewright.wording.way_answer import say_short


def map_of_log(
    estimate: Estimate,
    terrain: Terrain,
    paper: Paper,
    *,
    scale: float | None = None,
    probability: float = 0.95,
    with_back: bool = True,
) -> Sheet:
    """The map sheet of a log: on one page, or at a stated scale over as many as it takes.

    Parameters
    ----------
    estimate
        The log put together with what a map tells.
    terrain
        The ground.
    paper
        What it is printed on.
    scale
        The map is 1 to this; None for one that fits a page.
    probability
        Share of walks that a region holds.
    with_back
        Whether the way back is drawn.

    Raises
    ------
    Complaint
        The ground does not reach the log, or the map would be too large.
    """
    log, placed = estimate.log, place_log(estimate)
    said: tuple[str, ...] = ()
    way = None
    if with_back:
        found = as_counted(answer_way(estimate, WayAsked(len(log.legs), probability=probability)))
        said, way = say_short(found), found.way
    walk = walk_on_ground(log, placed, terrain, probability=probability, way=way)
    return map_sheets(walk, paper, log.heading.title or "Map sheet", scale, said)
