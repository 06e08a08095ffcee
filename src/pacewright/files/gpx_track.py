"""Recorded tracks from GPX.

Reading streams: a file of any size is read in pieces, and what it may hold is bounded. A document
type declaration is refused outright, so no entity is ever expanded.
"""

from __future__ import annotations

import datetime
import math
from array import array
from pathlib import Path
from typing import BinaryIO, Final
from xml.parsers import expat

import numpy as np

from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, Where
from pacewright.files.disk import note_input
from pacewright.ground.track import Track

MOST_POINTS: Final = 1_000_000
"""Eleven days at a point a second."""

MOST_NAMES: Final = 2_000
"""Different element and attribute names; GPX has some sixty, receivers add their own."""

MOST_DEPTH: Final = 64
LONGEST_ELEMENT: Final = 1 << 20
"""A tag, comment or attribute may not be longer, in bytes: it is held whole while it is read."""

_PIECE: Final = 1 << 16
_LONGEST_TIME: Final = 64
_GIVE: Final = "Give a GPX 1.1 file"


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
        reason = getattr(refused, "strerror", None) or str(refused)
        raise FormatComplaint(
            f"this file cannot be read ({reason})", "Check the name and that you may read it", Where(path)
        ) from None
    except Complaint as complaint:
        raise complaint.at(file=path) from None


def read_track_from(file: BinaryIO) -> Track:
    """Read a track from an open GPX file."""
    points = _Points()
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartDoctypeDeclHandler = _refuse_doctype
    parser.StartElementHandler = points.start
    parser.EndElementHandler = points.end
    parser.CharacterDataHandler = points.characters
    fed = 0
    try:
        while piece := file.read(_PIECE):
            parser.Parse(piece, False)
            fed += len(piece)
            # UTF-16 counts twice: the parser's index and ours are both in bytes of the file.
            if fed - max(0, parser.CurrentByteIndex) > LONGEST_ELEMENT:
                raise FormatComplaint("one element of this file is longer than any of a track", _GIVE)
        parser.Parse(b"", True)
    except expat.ExpatError as bad:
        raise FormatComplaint(f"this is not a whole XML file ({expat.errors.messages[bad.code]})", _GIVE).at(
            line=bad.lineno
        ) from None
    except (LookupError, ValueError):
        raise FormatComplaint("this file is in an encoding that cannot be read", "Save it in UTF-8") from None
    except Complaint as complaint:
        raise complaint.at(line=parser.CurrentLineNumber) from None
    return points.track()


def _refuse_doctype(*_: object) -> None:
    raise FormatComplaint("this file declares a document type, as no GPX does", _GIVE)


class _Points:
    """Gathers points while the file streams by; track points go before route points."""

    def __init__(self) -> None:
        # Latitude and longitude in turn, 16 bytes a point.
        self.places = {"trkpt": array("d"), "rtept": array("d")}
        self.time_s = array("d")
        self.names: set[str] = set()
        self.depth = 0
        self._time: str | None = None
        self._in_point = False

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        name = tag.rpartition(" ")[2]
        if self.depth == 0 and name != "gpx":
            raise FormatComplaint(f"this is XML, but no GPX (it begins with {name[:30]})", _GIVE)
        self.depth += 1
        self._refuse_too_much(tag, attributes)
        if name in self.places:
            self.places[name].extend(_place(attributes))
            self._in_point = name == "trkpt"
            if self._in_point:
                self.time_s.append(math.nan)
            if sum(map(len, self.places.values())) > 2 * MOST_POINTS:
                raise FormatComplaint(
                    f"this file holds more than {MOST_POINTS} points", "Give the track of one walk"
                )
        elif name == "time" and self._in_point:
            self._time = ""

    def end(self, tag: str) -> None:
        self.depth -= 1
        name = tag.rpartition(" ")[2]
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

    def _refuse_too_much(self, tag: str, attributes: dict[str, str]) -> None:
        # The parser remembers every different name and every open element.
        self.names.add(tag)
        self.names.update(attributes)
        if len(self.names) > MOST_NAMES or self.depth > MOST_DEPTH:
            raise FormatComplaint("this file is built as no track is", _GIVE)


def _place(attributes: dict[str, str]) -> tuple[float, float]:
    try:
        latitude, longitude = float(attributes["lat"]), float(attributes["lon"])
    except (KeyError, ValueError):
        raise FormatComplaint("a point has no readable lat and lon", _GIVE) from None
    if -90 <= latitude <= 90 and -180 <= longitude <= 180:
        return latitude, longitude
    swapped = -90 <= longitude <= 90 and -180 <= latitude <= 180
    raise FormatComplaint(
        f"a point lies off the Earth (lat {latitude:g}, lon {longitude:g})",
        "Latitude and longitude are swapped: lat goes to 90 only" if swapped else "Check lat and lon",
    )


def _seconds(written: str) -> float:
    try:
        moment = datetime.datetime.fromisoformat(written.strip())
        return (moment if moment.tzinfo else moment.replace(tzinfo=datetime.UTC)).timestamp()
    except (ValueError, OverflowError):
        return math.nan
