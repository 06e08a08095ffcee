"""Put a log on the map with the magnetic model that ships with the tool."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker
    from pacewright.ground.declination import FieldModel
    from pacewright.ground.grid_text import Position
    from pacewright.ground.map_frame import PlacedLog


def open_placed(log: TravelLog, walker: Walker, start: Position | None, start_sd_m: float) -> PlacedLog:
    """Put a log on the map, with the magnetic model that ships with the tool."""
    from pacewright.ground.map_frame import place_log

    return place_log(log, walker, open_model(log), start=start, start_sd_m=start_sd_m)


def open_model(log: TravelLog) -> FieldModel | None:
    """Read the magnetic model that ships with the tool, where the log has a date to ask it about."""
    from pacewright.files.field_model import bundled_field_model

    return bundled_field_model() if log.heading.date is not None else None
