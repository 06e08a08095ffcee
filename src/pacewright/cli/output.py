"""Sentences, then a table, or --json; a file is written only where none stood, unless forced."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import click

from pacewright.exceptions import Complaint


@dataclass(frozen=True, slots=True)
class Table:
    """A table under the sentences: its heading and its rows, as texts."""

    heading: Sequence[str]
    rows: Sequence[Sequence[str]]


@dataclass(frozen=True, slots=True)
class Answer:
    """What a command says of one input.

    Attributes
    ----------
    data
        The keys of `--json`.
    sentences
        Plain sentences, a line each.
    tables
        Printed below them.
    finding
        True where the caller must look at something (exit code 1).
    """

    data: Mapping[str, Any]
    sentences: Sequence[str] = ()
    tables: Sequence[Table] = field(default=())
    finding: bool = False


def say(answer: Answer, as_json: bool) -> None:
    """Print one answer."""
    if as_json:
        _print_json(answer.data)
        return
    for sentence in answer.sentences:
        click.echo(sentence)
    for table in answer.tables:
        click.echo()
        click.echo(_lay_out(table))


def answer_each(files: Sequence[str], as_json: bool, work: Callable[[str], Answer]) -> int:
    """Answer for every file in order; one bad file does not stop the rest.

    Returns
    -------
    int
        Exit code: 2 when a file was refused, else 1 when one holds a finding, else 0.
    """
    code = 0
    for file in files:
        try:
            answer = work(file)
        except Complaint as complaint:
            _complain(complaint.at(file=file), file, as_json)
            code = 2
            continue
        if as_json:
            _print_json({"file": file, **answer.data})
        else:
            if len(files) > 1:
                click.echo(f"{file}:")
            say(answer, as_json=False)
            if len(files) > 1:
                click.echo()
        code = max(code, int(answer.finding))
    return code


def write_out(path: str, data: bytes, force: bool) -> None:
    """Write a result file; refuse to write over one unless `force`, and over what was read always."""
    from pacewright.files.disk import write_bytes

    write_bytes(path, data, force)


def _complain(complaint: Complaint, file: str, as_json: bool) -> None:
    if as_json:
        where = complaint.where
        _print_json(
            {
                "file": file,
                "complaint": str(complaint),
                "what": complaint.what,
                "do": complaint.do,
                "line": where.line,
                "column": where.column,
            }
        )
    else:
        # What was said of the files before must come first, also through two pipes.
        sys.stdout.flush()
        click.echo(str(complaint), err=True)


def _print_json(data: Mapping[str, Any]) -> None:
    from pacewright.files.result_json import encode

    click.echo(encode(data).decode("utf-8"))


def _lay_out(table: Table) -> str:
    from tabulate import tabulate

    return tabulate(table.rows, headers=table.heading, tablefmt="simple", disable_numparse=True)
