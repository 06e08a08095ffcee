"""What stands under a drawing for the way back, in the words in which the way back is said."""

from __future__ import annotations

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.search_pattern import overshoot
from pacewright.core.way.way_back import WayBack
from pacewright.wording.doubt import say_doubt
from pacewright.wording.walk import say_way_back


def way_caption(log: TravelLog, way: WayBack, walker: Walker) -> tuple[str, ...]:
    """Say the way back: the warning first where the log shows a mistake, then azimuth, count and limits."""
    return (*say_doubt(log, way, walker), *say_way_back(log, way, overshoot(way)))
