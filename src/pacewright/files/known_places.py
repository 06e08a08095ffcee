"""The frame of a log, and what a map tells of its known points in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pacewright.exceptions import MissingComplaint

if TYPE_CHECKING:
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker
    from pacewright.core.way.frames import Frame, FrameKind


@dataclass(frozen=True, slots=True)
class KnownPlaces:
    """The frame, the places in it that a map gave, and why that may be none."""

    frame: Frame
    placed: Mapping[str, tuple[float, float]]
    said: tuple[str, ...] = ()


def open_known(log: TravelLog, walker: Walker, kind: FrameKind | None) -> KnownPlaces:
    """Choose the frame of a log and place its known points there, with the bundled magnetic model."""
    from pacewright.core.way.frames import choose_frame

    frame = choose_frame(log.heading, walker, kind)
    if frame.kind == "walker" or all(point.local_m for point in log.heading.known):
        return KnownPlaces(frame, {})
    from pacewright.files.field_model import bundled_field_model
    from pacewright.ground.known_from_start import find_known_from_start

    model = bundled_field_model() if log.heading.declination_deg is None else None
    try:
        known = find_known_from_start(log, walker, model)
    except MissingComplaint as complaint:
        return KnownPlaces(frame, {}, (f"Places on the map are not used: {complaint}",))
    return KnownPlaces(frame, {}) if known is None else KnownPlaces(known.frame, known.placed)
