"""The frame of a log, what a map tells of its known points in it, and the estimate that rests on them.

All with the magnetic model that ships with the tool.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from pacewright.exceptions import Complaint, MissingComplaint

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate, KnownPlaces
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker
    from pacewright.core.way.frames import FrameKind
    from pacewright.ground.declination import FieldModel
    from pacewright.ground.grid_text import Position


def open_known(
    log: TravelLog,
    walker: Walker,
    kind: FrameKind | None,
    start: Position | None = None,
    start_sd_m: float = 10.0,
) -> KnownPlaces:
    """Choose the frame of a log and place its known points there.

    Parameters
    ----------
    log, walker
        The log, and who walked it.
    kind
        The frame asked for; None for paces until the log has a pace count and a known point.
    start, start_sd_m
        The place of the start on the map and how sure it is, where the heading does not hold it.

    Raises
    ------
    ValueComplaint
        A known place cannot be read, or lies too far from the others.
    """
    from pacewright.answers.estimate import KnownPlaces
    from pacewright.core.adjust.standing import with_a_pace
    from pacewright.core.way.frames import choose_frame
    from pacewright.ground.map_anchor import find_anchor, frame_told_by_places

    if start is None and all(point.local_m for point in log.heading.known):
        told = frame_told_by_places(log, walker, kind)
        if told is not None:
            return KnownPlaces(told, tell_pace=True)
        return KnownPlaces(choose_frame(log.heading, walker, kind))
    measured, _ = with_a_pace(log, walker)
    try:
        anchor = find_anchor(log, measured, open_model(log), start=start, start_sd_m=start_sd_m)
    except MissingComplaint as complaint:
        frame = choose_frame(log.heading, walker, kind)
        return KnownPlaces(frame, unplaced=(_say_unused(complaint),), refused=complaint)
    if anchor is not None and frame_told_by_places(log, walker, kind, anchor) is not None:
        return KnownPlaces(anchor.frame, anchor.placed, anchor=anchor, tell_pace=True)
    frame = choose_frame(log.heading, walker, kind)
    if anchor is None:
        said = "Places on the map are not used: this log walks to none and no bearings to two cross well."
        return KnownPlaces(frame, unplaced=(said,) if _holds_any(log) else ())
    is_own = frame.kind == "walker" or not anchor.placed.places
    return KnownPlaces(frame if is_own else anchor.frame, anchor.placed, anchor=anchor)


def open_estimate(
    log: TravelLog, walker: Walker, start: Position | None = None, start_sd_m: float = 10.0
) -> Estimate:
    """Put a log together with all that it holds and a map tells: the one estimate behind every answer."""
    from pacewright.answers.estimate import KnownPlaces, find_estimate
    from pacewright.core.way.frames import choose_frame

    try:
        known = open_known(log, walker, None, start, start_sd_m)
    except Complaint as complaint:
        # A place that cannot be read is no reason to say nothing of the legs.
        frame = choose_frame(log.heading, walker)
        known = KnownPlaces(frame, unplaced=(_say_unused(complaint),), refused=complaint)
    return find_estimate(log, walker, known)


def open_model(log: TravelLog) -> FieldModel | None:
    """Read the magnetic model that ships with the tool, where the log has a date to ask it about."""
    from pacewright.files.field_model import bundled_field_model

    return bundled_field_model() if log.heading.date is not None else None


def _say_unused(complaint: Complaint) -> str:
    return f"Places on the map are not used: {complaint}"


def _holds_any(log: TravelLog) -> bool:
    """Whether the log sights something whose place a map knows."""
    seen = {sighting.name for _, sighting in log.sightings()}
    return any(point.local_m is None and point.name in seen for point in log.heading.known)
