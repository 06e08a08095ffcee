"""A log to its picture: the walked figure, regions, the way back, and what is said under it."""

from __future__ import annotations

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import FrameKind, choose_frame
from pacewright.core.way.reckoning import reckon
from pacewright.core.way.regions import named_regions
from pacewright.core.way.way_back import way_back
from pacewright.drawing.walk_map import draw_walk_map
from pacewright.drawing.walk_of import walk_of
from pacewright.drawing.way_caption import way_caption
from pacewright.wording.walk import CAUTION, say_reckoning


def draw_log(
    log: TravelLog,
    walker: Walker,
    frame: FrameKind | None = None,
    probability: float = 0.95,
    to_name: str | None = None,
    *,
    with_back: bool = True,
) -> str:
    """Give the drawing of a log as SVG: named stations and the last with their regions.

    Parameters
    ----------
    log, walker
        The log, and who walked it.
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
    reckoning = reckon(log, walker, choose_frame(log.heading, walker, frame))
    way = None
    if with_back:
        there = log.find_station(to_name) if to_name is not None else 0
        way = way_back(log, walker, to_station=there, probability=probability)
    caption = say_reckoning(log, reckoning, probability)[1:3]
    if way is not None:
        caption += way_caption(log, way, walker)
    caption.append(CAUTION)
    regions = named_regions(reckoning, probability)
    return draw_walk_map(walk_of(log, reckoning, regions=regions, way=way, caption=tuple(caption)))
