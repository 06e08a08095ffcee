"""pacewright read: a pencilled log page from its photograph."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from pacewright.cli.options import json_option, out_options
from pacewright.cli.output import Answer, Table, say, say_complaint, write_out
from pacewright.exceptions import Complaint

if TYPE_CHECKING:
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
@out_options("the log, every digit being sure,")
@json_option
def command(
    photos: tuple[str, ...],
    unsure: bool,
    title: str,
    start: str,
    azimuth: str,
    unit: str,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Read pencilled log pages from photographs, and write the log only if every digit is sure.

    PHOTO is a picture (JPEG, PNG) of a page that `pacewright sheet log` printed, any way up, a page each.
    Exit code 1: somebody must look at the page. Notes are not read.
    """
    if unsure and out is None:
        raise click.UsageError("--unsure goes with --out.")
    heading = _heading(title, start, azimuth, unit)
    pages, code = _read(photos)
    if code:
        return code
    from pacewright.reading.log_rows import in_order, log_rows, log_text

    ordered, is_sorted = in_order(pages)
    rows = [(photo, row) for photo, page in ordered for row in log_rows(page, heading)]
    doubtful = [row for _, row in rows if row.doubts]
    is_written = out is not None and bool(rows) and (unsure or not doubtful)
    if out is not None and is_written:
        write_out(out, log_text([row for _, row in rows], heading), force)
    say(_answer(ordered, rows, is_sorted, out, is_written), as_json)
    return int(bool(doubtful))


def _heading(title: str, start: str, azimuth: str, unit: str) -> list[str]:
    from pacewright.core.log.log_heading import parse_heading

    told = [("title", title), ("azimuth", azimuth), ("count", unit), ("start", start)]
    lines = [(key, " ".join(words.split())) for key, words in told if words.strip()]
    parse_heading([(at, key, words) for at, (key, words) in enumerate(lines, start=1)])
    return [f"{key}: {words}" for key, words in lines]


def _read(photos: tuple[str, ...]) -> tuple[list[tuple[str, ReadPage]], int]:
    """Read every photograph; one that cannot be read is said, and the others are read all the same."""
    from pacewright.files.disk import read_bytes
    from pacewright.reading.page_read import read_page

    pages, code = [], 0
    for photo in photos:
        try:
            pages.append((photo, read_page(read_bytes(photo))))
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
