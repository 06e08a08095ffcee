"""The frame of a log, what a map tells of its known points in it, and the estimate that rests on them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pacewright.exceptions import Complaint, MissingComplaint

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate, KnownPlaces
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker
    from pacewright.core.way.frames import FrameKind


def open_known(log: TravelLog, walker: Walker, kind: FrameKind | None) -> KnownPlaces:
    """Choose the frame of a log and place its known points there, with the bundled magnetic model."""
    from pacewright.answers.estimate import KnownPlaces
    from pacewright.core.way.frames import choose_frame

    frame = choose_frame(log.heading, walker, kind)
    if frame.kind == "walker" or all(point.local_m for point in log.heading.known):
        return KnownPlaces(frame)
    from pacewright.files.field_model import bundled_field_model
    from pacewright.ground.known_from_start import find_known_from_start

    model = bundled_field_model() if log.heading.declination_deg is None else None
    try:
        known = find_known_from_start(log, walker, model)
    except MissingComplaint as complaint:
        return KnownPlaces(frame, {}, (f"Places on the map are not used: {complaint}",))
    if known is not None:
        return KnownPlaces(known.frame, known.placed)
    met = {*log.station_names(), *(seen.name for _, seen in log.sightings())} - {log.heading.start}
    if not any(point.local_m is None and point.name in met for point in log.heading.known):
        return KnownPlaces(frame)
    start = log.heading.start or "Gate"
    why = f"where the log starts is not known there. Add '# known: {start} = PLACE +-10 m' to the heading."
    return KnownPlaces(frame, {}, (f"Places on the map are not used: {why}",))


def open_estimate(log: TravelLog, walker: Walker) -> Estimate:
    """Put a log together with all that it holds and a map tells: the one estimate behind every answer."""
    from pacewright.answers.estimate import KnownPlaces, find_estimate
    from pacewright.core.way.frames import choose_frame

    try:
        known = open_known(log, walker, None)
    except Complaint as complaint:
        # A place that cannot be read is no reason to say nothing of the legs.
        frame = choose_frame(log.heading, walker)
        known = KnownPlaces(frame, {}, (f"Places on the map are not used: {complaint}",))
    return find_estimate(log, walker, known)
