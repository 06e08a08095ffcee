"""A small log on the map, for the formats that hold one."""

from __future__ import annotations

from pacewright.answers.estimate import find_estimate
from pacewright.answers.placing import PlacedLog, place_log
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.files.known_places import open_known
from pacewright.ground.grid_text import Position, parse_place
from support.logs import log_of


def placed_log(
    log: TravelLog,
    walker: Walker | None = None,
    *,
    start: Position | None = None,
    start_sd_m: float = 10.0,
) -> PlacedLog:
    """A log on the map."""
    walker = walker or Walker()
    return place_log(find_estimate(log, walker, open_known(log, walker, None, start, start_sd_m)))


def small_walk(
    start: str = "46.5000000 9.0000000", title: str = "Fen & <ford>"
) -> tuple[TravelLog, PlacedLog]:
    """A log of three legs and a bearing that comes back to its start, and its places."""
    log = log_of(
        (0, 300, "[at Split oak] wet"),
        (45, "", "[see Fire tower]"),
        (120, 250, "[at =Heron]"),
        (240, 330, "[at Gate]"),
        azimuth="true degrees",
        more=[f"title: {title}"],
    )
    return log, placed_log(log, Walker(per_100_m=62.5), start=parse_place(start))
