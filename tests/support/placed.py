"""A small log on the map, for the formats that hold one."""

from __future__ import annotations

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.ground.grid_text import parse_place
from pacewright.ground.map_frame import PlacedLog, place_log
from support.logs import log_of


def small_walk(
    start: str = "46.5000000 9.0000000", title: str = "Fen & <ford>"
) -> tuple[TravelLog, PlacedLog]:
    """Give a log of three legs and a bearing that comes back to its start, and its places."""
    log = log_of(
        (0, 300, "[at Split oak] wet"),
        (45, "", "[see Fire tower]"),
        (120, 250, "[at =Heron]"),
        (240, 330, "[at Gate]"),
        azimuth="true degrees",
        more=[f"title: {title}"],
    )
    return log, place_log(log, Walker(per_100_m=62.5), start=parse_place(start))
