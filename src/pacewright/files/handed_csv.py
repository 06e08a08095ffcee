"""What a class handed in, from CSV: a row a learner."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, TypeVar

from pacewright.core.log.log_heading import Heading
from pacewright.core.log.travel_log import Cells, Leg, TravelLog, compose_log
from pacewright.core.log.written_numbers import read_count
from pacewright.core.pace.walker import Walker
from pacewright.course.course import Course
from pacewright.course.finish import Handed
from pacewright.course.taping import taped_offset
from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, ValueComplaint
from pacewright.files.csv_table import TableRow, read_table, shown_cell

Opened = TypeVar("Opened")

COLUMNS: Final = (
    "learner",
    "card",
    "log",
    "finished_at",
    "east_m",
    "north_m",
    "along_m",
    "off_m",
    "minutes",
    "pace_count",
    "walker",
    "words",
    "counts",
)
_KIND: Final = "a table of what a class handed in: " + ",".join(COLUMNS)


def read_handed(
    data: bytes,
    file: str | None = None,
    *,
    course: Course,
    open_log: Callable[[str], TravelLog],
    open_walker: Callable[[str], Walker],
) -> tuple[Handed, ...]:
    """Read what a class handed in.

    Columns: `learner` and `card`; `log` and `walker`, names of files; `finished_at`, a stake or post;
    `east_m` and `north_m`, taped from there, or `along_m` and `off_m` (along the base line and to the right
    of it); `minutes`; `pace_count`, paces per 100 m; `words`, written `Post = WORD; Post = WORD`; `counts`,
    paces from stake to stake of a pace course, a blank between two, where there is no log. All but the first
    two may be left out or empty.

    Parameters
    ----------
    data, file
        The file's bytes and its name.
    course
        What was walked: cards and posts must be its own.
    open_log, open_walker
        Give the log and the walker of a file that a row names.

    Raises
    ------
    Complaint
        With line and column; a complaint of a log keeps the log's own file.
    """
    try:
        rows = read_table(data, _KIND, COLUMNS, ("learner", "card"))
        return tuple(_handed(row, course, open_log, open_walker) for row in rows)
    except Complaint as complaint:
        raise complaint.at(file=file) from None


@dataclass(frozen=True, slots=True)
class ClassTable:
    """What a class handed in, the good with the bad.

    Attributes
    ----------
    handed
        What can be graded.
    nothing
        Learners whose row holds nothing but name and card, in the order of the table.
    refused
        Why a row cannot be graded, each with its line.
    """

    handed: tuple[Handed, ...]
    nothing: tuple[str, ...]
    refused: tuple[Complaint, ...]


def read_class(
    data: bytes,
    file: str | None = None,
    *,
    course: Course,
    open_log: Callable[[str], TravelLog],
    open_walker: Callable[[str], Walker],
) -> ClassTable:
    """Read what a class handed in as `read_handed` does; one bad row does not stop the others.

    Raises
    ------
    Complaint
        The table as a whole cannot be read.
    """
    try:
        rows = read_table(data, _KIND, COLUMNS, ("learner", "card"))
    except Complaint as complaint:
        raise complaint.at(file=file) from None
    handed, nothing, refused = [], [], []
    for row in rows:
        try:
            if not any(cell.strip() for name, cell in row.cells.items() if name not in ("learner", "card")):
                nothing.append(row.needed("learner"))
            else:
                handed.append(_handed(row, course, open_log, open_walker))
        except Complaint as complaint:
            refused.append(complaint.at(file=file))
    return ClassTable(tuple(handed), tuple(nothing), tuple(refused))


def beside(folder: Path, name: str) -> str:
    """The path of a file that a table names: a plain one, in the folder of the table or below it.

    Raises
    ------
    FormatComplaint
        It is none, or lies elsewhere.
    """
    try:
        whole, inside = (folder / name).resolve(), folder.resolve()
        is_there = whole.is_relative_to(inside) and (not whole.exists() or whole.is_file())
    except (OSError, ValueError, RuntimeError):
        is_there = False
    if not is_there:
        raise FormatComplaint(
            f"{shown_cell(name)} is no plain file in the folder of this table", "Put it beside the table"
        )
    return str(folder / name)


def _handed(
    row: TableRow,
    course: Course,
    open_log: Callable[[str], TravelLog],
    open_walker: Callable[[str], Walker],
) -> Handed:
    cells = row.cells
    log = _opened(open_log, row, "log") or _counted(row, course)
    walker = _opened(open_walker, row, "walker") or Walker()
    pace_count = _pace_count(row)
    try:
        return Handed(
            learner=row.needed("learner"),
            card=_card(row, course),
            log=log,
            finished_at=_post(cells["finished_at"], course, row, "finished_at"),
            finish_m=_taped(row, course),
            words=_words(row, course),
            walker=walker if pace_count is None else replace(walker, per_100_m=pace_count),
            minutes=row.number("minutes"),
        )
    except Complaint as complaint:
        raise complaint.at(line=row.line) from None


def _counted(row: TableRow, course: Course) -> TravelLog | None:
    """The counts of a pace course as a log; None where none are given."""
    texts = row.cells["counts"].replace(";", " ").split()
    if not texts:
        return None
    legs = course.card(_card(row, course)).legs
    if course.kind != "pace" or len(texts) > len(legs):
        raise ValueComplaint(
            f"{len(texts)} counts do not go with this card",
            f"Write at most {len(legs)}, and only for a pace course; elsewhere name the log",
        ).at(line=row.line, column="counts")
    try:
        counts = [read_count(text, "paces") for text in texts]
    except Complaint as complaint:
        raise complaint.at(line=row.line, column="counts") from None
    rows = [
        Leg(Cells(f"{leg.azimuth_deg:g}", text, ""), (), azimuth_deg=leg.azimuth_deg, count=count)
        for leg, text, count in zip(legs, texts, counts, strict=False)
    ]
    return compose_log(Heading(azimuth_reference=course.azimuth_reference), rows)


def _opened(opener: Callable[[str], Opened], row: TableRow, column: str) -> Opened | None:
    name = row.cells[column]
    try:
        return opener(name) if name else None
    except Complaint as complaint:
        # What is wrong inside a file has that file's own place.
        raise complaint if complaint.where.file else complaint.at(line=row.line, column=column) from None


def _post(name: str, course: Course, row: TableRow, column: str) -> str | None:
    """The course's own spelling of a post's name; capitals do not matter."""
    if not name:
        return None
    for post in course.posts:
        if post.name.casefold() == name.casefold():
            return post.name
    known = ", ".join(post.name for post in course.posts)
    raise MissingComplaint(f"the course has no post called {name[:40]}", f"Use one of: {known}").at(
        line=row.line, column=column
    )


def _card(row: TableRow, course: Course) -> int:
    text = row.needed("card")
    if not text.isdecimal() or len(text) > 6:
        raise ValueComplaint(f"{text[:40]} is not the number of a card", "Write a number from 1 on").at(
            line=row.line, column="card"
        )
    try:
        return course.card(int(text)).number
    except MissingComplaint as complaint:
        raise complaint.at(line=row.line, column="card") from None


def _pace_count(row: TableRow) -> float | None:
    count = row.number("pace_count")
    if count is not None and not 10.0 <= count <= 300.0:
        raise ValueComplaint(
            f"{count:g} is not a pace count", "Write paces (two steps each) per 100 m, such as 62.5"
        ).at(line=row.line, column="pace_count")
    return count


def _taped(row: TableRow, course: Course) -> tuple[float, float] | None:
    grid, base = _pair(row, "east_m", "north_m"), _pair(row, "along_m", "off_m")
    if grid is not None and base is not None:
        raise FormatComplaint("the finish is taped in two ways", "Keep one of them").at(
            line=row.line, column="along_m"
        )
    return grid if base is None else taped_offset(course, *base)


def _pair(row: TableRow, first: str, second: str) -> tuple[float, float] | None:
    one, other = row.number(first), row.number(second)
    if one is None and other is None:
        return None
    if one is None or other is None:
        raise FormatComplaint(
            f"only one of {first} and {second} is given", "Write both; 0 where nothing was off that way"
        ).at(line=row.line, column=first if one is None else second)
    return one, other


def _words(row: TableRow, course: Course) -> dict[str, str]:
    words = {}
    for part in filter(None, (one.strip() for one in row.cells["words"].split(";"))):
        post, mark, word = (piece.strip() for piece in part.partition("="))
        if not (post and mark and word):
            raise FormatComplaint(
                f"{part[:40]} is no word of a post", "Write post = word, and ; between two of them"
            ).at(line=row.line, column="words")
        words[_post(post, course, row, "words") or post] = word
    return words
