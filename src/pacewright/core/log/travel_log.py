"""The travel log: heading, legs, bearings, prose, struck-out entries.

A log keeps every line to the letter beside what it means. Stations are numbered from 0, the start;
station k is where leg k ends.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Final, TypeVar

from pacewright.core.log.doubted_numbers import check_doubts
from pacewright.core.log.log_heading import Heading
from pacewright.core.log.remarks import (
    Altitude,
    At,
    BackReading,
    Box,
    CrossStream,
    Estimated,
    Faces,
    Flat,
    Ground,
    LegSlope,
    NoStream,
    Remark,
    See,
    StationOn,
    Steepness,
    parse_remarks,
)
from pacewright.core.log.written_numbers import check_decimal_marks, read_azimuth, read_count
from pacewright.core.pace.walker import Slope
from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, raise_together

MOST_NAMES: Final = 12
_LEG_ONLY: Final = (At, BackReading, Box, Estimated, Ground, LegSlope, CrossStream, NoStream)
_ONCE: Final = (At, See, BackReading, Estimated, Ground, LegSlope, Faces, Steepness, Altitude)
_NOT_BOTH: Final = ((CrossStream, NoStream), (Faces, Flat))
R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Cells:
    """The three columns of a row, to the letter."""

    azimuth: str
    count: str
    notes: str


@dataclass(frozen=True, slots=True)
class _Row:
    cells: Cells
    remarks: tuple[Remark, ...]
    line: int | None = field(default=None, compare=False)
    raw: str | None = field(default=None, compare=False)

    def find(self, kind: type[R]) -> R | None:
        """The row's first remark of a kind, or None."""
        for remark in self.remarks:
            if isinstance(remark, kind):
                return remark
        return None


@dataclass(frozen=True, slots=True)
class Leg(_Row):
    """One azimuth held for one count.

    Attributes
    ----------
    azimuth_deg
        As read, in degrees, against the north of the heading.
    count
        As counted, in the unit of the heading; forward progress only where an obstacle was boxed.
    """

    azimuth_deg: float = field(kw_only=True)
    count: float = field(kw_only=True)

    @property
    def at_name(self) -> str | None:
        """The name of the marker at the leg's end."""
        at = self.find(At)
        return at.name if at else None

    @property
    def boxes(self) -> tuple[Box, ...]:
        """Obstacles boxed on this leg."""
        return tuple(r for r in self.remarks if isinstance(r, Box))

    @property
    def ground(self) -> str | None:
        """The class of ground named for the leg."""
        ground = self.find(Ground)
        return ground.name if ground else None

    @property
    def slope(self) -> Slope | None:
        """The lie of the leg."""
        slope = self.find(LegSlope)
        return slope.slope if slope else None


@dataclass(frozen=True, slots=True)
class Sighting(_Row):
    """A bearing from the station just reached to something not walked to."""

    azimuth_deg: float = field(kw_only=True)
    name: str = field(kw_only=True)


@dataclass(frozen=True, slots=True)
class Note(_Row):
    """A row of prose or of remarks about the station just reached."""


Row = Leg | Sighting | Note


@dataclass(frozen=True, slots=True)
class Page:
    """How a log that was read lay on its page, so that it can be written back to the letter.

    Attributes
    ----------
    delimiter, newline, mark, encoding
        What parts cells and rows, whether a byte order mark stood in front, and how letters were written.
    lines
        The page from top to bottom: a text for a line that is no row (heading, column line, blank),
        a number for the row of that place in `TravelLog.rows`.
    """

    delimiter: str = ","
    newline: str = "\n"
    mark: bool = False
    lines: tuple[str | int, ...] = ()
    encoding: str = "utf-8"


