"""All that is said of fixes by bearings: those of a log, and one without a log."""

from __future__ import annotations

from pacewright.answers.fixing import PlacedFix
from pacewright.core.bearings.intersection import Intersection
from pacewright.core.bearings.log_fixes import LogFixes
from pacewright.core.bearings.resection import Resection
from pacewright.core.compass import AzimuthUnit
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.ground.map_anchor import MapAnchor
from pacewright.wording.fixes import (
    CAUTION,
    Terms,
    say_intersection,
    say_landmark_fix,
    say_resection,
    say_station_fix,
    say_taken_places,
)
from pacewright.wording.walk import say_assumed


def say_log_fixes(
    log: TravelLog, walker: Walker, fixes: LogFixes, anchor: MapAnchor | None = None
) -> list[str]:
    """Say all that the bearings of a log fix, on the map where that holds it, and which of them fix nothing."""
    said = list(say_assumed(log, walker))
    said += [sentence for fix in fixes.stations for sentence in say_station_fix(log, fix, anchor)]
    said += [sentence for fix in fixes.landmarks for sentence in say_landmark_fix(log, fix)]
    return [*said, *fixes.said, CAUTION]


def say_placed_fix(
    found: PlacedFix[Resection] | PlacedFix[Intersection], azimuth_unit: AzimuthUnit
) -> list[str]:
    """Say a fix that was made without a log."""
    terms = Terms(azimuth_unit=azimuth_unit)
    if isinstance(found.fix, Resection):
        said = say_resection(found.fix, [one.name for one in found.bearings], terms)
    else:
        names = [one.name or f"place {k}" for k, one in enumerate(found.bearings, start=1)]
        said = say_intersection(found.fix, names, terms)
    return [*said, *say_taken_places(found.bearings), CAUTION]
