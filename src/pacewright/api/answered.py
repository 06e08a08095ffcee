"""An answer as a script or a notebook takes it: the figures, the sentences, rows, and a picture."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any, Final, Generic, TypeVar

from pacewright.drawing.render import render

T = TypeVar("T")
_SHORT: Final = 70


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Answered(Generic[T]):
    """An answer with its doubts.

    Attributes
    ----------
    found
        What was computed: a frozen answer with its units in its names.
    sentences
        What the command says of it, the answer first, a caution last.
    keys
        What the command prints with `--json`, the sentences left out.
    rows
        A row each of what there are several of: stations, suspects, legs, places.
    svg
        Draws it; None where there is no picture of it.
    """

    found: T
    sentences: tuple[str, ...]
    keys: Mapping[str, Any] = field(default_factory=dict)
    rows: Sequence[Mapping[str, Any]] = ()
    svg: Callable[[], str] | None = None

    def to_rows(self) -> list[dict[str, Any]]:
        """A dict a row, as `pandas.DataFrame` takes them; the keys alone where there are no rows."""
        return [dict(row) for row in self.rows] or [dict(self.keys)]

    def picture(self, suffix: str = ".svg") -> bytes:
        """The picture as the kind of file that a suffix names: .svg, .png or .pdf.

        Raises
        ------
        ValueError
            There is no picture of this answer.
        OutputComplaint
            The suffix is none of the three.
        """
        if self.svg is None:
            raise ValueError("there is no picture of this answer")
        return render(self.svg(), suffix)

    def __str__(self) -> str:
        """The sentences, a line each."""
        return "\n".join(self.sentences)

    def __repr__(self) -> str:
        """The answer in one short line."""
        first = next((one for one in self.sentences if one.strip()), "")
        return f"<{first if len(first) <= _SHORT else first[: _SHORT - 1] + '…'}>"

    def _repr_html_(self) -> str:
        first, *rest = self.sentences or ("",)
        said = "".join(f"<p>{escape(one)}</p>" for one in rest if one.strip())
        return f"<div><p><strong>{escape(first)}</strong></p>{said}{_table(self.rows)}</div>"

    def _repr_svg_(self) -> str | None:
        return None if self.svg is None else self.svg()


def _table(rows: Sequence[Mapping[str, Any]]) -> str:
    """The plain values of rows as an HTML table; what is itself a list or a dict is left to `rows`."""
    names = [name for name in (rows[0] if rows else {}) if all(_is_plain(row.get(name)) for row in rows)]
    if not names:
        return ""
    head = "".join(f"<th>{escape(name)}</th>" for name in names)
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(_shown(row.get(name)))}</td>" for name in names) + "</tr>"
        for row in rows
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _is_plain(value: Any) -> bool:
    return value is None or isinstance(value, str | int | float)


def _shown(value: Any) -> str:
    if value is None:
        return ""
    return f"{value:.6g}" if isinstance(value, float) else str(value)
