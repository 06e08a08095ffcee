"""Whether the legs that a way back rests on may hold a mistake: said wherever a way back is given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from pacewright.core.adjust.closure import find_closures, find_unexplained
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.mistakes import Findings, find_mistakes
from pacewright.core.way.frames import walker_frame
from pacewright.core.way.observations import find_observations
from pacewright.core.way.reckoning import reckon
from pacewright.core.way.way_back import WayBack
from pacewright.exceptions import NoAnswerComplaint
from pacewright.wording.findings import say_taken_as_written, say_unsearched

DOUBT_ABOVE: Final = 0.1
"""A chance of a mistake between the two stations that a walker is warned of."""

LEGS_TO_SEARCH: Final = 200
WORK_TO_SEARCH: Final = 5e4
"""A way back is asked for on the way and must come at once: a log that would take more than about a
second to search is judged by how it closes."""


@dataclass(frozen=True, slots=True, eq=False)
class Doubt:
    """What may be wrong with the legs that a way back rests on.

    Attributes
    ----------
    chance
        That a mistake lies in them; None where nothing could show it, or the log was not searched.
    findings
        Of the search; None where there was none.
    said
        Sentences of warning; empty where there is nothing to warn of.
    """

    chance: float | None
    findings: Findings | None
    said: tuple[str, ...]

    @property
    def is_warned(self) -> bool:
        """True where the walker is warned."""
        return bool(self.said)


def find_doubt(log: TravelLog, way: WayBack, walker: Walker) -> Doubt:
    """Give what may be wrong with the legs of a way back."""
    frame = walker_frame(log.heading, walker)
    found = find_observations(log, walker, frame)
    if not (found.ties or found.fixes or found.bearings or found.back_azimuths):
        return Doubt(None, None, ())
    if len(log.legs) <= LEGS_TO_SEARCH:
        try:
            findings = find_mistakes(log, walker, frame=frame, most_work=WORK_TO_SEARCH)
        except NoAnswerComplaint:
            pass
        else:
            return _searched(findings, way)
    closures = find_closures(log, reckon(log, walker, frame), found)
    return Doubt(None, None, tuple(say_unsearched(find_unexplained(closures))))


def _searched(findings: Findings, way: WayBack) -> Doubt:
    if not findings.observed:
        return Doubt(None, None, ())
    chance = findings.chance_between(way.from_station, way.to_station)
    is_doubtful = findings.verdict != "none" and chance >= DOUBT_ABOVE
    return Doubt(chance, findings, tuple(say_taken_as_written(chance)) if is_doubtful else ())


def say_doubt(log: TravelLog, way: WayBack, walker: Walker) -> list[str]:
    """Say that the way takes legs as written that may hold a mistake; nothing where none shows."""
    return list(find_doubt(log, way, walker).said)
