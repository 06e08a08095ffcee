"""Options that put a log on the map, and doing so."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pacewright.cli.measures import Metres
from pacewright.exceptions import Complaint
from pacewright.files.known_places import open_model

if TYPE_CHECKING:
    from pacewright.ground.grid_text import Position
    from pacewright.ground.track import Track

__all__ = ["open_model", "open_start", "open_truth", "start_options"]

F = TypeVar("F", bound=Callable[..., Any])


def start_options(command: F) -> F:
    """Take `--start` and `--start-sd-m`."""
    command = click.option(
        "--start-sd-m",
        type=Metres(0.01, 100_000),
        default=10.0,
        show_default=True,
        help="Standard deviation of --start, in metres.",
    )(command)
    return click.option(
        "--start",
        "start_text",
        metavar="PLACE",
        help='Where the log starts: "37.4521 -119.2984", "11N 296700 4147508" or 11SKB9670047507.',
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


def open_truth(path: str) -> Track:
    """Read the recorded track of a walk."""
    from pacewright.files.gpx_track import read_track

    return read_track(path)
