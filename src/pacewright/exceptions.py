"""Every complaint the tool can make: what is wrong, where, what to do.

`exceptions` and not `errors`: in this trade an *error* is the ordinary scatter of counting and of
holding an azimuth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

LONGEST_SENTENCE: Final = 700
_NO_CONTROLS: Final = {code: f"\\x{code:02x}" for code in (*range(32), *range(127, 160))} | {
    code: f"\\u{code:04x}" for code in (0x2028, 0x2029)
}


def how_to_install(extra: str) -> str:
    """What brings the libraries of an extra, for whoever has the package and whoever has its source."""
    return f'Install it with: {pip_line(extra)} (in a folder of the source: pip install ".[{extra}]")'


def pip_line(extra: str) -> str:
    """The line that installs an extra of the installed package."""
    return f'pip install "pacewright[{extra}]"'


@dataclass(frozen=True, slots=True)
class Where:
    """The place of a complaint: file, line (from 1) and column (the name a reader sees)."""

    file: str | None = None
    line: int | None = None
    column: str | None = None

    def __str__(self) -> str:
        """The place as it stands before a complaint."""
        parts = [self.file] if self.file else []
        if self.line is not None:
            parts.append(f"line {self.line}")
        if self.column:
            parts.append(f"column {self.column}")
        return ", ".join(parts)


class Complaint(Exception):
    """What is wrong, where, and what to do; the base of all that the tool refuses.

    Parameters
    ----------
    what
        What is wrong, one sentence without its full stop.
    do
        What the reader can do about it, one sentence without its full stop.
    where
        File, line and column, as far as they are known.

    Attributes
    ----------
    others
        What else is wrong with the same file, in order, where it was read on (`raise_together`).
    """

    others: tuple[Complaint, ...] = ()

    def __init__(self, what: str, do: str, where: Where | None = None) -> None:
        super().__init__(what, do, where)
        self.what = what
        self.do = do
        self.where = where or Where()

    def __str__(self) -> str:
        """The complaint as one line: where, what, what to do."""
        place = str(self.where)
        return _one_line(f"{place}: " if place else "") + self._said

    @property
    def sentence(self) -> str:
        """The complaint without its place, for a page that shows it there: it begins with a capital."""
        return _begun(self._said)

    @property
    def placed_sentence(self) -> str:
        """The complaint with its place, for a page: it begins with a capital, or with the file's own name."""
        return str(self) if self.where.file else _begun(str(self))

    @property
    def _said(self) -> str:
        return _one_line(f"{_shortened(self.what)}. {_shortened(self.do)}.")

    def at(self, *, file: str | None = None, line: int | None = None, column: str | None = None) -> Complaint:
        """The same complaint with the place filled in where it was not yet known.

        The reader that knows the line adds the line, the one that knows the file adds the file.
        """
        where = replace(
            self.where,
            file=self.where.file or file,
            line=self.where.line if self.where.line is not None else line,
            column=self.where.column or column,
        )
        placed = type(self)(self.what, self.do, where)
        placed.others = tuple(one.at(file=file, line=line, column=column) for one in self.others)
        return placed

    def all(self) -> tuple[Complaint, ...]:
        """This complaint and the others of the same file, each once, in the order of the file."""
        return (self, *self.others)


def raise_together(found: Sequence[Complaint]) -> None:
    """Raise the first of several complaints with the others beside it; where there is none, go on."""
    if found:
        first, *others = (one for each in found for one in each.all())
        first.others = tuple(others)
        raise first


def _begun(text: str) -> str:
    return text[:1].upper() + text[1:]


def _shortened(text: str) -> str:
    return text if len(text) <= LONGEST_SENTENCE else text[: LONGEST_SENTENCE - 3] + "..."


def _one_line(text: str) -> str:
    # What a file holds must neither break the line nor steer the reader's terminal.
    return text.translate(_NO_CONTROLS)


class ValueComplaint(Complaint):
    """A value that cannot be what it is said to be (an azimuth of 361 degrees)."""


class NoAnswerComplaint(Complaint):
    """The input is sound and still has no answer (a line that runs along the way cannot be aimed off by)."""


class FormatComplaint(Complaint):
    """A file or a text that is not laid out as the tool can read it."""


class MissingComplaint(Complaint):
    """Something the answer needs and the input does not hold (a pace count, a station's name)."""


class OutputComplaint(Complaint):
    """A file that cannot be written."""
