"""Stations and legs to GPX 1.1, and tracks from it.

Reading streams: a file of any size is read in pieces, and what it may hold is bounded. A document
type declaration is refused outright, so no entity is ever expanded.
"""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import BinaryIO, Final
from xml.parsers import expat
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, Where
from pacewright.ground.map_frame import PlacedLog
from pacewright.ground.track import Track

MOST_POINTS: Final = 1_000_000
"""Eleven days at a point a second."""
_PIECE: Final = 1 << 16
_LONGEST_TEXT: Final = 64
_NAMESPACE: Final = "http://www.topografix.com/GPX/1/1"


def write_gpx(title: str, placed: PlacedLog) -> bytes:
    """Write a placed log as GPX 1.1: a waypoint for every named station, and the legs as a track."""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<gpx version="1.1" creator="pacewright" xmlns="{_NAMESPACE}">',
        f"<metadata><name>{_text(title)}</name></metadata>",
    ]
    names = placed.reckoning.names
    for k, name in enumerate(names):
        if name:
            sd_m = float(np.sqrt(np.trace(placed.covariance_m2[k]) / 2.0))
            said = f"station {k}, standard deviation {sd_m:.0f} m each way"
            lines.append(f"<wpt {_at(placed, k)}><name>{_text(name)}</name><cmt>{said}</cmt></wpt>")
    lines.append(f"<trk><name>{_text(title)}</name><trkseg>")
    lines += [f"<trkpt {_at(placed, k)}></trkpt>" for k in range(len(names))]
    lines += ["</trkseg></trk>", "</gpx>", ""]
    return "\n".join(lines).encode("utf-8")


def read_track(path: str) -> Track:
    """Read the track of a GPX file: all its track points in order, or those of its route.

    Raises
    ------
    FormatComplaint
        The file is no GPX, declares a document type, or holds more points than any walk.
    MissingComplaint
        There are fewer than two points.
    """
    try:
        with Path(path).open("rb") as file:
            return read_track_from(file)
    except OSError as refused:
        raise FormatComplaint(
            f"this file cannot be read ({refused.strerror})",
            "Check the name and that you may read it",
            Where(path),
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
    try:
        while piece := file.read(_PIECE):
            parser.Parse(piece, False)
        parser.Parse(b"", True)
    except expat.ExpatError as bad:
        raise FormatComplaint(
            f"this is not a whole XML file ({expat.errors.messages[bad.code]})", "Give a GPX 1.1 file"
        ).at(line=bad.lineno) from None
    except Complaint as complaint:
        raise complaint.at(line=parser.CurrentLineNumber) from None
    return points.track()


def _refuse_doctype(*_: object) -> None:
    raise FormatComplaint("this file declares a document type, as no GPX does", "Give a GPX 1.1 file")


class _Points:
    """Gathers points while the file streams by; track points go before route points."""

    def __init__(self) -> None:
        self.places: dict[str, list[tuple[float, float]]] = {"trkpt": [], "rtept": []}
        self.times: list[datetime.datetime | None] = []
        self.is_gpx = False
        self._point: str | None = None
        self._time: str | None = None

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        name = tag.rpartition(" ")[2]
        if not self.is_gpx:
            if name != "gpx":
                raise FormatComplaint(
                    f"this is XML, but no GPX (it begins with {name[:30]})", "Give a GPX 1.1 file"
                )
            self.is_gpx = True
        if name in self.places:
            self._point = name
            self.places[name].append(_place(attributes))
            if name == "trkpt":
                self.times.append(None)
            if sum(map(len, self.places.values())) > MOST_POINTS:
                raise FormatComplaint(
                    f"this file holds more than {MOST_POINTS} points", "Give the track of one walk"
                )
        elif name == "time" and self._point == "trkpt":
            self._time = ""

    def end(self, tag: str) -> None:
        name = tag.rpartition(" ")[2]
        if name == "time" and self._time is not None:
            self.times[-1] = _time(self._time)
            self._time = None
        elif name == self._point:
            self._point = None

    def characters(self, content: str) -> None:
        if self._time is not None and len(self._time) < _LONGEST_TEXT:
            self._time += content

    def track(self) -> Track:
        places = self.places["trkpt"] or self.places["rtept"]
        if len(places) < 2:
            raise MissingComplaint(
                "this file holds no track of two points or more", "Give the recorded track of the walk"
            )
        times = tuple(time for time in self.times if time is not None) if self.places["trkpt"] else ()
        array = np.array(places)
        return Track(array[:, 0], array[:, 1], times if len(times) == len(places) else ())


def _place(attributes: dict[str, str]) -> tuple[float, float]:
    try:
        latitude, longitude = float(attributes["lat"]), float(attributes["lon"])
    except (KeyError, ValueError):
        raise FormatComplaint("a point has no readable lat and lon", "Give a GPX 1.1 file") from None
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        raise FormatComplaint(
            f"a point lies off the Earth (lat {latitude:g}, lon {longitude:g})",
            "Check whether latitude and longitude are swapped",
        )
    return latitude, longitude


def _time(written: str) -> datetime.datetime | None:
    try:
        moment = datetime.datetime.fromisoformat(written.strip())
    except ValueError:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=datetime.UTC)


def _at(placed: PlacedLog, station: int) -> str:
    latitude, longitude = placed.latitude_deg[station], placed.longitude_deg[station]
    return f"lat={quoteattr(f'{latitude:.7f}')} lon={quoteattr(f'{longitude:.7f}')}"


def _text(content: str) -> str:
    # XML 1.0 has no place for control characters.
    return escape("".join(c for c in content if c >= " " and c not in "\ufffe\uffff"))
