"""pacewright read: a pencilled log page from its photograph."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pacewright.cli.options import json_option, out_options
from pacewright.cli.output import Answer, Table, say, say_complaint, write_out
from pacewright.exceptions import Complaint

if TYPE_CHECKING:
    from pacewright.course.course import Course
    from pacewright.reading.card_logs import ReadWalk
    from pacewright.reading.framed import Frame
    from pacewright.reading.log_rows import LogRow
    from pacewright.reading.page_read import ReadPage


@click.command()
@click.argument("photos", nargs=-1, required=True, metavar="PHOTO...")
@click.option(
    "--unsure",
    is_flag=True,
    help="With --out or --cards: write a log even where a digit is in doubt, and mark it.",
)
@click.option(
    "--cards",
    "folder",
    metavar="FOLDER",
    help="Write the log of every course card into FOLDER, and handed.csv for `course grade`.",
)
@click.option(
    "--course",
    "course_file",
    metavar="COURSE.toml",
    help="With --cards: take north and start of every log from the course.",
)
@click.option("--title", default="", help="Heading of the log: its title.")
@click.option(
    "--start-name", "start", default="", metavar="NAME", help="Heading of the log: where it starts."
)
@click.option(
    "--azimuth",
    "azimuth",
    default="",
    show_default="magnetic degrees",
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
    folder: str | None,
    course_file: str | None,
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

    PHOTO is a picture (JPEG, PNG) of a page that `pacewright sheet log` printed, or of a card of `pacewright
    course sheet cards`, any way up, a page each; or a PDF of scans.
    Exit code 1: somebody must look at the page. Notes are not read.
    """
    if unsure and out is None and folder is None:
        raise click.UsageError("--unsure goes with --out or --cards.")
    if out is not None and folder is not None:
        raise click.UsageError("--out writes one log, --cards one for each card: give one of them.")
    course = _course(course_file, folder, is_told=bool(start.strip() or azimuth.strip()))
    heading = _heading(title, start, azimuth or "magnetic degrees", unit)
    pages, unread = _read(photos, _frame(corners, columns, rows))
    if not pages:
        return 2
    from pacewright.reading.card_logs import walks_of

    walks = walks_of(pages, heading)
    if course is not None:
        walks, others = _of_course(walks, course)
        unread += others
    if out is not None and len(walks) > 1:
        raise click.UsageError("These pages are of several cards: give --cards FOLDER instead of --out.")
    wanted = [one for one in walks if one.rows and (unsure or one.is_sure)]
    if folder is not None:
        wanted = [one for one in wanted if one.card]
        _write_cards(folder, walks, wanted, _card_headings(walks, heading, course), force)
    elif out is not None and not (unread and not unsure):
        for one in wanted:
            write_out(out, _text(one, heading), force)
    else:
        wanted = []
    say(_answer(walks, out, folder, [one.card for one in wanted], unread), as_json)
    is_doubtful = any(one.doubtful or (folder is not None and not one.is_sure) for one in walks)
    return 2 if unread else int(is_doubtful)


def _course(file: str | None, folder: str | None, *, is_told: bool) -> Course | None:
    if file is None:
        return None
    if folder is None:
        raise click.UsageError("--course goes with --cards.")
    if is_told:
        raise click.UsageError(
            "--course tells north and start of every card: leave --azimuth and --start-name out."
        )
    from pacewright.cli.course_options import open_course

    return open_course(file)


def _text(walk: ReadWalk, heading: list[str]) -> bytes:
    """The log of a walk; its heading tells which rows were read from which photograph."""
    from pacewright.core.log.page_sources import format_source
    from pacewright.reading.log_rows import log_text

    runs = groupby(walk.rows, key=lambda one: one[0])
    sources = [format_source(photo, [row.number for _, row in run]) for photo, run in runs]
    return log_text([row for _, row in walk.rows], [*heading, *sources])


def _card_headings(walks: list[ReadWalk], heading: list[str], course: Course | None) -> dict[int, list[str]]:
    """The heading of the log of every card, by its number: its title tells the card."""
    from pacewright.course.card_heading import card_heading

    titles = [line.removeprefix("title: ") for line in heading if line.startswith("title: ")]
    others = [line for line in heading if not line.startswith("title: ")]
    return {
        one.card: [
            f"title: {', '.join([*titles, f'card {one.card}'])}",
            *(others if course is None else card_heading(course, course.card(one.card))),
        ]
        for one in walks
        if one.card
    }


def _write_cards(
    folder: str,
    walks: list[ReadWalk],
    wanted: list[ReadWalk],
    headings: dict[int, list[str]],
    force: bool,
) -> None:
    """Write the logs of cards and the table that names them, or none of them if a file is in the way."""
    from pacewright.files.disk import check_free, make_folder
    from pacewright.reading.card_logs import card_log_name, handed_in

    cards = [one.card for one in walks if one.card]
    if not cards:
        return
    table = handed_in(cards, [one.card for one in wanted])
    texts = {card_log_name(one.card): _text(one, headings[one.card]) for one in wanted}
    files = {str(Path(folder) / name): text for name, text in (("handed.csv", table), *texts.items())}
    for path in files:
        check_free(path, force)
    make_folder(folder)
    for path, text in files.items():
        write_out(path, text, force)


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


