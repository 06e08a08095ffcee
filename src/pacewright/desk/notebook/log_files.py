"""A kept log as files: the same bytes that the commands write from the same log."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from pacewright.answers.estimate import Estimate
from pacewright.core.log.travel_log import Cells, TravelLog
from pacewright.core.log.typed_page import TypedPage
from pacewright.desk.models import KeptLog
from pacewright.desk.notebook.keeping import page_of, state_of
from pacewright.desk.notebook.page_changes import PageState
from pacewright.desk.notebook.page_reading import estimate_of, known_of, read_page, standing_rows, walker_of
from pacewright.desk.serving.habits import habits_of
from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint
from pacewright.files.csv_table import with_decimal_comma
from pacewright.files.log_csv import read_log
from pacewright.files.page_csv import write_page
from pacewright.files.station_files import (
    ENDINGS,
    ON_THE_MAP_ONLY,
    STATION_FILES,
    find_placed,
    write_from_start,
    write_on_the_map,
)

PICTURES: Final = ("svg", "png", "pdf")
KINDS: Final = {
    "log": ".csv",
    "stations": ENDINGS["csv"],
    "geojson": ENDINGS["geojson"],
    "gpx": ENDINGS["gpx"],
    "gpkg": ENDINGS["gpkg"],
    **{kind: f".{kind}" for kind in PICTURES},
}
"""Every kind of file that a log is handed out as, with the ending of its name."""


def log_csv(log: KeptLog) -> bytes:
    """The travel log as CSV: the very bytes that came in where the page is still the same.

    A page that was typed on since keeps the layout that it came in; struck rows stand as prose.
    """
    came_as = None if log.came_as is None else bytes(log.came_as)
    came = None
    if came_as is not None:
        try:
            came = read_log(came_as)
        except Complaint:
            came = None
        if came is not None and _is_same(page_of(came), state_of(log)):
            return came_as
    return typed_csv(log, came)


def typed_csv(log: KeptLog, came: TravelLog | None = None) -> bytes:
    """The travel log as CSV from what stands on its page, in the layout of the log it once came as."""
    rows = [(Cells(row["azimuth"], row["count"], row["notes"]), bool(row["struck"])) for row in log.rows]
    return write_page(log.heading.splitlines(), rows, came)


def _is_same(one: PageState, other: PageState) -> bool:
    return one.heading == other.heading and _cells(one) == _cells(other)


def _cells(state: PageState) -> list[tuple[str, str, str, bool]]:
    return [(row["azimuth"], row["count"], row["notes"], bool(row["struck"])) for row in state.rows]


def whole_log(log: KeptLog) -> TravelLog:
    """The log that a page holds, all of it.

    Paper and files for others are made of a whole page or not at all: a row left out in silence would be
    missed by nobody.

    Raises
    ------
    Complaint
        A row or the heading is not understood, or there is no leg yet.
    """
    page = read_page(log)
    if page.heading_complaint is not None:
        wrong = page.heading_complaint
        raise type(wrong)(f"the heading is not understood: {wrong.what}", wrong.do)
    if not page.is_whole:
        raise _row_complaint(log, page)
    if page.log is None:
        raise MissingComplaint("there is no leg on this page yet", "Type the first one: azimuth, count")
    return read_log(log_csv(log))


def _row_complaint(log: KeptLog, page: TypedPage) -> Complaint:
    wrong = page.rows[page.understood].complaint
    row = standing_rows(log)[page.understood]
    number = 1 + next(at for at, one in enumerate(log.rows) if one["id"] == row["id"])
    if wrong is None:
        return FormatComplaint(f"row {number} is not understood", "Correct it on the page")
    return type(wrong)(f"row {number} is not understood: {wrong.what}", wrong.do)


def log_file(log: KeptLog, kind: str, read: Mapping[str, str]) -> bytes:
    """A log as a file of one of `KINDS`.

    `read` holds the habits of whoever reads it: pictures and the table of stations follow them; what only
    machines read stays as machines read it.

    Raises
    ------
    Complaint
        The page is not understood as a whole, or that kind of file needs the map.
    """
    if kind == "log":
        return log_csv(log)
    estimate, habits = whole_estimate(log), habits_of(read)
    if kind in PICTURES:
        from pacewright.drawing.render import render
        from pacewright.drawing.svg import each_text
        from pacewright.drawing.walk_picture import draw_log

        return render(each_text(draw_log(estimate), habits.figures), f".{kind}")
    chosen = next(one for one in STATION_FILES if one == ("csv" if kind == "stations" else kind))
    placed, _ = find_placed(estimate, is_needed=chosen in ON_THE_MAP_ONLY or bool(log.start_place))
    data = (
        write_from_start(estimate, chosen) if placed is None else write_on_the_map(estimate, placed, chosen)
    )
    return with_decimal_comma(data) if kind == "stations" and habits.decimals == "comma" else data


def whole_estimate(log: KeptLog) -> Estimate:
    """A log put together with all that is known of it, its place on the map as well.

    Raises
    ------
    Complaint
        It is not understood as a whole.
    """
    return estimate_of(log, whole_log(log), walker_of(log))


def is_placed(log: KeptLog) -> bool:
    """Whether a log can be put on the map as it stands."""
    from pacewright.core.adjust.standing import with_a_pace

    try:
        read, walker = whole_log(log), walker_of(log)
        known = known_of(log, read, walker)
    except Complaint:
        return False
    has_pace = not with_a_pace(read, walker)[1] or bool(known.placed.places)
    return known.anchor is not None and has_pace
