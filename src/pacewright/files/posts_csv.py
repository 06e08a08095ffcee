"""Posts of a course and land that is barred, from CSV: metres on the course, or places on the map."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from pacewright.course.barred_land import BarredArea
from pacewright.course.course import Post
from pacewright.course.map_origin import MapOrigin
from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, ValueComplaint
from pacewright.files.csv_table import TableRow, read_table
from pacewright.ground.grid_text import Position, parse_place

POST_COLUMNS: Final = ("name", "east_m", "north_m", "place", "sd_m", "word", "note")
BARRED_COLUMNS: Final = ("name", "kind", "east_m", "north_m", "place")
LEAST_SD_M: Final = 1.0
"""How well a post is known where nothing is said of it (assumed)."""


def read_posts(
    data: bytes, file: str | None = None, *, lay: Callable[[Position], MapOrigin]
) -> tuple[tuple[Post, ...], MapOrigin | None]:
    """Read the posts of a course.

    Columns: `name`; `east_m` and `north_m`, or `place` (as the heading of a log takes one); `sd_m`, how well
    the place is known; `word`, what is written on the post; `note`.

    Parameters
    ----------
    data, file
        The file's bytes and its name.
    lay
        Gives the origin of a course whose first post lies at a place.

    Returns
    -------
    posts, origin
        The origin is None where the posts are told in metres.

    Raises
    ------
    Complaint
        With line and column.
    """
    try:
        rows = read_table(data, f"a table of posts: {','.join(POST_COLUMNS)}", POST_COLUMNS, ("name",))
        origin = lay(_position(rows[0])) if rows[0].cells["place"] else None
        return tuple(_post(row, origin) for row in rows), origin
    except Complaint as complaint:
        raise complaint.at(file=file) from None


def read_barred(data: bytes, file: str | None = None, *, origin: MapOrigin | None) -> tuple[BarredArea, ...]:
    """Read danger areas and water: a row a corner, in order; rows of one name make one area or line.

    Columns: `name`; `kind`, `area` or `line` (which must not be crossed); `east_m` and `north_m`, or `place`.

    Raises
    ------
    Complaint
        With line and column.
    """
    try:
        kind = f"a table of barred land: {','.join(BARRED_COLUMNS)}"
        rows = read_table(data, kind, BARRED_COLUMNS, ("name", "kind"))
        named: dict[str, list[TableRow]] = {}
        for row in rows:
            named.setdefault(row.needed("name"), []).append(row)
        return tuple(_barred(name, corners, origin) for name, corners in named.items())
    except Complaint as complaint:
        raise complaint.at(file=file) from None


def _post(row: TableRow, origin: MapOrigin | None) -> Post:
    sd_m = row.number("sd_m")
    where = _where(row, origin)
    try:
        return Post(
            name=row.needed("name"),
            place_m=where,
            sd_m=LEAST_SD_M if sd_m is None else sd_m,
            note=row.cells["note"],
            word=row.cells["word"],
        )
    except Complaint as complaint:
        raise complaint.at(line=row.line) from None


def _barred(name: str, corners: list[TableRow], origin: MapOrigin | None) -> BarredArea:
    kinds = {row.cells["kind"].casefold() for row in corners}
    if kinds not in ({"area"}, {"line"}):
        raise ValueComplaint(
            f"{name[:60]} is neither an area nor a line", "Write area or line, the same in every row of it"
        ).at(line=corners[0].line, column="kind")
    try:
        return BarredArea(name, tuple(_where(row, origin) for row in corners), kinds == {"line"})
    except Complaint as complaint:
        raise complaint.at(line=corners[0].line) from None


def _where(row: TableRow, origin: MapOrigin | None) -> tuple[float, float]:
    east, north = row.number("east_m"), row.number("north_m")
    if row.cells["place"]:
        if east is not None or north is not None:
            raise FormatComplaint("this row has a place and metres as well", "Keep one of them").at(
                line=row.line
            )
        if origin is None:
            raise FormatComplaint(
                "this row tells a place, and the first post metres", "Tell all of them in one way"
            ).at(line=row.line, column="place")
        return origin.course_m(_position(row))
    if origin is not None:
        raise FormatComplaint(
            "this row tells no place, and the first post does", "Tell all of them in one way"
        ).at(line=row.line, column="place")
    if east is None or north is None:
        raise MissingComplaint(
            "this row does not tell where it is", "Fill in east_m and north_m, or place"
        ).at(line=row.line, column="east_m")
    return east, north


def _position(row: TableRow) -> Position:
    try:
        return parse_place(row.cells["place"])
    except Complaint as complaint:
        raise complaint.at(line=row.line, column="place") from None