@dataclass(frozen=True, slots=True)
class TravelLog:
    """What the pencil wrote, and what it means.

    Attributes
    ----------
    heading
        What the heading says.
    rows
        Legs, bearings and notes in the order walked.
    page
        How it lay on its page; None for a log that was not read but made.
    legs
        The legs; leg k is `legs[k - 1]`.
    """

    heading: Heading
    rows: tuple[Row, ...]
    page: Page | None = field(default=None, compare=False)
    legs: tuple[Leg, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Pick the legs out once: they are asked for at every turn."""
        object.__setattr__(self, "legs", tuple(row for row in self.rows if type(row) is Leg))

    def sightings(self) -> Iterator[tuple[int, Sighting]]:
        """Each bearing with the station it was taken from."""
        station = 0
        for row in self.rows:
            if type(row) is Leg:
                station += 1
            elif type(row) is Sighting:
                yield station, row

    def station_names(self) -> tuple[str | None, ...]:
        """The name of every station, the start first."""
        return (self.heading.start, *(leg.at_name if leg.remarks else None for leg in self.legs))

    def name_of(self, station: int) -> str | None:
        """The name of one station; 0 is the start."""
        return self.legs[station - 1].at_name if station else self.heading.start

    def find_station(self, name_or_index: str, near: int | None = None) -> int:
        """The station that a name or a number means.

        Parameters
        ----------
        name_or_index
            A station's name, or its number; a name that is met several times means the visit closest
            along the log to `near` (by default the last station).

        Raises
        ------
        MissingComplaint
            The log has no such station.
        """
        names = self.station_names()
        wanted = unicodedata.normalize("NFC", " ".join(name_or_index.split()))
        from_station = len(names) - 1 if near is None else near
        # A log holds no two names that differ in their capitals alone.
        visits = [
            k
            for k, name in enumerate(names)
            if name and unicodedata.normalize("NFC", name).casefold() == wanted.casefold()
        ]
        if visits:
            return min(visits, key=lambda k: abs(k - from_station))
        if wanted.isdecimal() and len(wanted) < 8 and int(wanted) < len(names):
            return int(wanted)
        known = _few([name for name in names if name])
        raise MissingComplaint(
            f"the log has no station called {wanted[:60] or 'nothing'}",
            f"Give one of its names ({known}) or a number from 0 (the start) to {len(names) - 1}",
        )


def _few(names: list[str]) -> str:
    different = list(dict.fromkeys(names))
    more = f" and {len(different) - MOST_NAMES} more" if len(different) > MOST_NAMES else ""
    return (", ".join(different[:MOST_NAMES]) + more) or "none"


def compose_log(heading: Heading, rows: Iterable[Row], page: Page | None = None) -> TravelLog:
    """Put rows under a heading.

    Raises
    ------
    FormatComplaint
        There is no leg, or a name is spelled in two ways.
    """
    log = TravelLog(heading, tuple(rows), page)
    if not any(type(row) is Leg for row in log.rows):
        raise FormatComplaint(
            "there is no leg in this log",
            "Add rows below the heading: azimuth, count, notes, such as 305,240,",
        )
    _check_names(log)
    return log


def parse_row(cells: Cells, heading: Heading, line: int | None = None, raw: str | None = None) -> Row:
    """What one row means: a leg, a bearing, or a note.

    Parameters
    ----------
    cells
        The row as written.
    heading
        The log's heading, for its units.
    line, raw
        Where the row stands in its file, and the file's own text of it, if it came from one.

    Raises
    ------
    Complaint
        With line and column.
    """
    try:
        return _parse_row(cells, heading, line, raw)
    except Complaint as complaint:
        raise complaint.at(line=line) from None


def _parse_row(cells: Cells, heading: Heading, line: int | None, raw: str | None) -> Row:
    azimuth, count = cells.azimuth.strip(), cells.count.strip()
    wrong: list[Complaint] = []
    remarks = _gathered(wrong, lambda: parse_remarks(cells.notes, heading.azimuth_unit), "notes") or ()
    see = _gathered(wrong, lambda: _check_remarks(remarks)) if remarks else None
    if see is not None and not wrong:
        return _sighting(see, heading, _Row(cells, remarks, line, raw))
    if azimuth and count:
        azimuth_deg = _gathered(wrong, lambda: read_azimuth(azimuth, heading.azimuth_unit))
        paced = _gathered(wrong, lambda: read_count(count, heading.count_unit))
        raise_together(wrong)
        assert azimuth_deg is not None and paced is not None
        return Leg(cells, remarks, line, raw, azimuth_deg=azimuth_deg, count=paced)
    raise_together(wrong)
    if azimuth:
        read_azimuth(azimuth, heading.azimuth_unit)
        raise FormatComplaint(
            "this row has an azimuth and no count",
            "Write the count; if it is a bearing to something, add [see NAME] to the notes",
        ).at(column="count")
    if count:
        read_count(count, heading.count_unit)
        raise FormatComplaint("this row has a count and no azimuth", "Write the azimuth of the leg").at(
            column="azimuth"
        )
    for remark in remarks:
        if isinstance(remark, _LEG_ONLY):
            raise FormatComplaint(
                "this row has a remark about a leg, but no azimuth and no count",
                "Write the remark in the row of its leg",
            ).at(column="notes")
    return Note(cells, remarks, line, raw)


def _gathered(wrong: list[Complaint], read: Callable[[], R], column: str | None = None) -> R | None:
    try:
        return read()
    except Complaint as complaint:
        wrong.append(complaint.at(column=column))
        return None


def _sighting(see: See, heading: Heading, row: _Row) -> Sighting:
    if row.cells.count.strip():
        raise FormatComplaint(
            f"a bearing ([see {see.name}]) has no count",
            "Take the count away, or put leg and bearing into two rows",
        ).at(column="count")
    azimuth = row.cells.azimuth.strip()
    if not azimuth:
        raise FormatComplaint(f"the bearing to {see.name} has no azimuth", "Write it in the first column").at(
            column="azimuth"
        )
    if any(isinstance(remark, _LEG_ONLY) for remark in row.remarks):
        raise FormatComplaint(
            "this row is a bearing and holds a remark about a leg", "Write that remark in the row of its leg"
        ).at(column="notes")
    azimuth_deg = read_azimuth(azimuth, heading.azimuth_unit)
    return Sighting(row.cells, row.remarks, row.line, row.raw, azimuth_deg=azimuth_deg, name=see.name)


def _check_remarks(remarks: tuple[Remark, ...]) -> See | None:
    see = None
    for kind in _ONCE:
        found = [r for r in remarks if isinstance(r, kind)]
        if len(found) > 1:
            raise FormatComplaint(
                "this row says one thing twice (two remarks of one kind)", "Keep the one that is right"
            ).at(column="notes")
        if kind is See and found:
            see = found[0]
    _check_contradictions(remarks)
    check_doubts(remarks)
    return see if isinstance(see, See) else None


def _check_contradictions(remarks: tuple[Remark, ...]) -> None:
    lies = {r.feature for r in remarks if isinstance(r, StationOn)} - {"stream"}
    both = len(lies) > 1 or any(
        all(any(isinstance(r, kind) for r in remarks) for kind in pair) for pair in _NOT_BOTH
    )
    if both:
        raise FormatComplaint(
            "this row says two things of the ground that cannot both be", "Keep the one that is right"
        ).at(column="notes")


def check_numbers(rows: Iterable[Row]) -> None:
    """Refuse a number whose point may part thousands, where the log has decimal commas.

    Raises
    ------
    FormatComplaint
        With line and column.
    """
    check_decimal_marks(
        [
            (row.line, column, text.strip())
            for row in rows
            for column, text in (("azimuth", row.cells.azimuth), ("count", row.cells.count))
        ]
    )


def _name_in(row: Row) -> str | None:
    if type(row) is Sighting:
        return row.name
    return row.at_name if type(row) is Leg else None


def _check_names(log: TravelLog) -> None:
    spelled: dict[str, str] = {}
    wrong: list[Complaint] = []
    named: list[tuple[int | None, str | None]] = [(None, log.heading.start)] if log.heading.start else []
    named += [(None, point.name) for point in log.heading.known]
    named += [(row.line, _name_in(row)) for row in log.rows if row.remarks]
    for line, name in named:
        if name is None:
            continue
        # One name in two spellings would be two places, and a walk that comes back would not close.
        first = spelled.setdefault(unicodedata.normalize("NFKC", name).casefold(), name)
        if first != name:
            clash = FormatComplaint(
                f"{name} was written {first} before", "Write it the same way, or choose another name"
            )
            wrong.append(clash.at(line=line, column="notes"))
    raise_together(wrong)
