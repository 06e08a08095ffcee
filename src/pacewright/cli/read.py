"""pacewright read: a pencilled log page from its photograph."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any

import click

from pacewright.cli.options import json_option, out_options
from pacewright.cli.output import Answer, Table, say, say_complaint, write_out
from pacewright.exceptions import Complaint

if TYPE_CHECKING:
    from pacewright.reading.framed import Frame
    from pacewright.reading.log_rows import LogRow
    from pacewright.reading.page_read import ReadPage


@click.command()
@click.argument("photos", nargs=-1, required=True, metavar="PHOTO...")
@click.option("--unsure", is_flag=True, help="With --out: write the log though a digit is in doubt, marked.")
@click.option("--title", default="", help="Heading of the log: its title.")
@click.option(
    "--start-name", "start", default="", metavar="NAME", help="Heading of the log: where it starts."
)
@click.option(
    "--azimuth",
    "azimuth",
    default="magnetic degrees",
    show_default=True,
    metavar="WORDS",
    help="Heading of the log: north and unit of its azimuths.",
)
@click.option(
    "--count",
    "unit",
    type=click.Choice(["paces", "steps", "metres"]),
    default="paces",
    show_default=True,
    help="Heading of the log: what was counted.",
)
@click.option(
    "--corners",
    nargs=4,
    metavar="X,Y X,Y X,Y X,Y",
    help="A page not printed here: corners of its rows in points of the picture, from upper left clockwise.",
)
@click.option(
    "--columns",
    metavar="A,B",
    help="With --corners: shares of the width at which the count and the notes begin, such as 0.3,0.55.",
)
@click.option(
    "--rows", type=int, default=0, help="With --corners: how many rows there are, if they are not found."
)
@out_options("the log, every digit being sure,")
@json_option
def command(
    photos: tuple[str, ...],
    unsure: bool,
    title: str,
    start: str,
    azimuth: str,
    unit: str,
    corners: tuple[str, ...] | None,
    columns: str | None,
    rows: int,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Read pencilled log pages from photographs, and write the log only if every digit is sure.

    PHOTO is a picture (JPEG, PNG) of a page that `pacewright sheet log` printed, any way up, a page each; or
    a PDF of scans.
    Exit code 1: somebody must look at the page. Notes are not read.
    """
    if unsure and out is None:
        raise click.UsageError("--unsure goes with --out.")
    heading = _heading(title, start, azimuth, unit)
    pages, code = _read(photos, _frame(corners, columns, rows))
    if code:
        return code
    from pacewright.reading.log_rows import in_order, log_rows, log_text

    ordered, is_sorted = in_order(pages)
    read = [(photo, row) for photo, _, row in log_rows(ordered, heading)]
    doubtful = [row for _, row in read if row.doubts]
    is_written = out is not None and bool(read) and (unsure or not doubtful)
    if out is not None and is_written:
        text = log_text([row for _, row in read], [*heading, *_sources(read)])
        write_out(out, text, force)
    say(_answer(ordered, read, is_sorted, out, is_written), as_json)
    return int(bool(doubtful))


def _sources(rows: list[tuple[str, LogRow]]) -> list[str]:
    """Heading lines that tell which rows were read from which photograph."""
    from pacewright.core.log.page_sources import format_source

    runs = groupby(rows, key=lambda one: one[0])
    return [format_source(photo, [row.number for _, row in run]) for photo, run in runs]


def _heading(title: str, start: str, azimuth: str, unit: str) -> list[str]:
    from pacewright.core.log.log_heading import parse_heading

    told = [("title", title), ("azimuth", azimuth), ("count", unit), ("start", start)]
    lines = [(key, " ".join(words.split())) for key, words in told if words.strip()]
    parse_heading([(at, key, words) for at, (key, words) in enumerate(lines, start=1)])
    return [f"{key}: {words}" for key, words in lines]


def _frame(corners: tuple[str, ...] | None, columns: str | None, rows: int) -> Frame | None:
    """The frame of a page that was not printed here; None where there is none."""
    if not corners:
        if columns is not None or rows:
            raise click.UsageError("--columns and --rows go with --corners.")
        return None
    if columns is None:
        raise click.UsageError("--corners goes with --columns.")
    from pacewright.reading.framed import Frame

    first, second = _pair(columns, "--columns", "0.3,0.55")
    return Frame(tuple(_pair(one, "--corners", "120,310") for one in corners), (first, second), rows)


def _pair(text: str, option: str, such: str) -> tuple[float, float]:
    try:
        first, second = (float(part) for part in text.split(","))
    except ValueError:
        raise click.UsageError(f"{option}: {text} is no pair of numbers such as {such}.") from None
    return first, second


def _read(photos: tuple[str, ...], frame: Frame | None) -> tuple[list[tuple[str, ReadPage]], int]:
    """Read every photograph; one that cannot be read is said, and the others are read all the same."""
    from pacewright.files.disk import read_bytes
    from pacewright.reading.framed import read_framed
    from pacewright.reading.page_read import read_pages

    pages, code = [], 0
    for photo in photos:
        try:
            data = read_bytes(photo)
            read = read_pages(data) if frame is None else [read_framed(data, frame)]
            one = len(read) == 1
            pages += [
                (photo if one else f"{photo}, page {number}", page)
                for number, page in enumerate(read, start=1)
            ]
        except Complaint as complaint:
            say_complaint(complaint.at(file=photo))
            code = 2
    return pages, code


def _answer(
    pages: list[tuple[str, ReadPage]],
    rows: list[tuple[str, LogRow]],
    is_sorted: bool,
    out: str | None,
    is_written: bool,
) -> Answer:
    from pacewright.reading.page_read import SURE
    from pacewright.wording.page_reading import (
        say_not_read,
        say_order,
        say_read,
        say_where_log_is,
    )

    doubtful = [(photo, row) for photo, row in rows if row.doubts]
    sentences = [say_read(len(rows), len(doubtful))]
    if rows:
        sentences.append(say_where_log_is(out, is_written, len(doubtful)))
    sentences += say_not_read(
        [row.number for _, row in rows if row.has_note], [row.number for _, row in rows if row.is_named]
    )
    sentences += say_order(is_sorted)
    looked = Table(
        ["photo", "row", "look at"],
        [[photo, str(row.number), doubt] for photo, row in doubtful for doubt in row.doubts],
    )
    shown = Table(
        ["row", "azimuth", "count", "notes"],
        [[str(row.number), row.cells.azimuth, row.cells.count, row.cells.notes] for _, row in rows],
    )
    keys: dict[str, Any] = {
        "sure_from": SURE,
        "written": is_written,
        "rows": [_keys(photo, row) for photo, row in rows],
        "pages": [{"photo": photo, "page": page.page, "rows": len(page.rows)} for photo, page in pages],
    }
    tables = [*([looked] if doubtful else []), *([] if is_written or not rows else [shown])]
    return Answer(keys, sentences, tables, finding=bool(doubtful))


def _keys(photo: str, row: LogRow) -> dict[str, Any]:
    return {
        "photo": photo,
        "row": row.number,
        "azimuth": row.cells.azimuth,
        "count": row.cells.count,
        "notes": row.cells.notes,
        "look_at": list(row.doubts),
    }
