"""Options that put a log on the map, and doing so."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pacewright.exceptions import Complaint

if TYPE_CHECKING:
    from pacewright.core.travel_log import TravelLog
    from pacewright.core.walker import Walker
    from pacewright.ground.declination import FieldModel
    from pacewright.ground.grid_text import Position
    from pacewright.ground.map_frame import PlacedLog
    from pacewright.ground.track import Track

F = TypeVar("F", bound=Callable[..., Any])


def start_options(command: F) -> F:
    """Take `--start` and `--start-sd-m`."""
    command = click.option(
        "--start-sd-m",
        type=click.FloatRange(0.01, 100_000),
        default=10.0,
        show_default=True,
        help="Standard deviation of --start, in metres.",
    )(command)
    return click.option(
        "--start",
        "start_text",
        metavar="PLACE",
        help='Where the log starts: "37.4521 -119.2984", "38N 444140 3684706" or 38SMB4414084706.',
    )(command)


def open_start(text: str | None) -> Position | None:
    """Read the place of `--start`."""
    from pacewright.ground.grid_text import parse_place

    if text is None:
        return None
    try:
        return parse_place(text)
    except Complaint as complaint:
        raise type(complaint)(f"--start: {complaint.what}", complaint.do) from None


def open_placed(log: TravelLog, walker: Walker, start: Position | None, start_sd_m: float) -> PlacedLog:
    """Put a log on the map, with the magnetic model that ships with the tool."""
    from pacewright.ground.map_frame import place_log

    return place_log(log, walker, open_model(log), start=start, start_sd_m=start_sd_m)


def open_model(log: TravelLog) -> FieldModel | None:
    """Read the magnetic model that ships with the tool, where the log has a date to ask it about."""
    from pacewright.files.field_model import bundled_field_model

    return bundled_field_model() if log.heading.date is not None else None


def open_truth(path: str) -> Track:
    """Read the recorded track of a walk."""
    from pacewright.files.gpx_track import read_track

    return read_track(path)