def _read(photos: tuple[str, ...], frame: Frame | None) -> tuple[list[tuple[str, ReadPage]], list[str]]:
    """Read every photograph; those that cannot be read are said and named, the others read all the same."""
    from pacewright.files.disk import read_bytes
    from pacewright.reading.framed import read_framed
    from pacewright.reading.page_read import read_pages

    pages: list[tuple[str, ReadPage]] = []
    unread = []
    for photo in photos:
        try:
            data = read_bytes(photo)
            read = read_pages(data) if frame is None else [read_framed(data, frame)]
        except Complaint as complaint:
            say_complaint(complaint.at(file=photo))
            unread.append(photo)
            continue
        for number, page in enumerate(read, start=1):
            name = photo if len(read) == 1 else f"{photo}, page {number}"
            if isinstance(page, Complaint):
                say_complaint(page.at(file=photo))
                unread.append(name)
            else:
                pages.append((name, page))
    return pages, unread


def _of_course(walks: list[ReadWalk], course: Course) -> tuple[list[ReadWalk], list[str]]:
    """The walks whose card the course has; those of others are said, and their photographs named."""
    kept, unread = [], []
    for one in walks:
        try:
            if one.card:
                course.card(one.card)
            kept.append(one)
        except Complaint as complaint:
            say_complaint(complaint.at(file=one.pages[0][0]))
            unread += [photo for photo, _ in one.pages]
    return kept, unread


def _answer(
    walks: list[ReadWalk], out: str | None, folder: str | None, written: list[int], unread: list[str]
) -> Answer:
    from pacewright.reading.page_read import SURE
    from pacewright.wording.page_reading import (
        say_card_logs,
        say_cards,
        say_lacking,
        say_read,
        say_where_log_is,
    )

    rows = [(one.card, photo, row) for one in walks for photo, row in one.rows]
    doubtful = [one for one in rows if one[2].doubts]
    cards = [one.card for one in walks if one.card]
    uncarded = [photo for one in walks if not one.card for photo, _ in one.pages]
    kept = [one.card for one in walks if one.card and one.card not in written]
    is_written = bool(written) and not kept
    sentences = [say_read(len(rows), len(doubtful)), *say_cards(cards, uncarded if cards else [])]
    if folder is not None:
        sentences += say_card_logs(folder, written, kept, uncarded)
    elif rows and (written or not unread):
        sentences.append(say_where_log_is(out, is_written, len(doubtful), len(walks)))
    if unread:
        sentences.append(say_lacking(unread, out if folder is None else None, is_written=bool(written)))
    for one in walks:
        sentences += _unread(one, is_one=len(walks) == 1)
    looked = Table(
        ["photo", "row", "look at"],
        [[photo, str(row.number), doubt] for _, photo, row in doubtful for doubt in row.doubts],
    )
    shown = Table(
        [*(["card"] if cards else []), "row", "azimuth", "count", "notes"],
        [
            [*([str(card or "")] if cards else []), str(row.number), *_cells(row)]
            for card, _, row in rows
            if card not in written
        ],
    )
    keys: dict[str, Any] = {
        "sure_from": SURE,
        "written": is_written,
        "not_read": unread,
        "rows": [_keys(photo, row) for _, photo, row in rows],
        "pages": [
            {"photo": photo, "page": page.page, "card": one.card or None, "rows": len(page.rows)}
            for one in walks
            for photo, page in one.pages
        ],
    }
    tables = [*([looked] if doubtful else []), *([shown] if shown.rows else [])]
    return Answer(keys, sentences, tables, finding=bool(doubtful or (folder is not None and kept)))


def _unread(walk: ReadWalk, *, is_one: bool) -> list[str]:
    """What no machine reads of a walk, with its card where there are several."""
    from pacewright.wording.page_reading import say_not_read, say_order

    noted = [row.number for _, row in walk.rows if row.has_note]
    named = [row.number for _, row in walk.rows if row.is_named]
    said = [*say_not_read(noted, named), *say_order(walk.is_sorted)]
    whose = f"Card {walk.card}" if walk.card else "Without a card"
    return said if is_one else [f"{whose}: {sentence}" for sentence in said]


def _cells(row: LogRow) -> list[str]:
    return [row.cells.azimuth, row.cells.count, row.cells.notes]


def _keys(photo: str, row: LogRow) -> dict[str, Any]:
    return {
        "photo": photo,
        "row": row.number,
        "azimuth": row.cells.azimuth,
        "count": row.cells.count,
        "notes": row.cells.notes,
        "look_at": list(row.doubts),
    }
