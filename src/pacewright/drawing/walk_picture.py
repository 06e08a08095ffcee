"""A log to its picture: the walked figure, regions, the way back, and what is said under it."""

from __future__ import annotations

from pacewright.answers.estimate import Estimate
from pacewright.answers.way import WayAsked, answer_way
from pacewright.core.way.frames import FrameKind
from pacewright.core.way.regions import named_regions
from pacewright.drawing.walk_map import draw_walk_map
from pacewright.drawing.walk_of import walk_of
from pacewright.wording.estimate import say_condemned
from pacewright.wording.walk import CAUTION, say_reckoning
from pacewright.wording.way_answer import say_short


def draw_log(
    estimate: Estimate,
    frame: FrameKind | None = None,
    probability: float = 0.95,
    to_name: str | None = None,
    *,
    with_back: bool = True,
) -> str:
    """The drawing of a log as SVG: named stations and the last with their regions.

    Parameters
    ----------
    estimate
        Where the log stands.
    frame
        The frame to draw in; None chooses by what the log and the walker give.
    probability
        Share of walks that a region holds.
    to_name
        The goal of the way back, by name or number; the start if left out.
    with_back
        Whether the way back is drawn.

    Raises
    ------
    Complaint
        The log has no such station, or the frame needs what is not given.
    """
    log = estimate.log
    stations = estimate.stations(frame)
    answer = None
    if with_back:
        there = 0 if to_name is None else estimate.find_goal(to_name, len(log.legs))
        answer = answer_way(estimate, WayAsked(len(log.legs), there, probability))
    doubt = say_condemned(estimate) if answer is None else say_short(answer)
    caption = (*say_reckoning(log, stations, probability), *doubt, CAUTION)
    regions = named_regions(stations, probability)
    way = None if answer is None else answer.way
    return draw_walk_map(walk_of(log, stations, regions=regions, way=way, caption=caption))
