"""Whether the legs that a way back rests on may hold a mistake: said wherever a way back is given."""

from __future__ import annotations

from typing import Final

from pacewright.core.frames import walker_frame
from pacewright.core.mistakes import Findings, find_mistakes
from pacewright.core.travel_log import TravelLog
from pacewright.core.walker import Walker
from pacewright.core.way_back import WayBack
from pacewright.wording.findings import say_taken_as_written

DOUBT_ABOVE: Final = 0.1
"""A chance of a mistake between the two stations that a walker is warned of."""


def chance_of_mistake(log: TravelLog, way: WayBack, walker: Walker) -> tuple[float | None, Findings]:
    """Give the chance that a mistake lies in the legs of a way back, None where nothing could show it."""
    findings = find_mistakes(log, walker, frame=walker_frame(log.heading, walker))
    if not findings.observed:
        return None, findings
    return findings.chance_between(way.from_station, way.to_station), findings


def is_doubtful(chance: float | None, findings: Findings) -> bool:
    """Tell whether that chance is one to be warned of."""
    return chance is not None and findings.verdict != "none" and chance >= DOUBT_ABOVE


def say_doubt(log: TravelLog, way: WayBack, walker: Walker) -> list[str]:
    """Say that the way takes legs as written that may hold a mistake; nothing where none shows."""
    chance, findings = chance_of_mistake(log, way, walker)
    return say_taken_as_written(chance) if chance is not None and is_doubtful(chance, findings) else []
