"""Sheets to the printer: the paper that is asked for, one PDF, and what could not be printed as written."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pacewright.cli.options import json_option, out_options
from pacewright.cli.output import Answer, answer_each, say, say_complaint, write_out
from pacewright.exceptions import Complaint, OutputComplaint, Where

if TYPE_CHECKING:
    from pacewright.sheets.paper import Paper, PaperName, Sheet

F = TypeVar("F", bound=Callable[..., Any])

PAPERS = click.Choice(["a4", "letter", "a5", "pocket", "pocket-letter"])


def paper_options(function: F) -> F:
    """Take `--paper`, `--binding`, `--out`, `--force` and `--json`."""
    for decorate in (
        json_option,
        out_options("the sheet (PDF)", default="the kind's name with .pdf"),
        click.option("--binding", is_flag=True, help="Room to bind at, of pages printed on both sides."),
        click.option("--paper", "paper_name", type=PAPERS, default="a4", show_default=True, help="Paper."),
    ):
        function = decorate(function)
    return function


def print_one(kind: str, make: Callable[[Paper], Sheet | list[Sheet]], **paper: Any) -> int:
    """Print one sheet, or the sheets that belong together."""
    on = _paper(paper["paper_name"], paper["binding"])
    made = make(on)
    target, (notes, *_) = _write(kind, made if isinstance(made, list) else [made], on, **paper)
    _say_notes(notes, paper["as_json"])
    say(_told(target, kind, on, notes), paper["as_json"])
    return 0


def print_each(kind: str, files: Sequence[str], make: Callable[[str, Paper], Sheet], **paper: Any) -> int:
    """Put the sheets of several files into one PDF; a bad file is complained of and left out."""
    on = _paper(paper["paper_name"], paper["binding"])
    made = [_made(file, on, make) for file in files]
    sheets = [one for one in made if not isinstance(one, Complaint)]
    target, notes = _write(kind, sheets, on, **paper) if sheets else ("", [])
    results, of_sheets = iter(made), iter(notes)

    def work(_: str) -> Answer:
        one = next(results)
        if isinstance(one, Complaint):
            raise one
        return Answer({"title": one.title, **_told(target, kind, on, next(of_sheets)).data})

    if paper["as_json"]:
        return answer_each(files, True, work)
    # Standard output may be where the PDF goes: nothing but complaints and notes is said of single files.
    for one in made:
        if isinstance(one, Complaint):
            say_complaint(one)
    for file, of_sheet in zip(
        (file for file, one in zip(files, made, strict=True) if not isinstance(one, Complaint)),
        notes,
        strict=True,
    ):
        _say_notes([f"{file}: {note}" for note in of_sheet], as_json=False)
    if sheets:
        say(_told(target, kind, on, ()), as_json=False)
    return 2 if len(sheets) < len(made) else 0


def _made(file: str, on: Paper, make: Callable[[str, Paper], Sheet]) -> Sheet | Complaint:
    try:
        return make(file, on)
    except Complaint as complaint:
        return complaint.at(file=file)


def _told(target: str, kind: str, on: Paper, notes: Sequence[str]) -> Answer:
    printed = [] if target == "-" else [f"Printed: {target}"]
    return Answer({"sheet": target, "kind": kind, "paper": on.name, "notes": list(notes)}, printed)


def _say_notes(notes: Sequence[str], as_json: bool) -> None:
    for note in () if as_json else notes:
        click.echo(note, err=True)


def _paper(name: PaperName, binding: bool) -> Paper:
    from pacewright.sheets.paper import PAPERS as KNOWN
    from pacewright.sheets.paper import bound

    return bound(KNOWN[name]) if binding else KNOWN[name]


def pdf_name(target: str) -> str:
    """The name of a sheet's file, or refuse it.

    Raises
    ------
    OutputComplaint
        It does not end in .pdf.
    """
    if target != "-" and not target.lower().endswith(".pdf"):
        raise OutputComplaint("a sheet is a PDF", "End the file name in .pdf", Where(target))
    return target


def _write(
    kind: str,
    sheets: Sequence[Sheet],
    on: Paper,
    *,
    out: str | None,
    force: bool,
    as_json: bool,
    paper_name: PaperName,
    binding: bool,
) -> tuple[str, list[list[str]]]:
    """Write the PDF; give the name it was written under, and of every sheet what is to be noted."""
    import datetime

    from pacewright.sheets.typesetting import print_sheets
    from pacewright.wording.sheets import say_by_number

    target = out or f"{kind}.pdf"
    if target == "-" and as_json:
        raise click.UsageError("--out - and --json both want standard output; give --out a file name.")
    target = pdf_name(target)
    printed = print_sheets(sheets, on, printed_on=datetime.date.today().isoformat())
    write_out(target, printed.pdf, force)
    return target, [[say_by_number(letters)] if letters else [] for letters in printed.by_number]
