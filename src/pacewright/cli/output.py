"""The answer first, then what goes with it, or --json; no file is written over unless forced.

`--brief` prints at most three lines, `--explain` adds what the figures rest on.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import click

from pacewright.cli.angles import asked_for_dms, table_with_minutes, with_minutes
from pacewright.cli.terminal import lay_out, with_signs, wrap
from pacewright.exceptions import Complaint

DETAIL: Final = "pacewright.detail"
"""Where the context of a command keeps whether `--brief` or `--explain` was given."""
MOST_LINES_IN_BRIEF: Final = 3


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
        Plain sentences, a line each, the answer first; a caution last.
    tables
        Printed below them.
    finding
        True where the caller must look at something (exit code 1).
    explained
        What the answer rests on and what its words mean: printed with `--explain` alone.
    brief
        What `--brief` says, the caution last, as much of it as fits; the sentences where there is nothing.
    """

    data: Mapping[str, Any]
    sentences: Sequence[str] = ()
    tables: Sequence[Table] = field(default=())
    finding: bool = False
    explained: Sequence[str] = ()
    brief: Sequence[str] = ()


def say(answer: Answer, as_json: bool) -> None:
    """Print one answer, as much of it as was asked for."""
    if as_json:
        _print_json(_with_sentences(answer))
        return
    detail = _detail()
    if detail == "brief":
        _echo(line for line in _in_brief(answer))
        return
    # A caution stands last: what explains the answer goes before it.
    last = 1 if answer.sentences and is_caution(answer.sentences[-1]) else 0
    cut = len(answer.sentences) - last
    explained = answer.explained if detail == "explain" else ()
    for sentence in (*answer.sentences[:cut], *explained, *answer.sentences[cut:]):
        _echo(wrap(_shown(sentence)))
    for table in answer.tables:
        heading, rows = [str(head) for head in table.heading], [[*map(str, row)] for row in table.rows]
        if asked_for_dms():
            heading, rows = table_with_minutes(heading, rows)
        signed = [[with_signs(cell) for cell in row] for row in rows]
        _echo(["", *lay_out([with_signs(head) for head in heading], signed)])


def _shown(sentence: str) -> str:
    return with_signs(with_minutes(sentence) if asked_for_dms() else sentence)


def _with_sentences(answer: Answer) -> dict[str, Any]:
    """The keys of an answer, and under `sentences` what is said of it on the screen."""
    return {**answer.data, "sentences": [sentence for sentence in answer.sentences if sentence.strip()]}


def is_caution(sentence: str) -> bool:
    """Whether a sentence is one that `--brief` keeps wherever it stands."""
    return sentence.startswith(("Caution:", "Take care:"))


def _detail() -> str:
    context = click.get_current_context(silent=True)
    return "" if context is None else context.meta.get(DETAIL, "")


def _in_brief(answer: Answer) -> list[str]:
    """At most three lines: the answer, and the warning that must not be lost."""
    said = [sentence for sentence in answer.brief or answer.sentences if sentence.strip()]
    kept = [sentence for sentence in said if is_caution(sentence)][-1:]
    lines: list[str] = []
    below = [line for sentence in kept for line in wrap(_shown(sentence))]
    for sentence in (one for one in said if one not in kept):
        more = wrap(_shown(sentence))
        if len(lines) + len(more) + len(below) > MOST_LINES_IN_BRIEF:
            # Before the first that fits, one too long is passed over: half a sentence is no answer.
            if lines:
                break
            continue
        lines += more
    return [*(lines or wrap(_shown(said[0]))[:1] if said else []), *below][:MOST_LINES_IN_BRIEF]


def _echo(lines: Iterable[str], *, err: bool = False) -> None:
    # A name in a log must not drive the terminal that it is printed on.
    from pacewright.core.plain_text import clean_text

    for line in lines:
        click.echo(clean_text(line), err=err)


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
            _print_json({"file": file, **_with_sentences(answer)})
        else:
            if len(files) > 1:
                click.echo(f"{file}:")
            say(answer, as_json=False)
            if len(files) > 1:
                click.echo()
        code = max(code, int(answer.finding))
    return code


def write_picture(path: str, svg: str, force: bool) -> None:
    """Write a drawing as the kind of file that its name says, and say which letters no font could show."""
    from pathlib import PurePath

    from pacewright.drawing.render import letters_without_font, render
    from pacewright.wording.sheets import say_by_number

    suffix = PurePath(path).suffix
    write_out(path, render(svg, suffix), force)
    letters = () if suffix.lower() == ".svg" else letters_without_font(svg)
    if letters:
        click.echo(f"{path}: {say_by_number(letters)}", err=True)


def write_out(path: str, data: bytes, force: bool) -> None:
    """Write a result file; refuse to write over one unless `force`, and over what was read always."""
    from pacewright.files.disk import write_bytes

    write_bytes(path, data, force)


def _complain(complaint: Complaint, file: str, as_json: bool) -> None:
    if as_json:
        from pacewright.files.complaint_json import complaint_keys

        _print_json({"file": file, **complaint_keys(complaint)})
    else:
        # What was said of the files before must come first, also through two pipes.
        sys.stdout.flush()
        say_complaint(complaint)


def say_complaint(complaint: Complaint) -> None:
    """Say all that is wrong on standard error: wrapped on a terminal, a line a sentence elsewhere."""
    from pacewright.wording.complaints import say_complaints

    for sentence in say_complaints(complaint):
        lines = wrap(with_signs(sentence, sys.stderr)) if sys.stderr.isatty() else [sentence]
        _echo(lines, err=True)


def _print_json(data: Mapping[str, Any]) -> None:
    from pacewright.files.result_json import encode

    click.echo(encode(data).decode("utf-8"))
