"""GPX as it streams by: read in pieces, and what it may hold is bounded.

A document type declaration is refused outright, in whatever letters the file is, so no entity is ever
expanded.
"""

from __future__ import annotations

from typing import BinaryIO, Final, Protocol
from xml.parsers import expat

from pacewright.exceptions import Complaint, FormatComplaint

MOST_POINTS: Final = 1_000_000
"""Of one file: eleven days at a point a second."""

MOST_NAMES: Final = 2_000
"""Different element and attribute names; GPX has some sixty, receivers add their own."""

MOST_DEPTH: Final = 64
LONGEST_ELEMENT: Final = 1 << 20
"""A tag, comment or attribute may not be longer, in bytes: it is held whole while it is read."""

GIVE: Final = "Give a GPX 1.1 file"
_PIECE: Final = 1 << 16


class Hearer(Protocol):
    """What takes a GPX file element by element; names come without their namespace."""

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take the beginning of an element."""

    def end(self, name: str) -> None:
        """Take the end of an element."""

    def characters(self, content: str) -> None:
        """Take letters, or a part of them."""


def stream(file: BinaryIO, hearer: Hearer) -> None:
    """Read a GPX file to its end, and tell element by element.

    Raises
    ------
    FormatComplaint
        The file is no GPX, declares a document type, or is built as no track is; with its line.
    """
    parser = expat.ParserCreate(namespace_separator=" ")
    guard = _Guard(hearer)
    parser.StartDoctypeDeclHandler = _refuse_doctype
    parser.StartElementHandler = guard.start
    parser.EndElementHandler = guard.end
    parser.CharacterDataHandler = hearer.characters
    fed = 0
    try:
        while piece := file.read(_PIECE):
            parser.Parse(piece, False)
            fed += len(piece)
            # UTF-16 counts twice: the parser's index and ours are both in bytes of the file.
            if fed - max(0, parser.CurrentByteIndex) > LONGEST_ELEMENT:
                raise FormatComplaint("one element of this file is longer than any of a track", GIVE)
        parser.Parse(b"", True)
    except expat.ExpatError as bad:
        raise FormatComplaint(f"this is not a whole XML file ({expat.errors.messages[bad.code]})", GIVE).at(
            line=bad.lineno
        ) from None
    except (LookupError, ValueError):
        raise FormatComplaint("this file is in an encoding that cannot be read", "Save it in UTF-8") from None
    except Complaint as complaint:
        raise complaint.at(line=parser.CurrentLineNumber) from None


def place_of(attributes: dict[str, str]) -> tuple[float, float]:
    """Latitude and longitude of a point, in degrees.

    Raises
    ------
    FormatComplaint
        They are missing, no numbers, or off the Earth.
    """
    try:
        latitude, longitude = float(attributes["lat"]), float(attributes["lon"])
    except (KeyError, ValueError):
        raise FormatComplaint("a point has no readable lat and lon", GIVE) from None
    if -90 <= latitude <= 90 and -180 <= longitude <= 180:
        return latitude, longitude
    swapped = -90 <= longitude <= 90 and -180 <= latitude <= 180
    raise FormatComplaint(
        f"a point lies off the Earth (lat {latitude:g}, lon {longitude:g})",
        "Latitude and longitude are swapped: lat goes to 90 only" if swapped else "Check lat and lon",
    )


def _refuse_doctype(*_: object) -> None:
    raise FormatComplaint("this file declares a document type, as no GPX does", GIVE)


class _Guard:
    """Refuses what the parser would have to remember for ever: it keeps names and open elements."""

    def __init__(self, hearer: Hearer) -> None:
        self._hearer = hearer
        self._names: set[str] = set()
        self._depth = 0

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        name = tag.rpartition(" ")[2]
        if self._depth == 0 and name != "gpx":
            raise FormatComplaint(f"this is XML, but no GPX (it begins with {name[:30]})", GIVE)
        self._depth += 1
        self._names.add(tag)
        self._names.update(attributes)
        if len(self._names) > MOST_NAMES or self._depth > MOST_DEPTH:
            raise FormatComplaint("this file is built as no track is", GIVE)
        self._hearer.start(name, attributes)

    def end(self, tag: str) -> None:
        self._depth -= 1
        self._hearer.end(tag.rpartition(" ")[2])
