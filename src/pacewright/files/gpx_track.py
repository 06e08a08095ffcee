"""Recorded tracks from GPX, of any size in little memory."""

from __future__ import annotations

import datetime
import math
from array import array
from pathlib import Path
from typing import BinaryIO, Final

import numpy as np

from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, Where
from pacewright.files.disk import note_input, reason_of
from pacewright.files.gpx_stream import MOST_POINTS, place_of, stream
from pacewright.ground.track import Track

_LONGEST_TIME: Final = 64


def read_track(path: str) -> Track:
    """Read the track of a GPX file: all its track points in order, or those of its route.

    Raises
    ------
    FormatComplaint
        The file is no GPX, declares a document type, or holds more than any walk.
    MissingComplaint
        There are fewer than two points.
    """
    note_input(path)
    try:
        with Path(path).open("rb") as file:
            return read_track_from(file)
    except (OSError, ValueError) as refused:
        reason = reason_of(refused)
        raise FormatComplaint(
            f"this file cannot be read ({reason})", "Check the name and that you may read it", Where(path)
        ) from None
    except Complaint as complaint:
        raise complaint.at(file=path) from None


def read_track_from(file: BinaryIO) -> Track:
    """Read a track from an open GPX file."""
    points = _Points()
    stream(file, points)
    return points.track()


class _Points:
    """Gathers points while the file streams by; track points go before route points."""

    def __init__(self) -> None:
        # Latitude and longitude in turn, 16 bytes a point.
        self.places = {"trkpt": array("d"), "rtept": array("d")}
        self.time_s = array("d")
        self._time: str | None = None
        self._in_point = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name in self.places:
            self.places[name].extend(place_of(attributes))
            self._in_point = name == "trkpt"
            if self._in_point:
                self.time_s.append(math.nan)
            if sum(map(len, self.places.values())) > 2 * MOST_POINTS:
                raise FormatComplaint(
                    f"this file holds more than {MOST_POINTS} points", "Give the track of one walk"
                )
        elif name == "time" and self._in_point:
            self._time = ""

    def end(self, name: str) -> None:
        if name == "time" and self._time is not None:
            self.time_s[-1] = _seconds(self._time)
            self._time = None
        elif name == "trkpt":
            self._in_point = False

    def characters(self, content: str) -> None:
        if self._time is not None and len(self._time) < _LONGEST_TIME:
            self._time += content

    def track(self) -> Track:
        in_track = len(self.places["trkpt"]) > 0
        places = np.array(self.places["trkpt" if in_track else "rtept"]).reshape(-1, 2)
        if len(places) < 2:
            raise MissingComplaint(
                "this file holds no track of two points or more", "Give the recorded track of the walk"
            )
        time_s = np.array(self.time_s) if in_track else np.full(len(places), np.nan)
        return Track(places[:, 0].copy(), places[:, 1].copy(), time_s)


def _seconds(written: str) -> float:
    try:
        moment = datetime.datetime.fromisoformat(written.strip())
        return (moment if moment.tzinfo else moment.replace(tzinfo=datetime.UTC)).timestamp()
    except (ValueError, OverflowError):
        return math.nan
