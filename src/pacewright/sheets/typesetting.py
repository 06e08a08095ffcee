"""Sheets to one PDF: fonts embedded, tagged, the same bytes for the same input.

Every text goes to the typesetter as data. It never becomes a part of the program that lays out the
page, so nothing a notebook holds can be taken for a command.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from functools import lru_cache
from importlib import resources
from typing import Any, Final

import typst

from pacewright.drawing.svg import each_text
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import text
from pacewright.sheets.in_parts import parts_of
from pacewright.sheets.paper import Paper, Sheet
from pacewright.sheets.row_heights import with_heights
from pacewright.wording.sheets import say_by_number

_STANDARD: Final = "ua-1"
_LONGEST_WORD: Final = 24
_BREAK_AFTER: Final = 8
_MOST_ROUNDS: Final = 40
_AT_ONCE: Final = 2
_ZERO_WIDTH_SPACE: Final = "\u200b"
_LEFT_TO_RIGHT_MARK: Final = "\u200e"
_ILLEGAL: Final = re.compile("[^\n\x20-\x7e\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_UNUSUAL: Final = re.compile("[^\x00-\x7e]")
_NOTE_EM: Final = 0.85
_STEERING: Final = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")
"""Marks that turn the direction of what follows, and could turn an azimuth round."""
_NOT_SHOWN: Final = re.compile(r'the text `"(.+?)"` could not be displayed', re.DOTALL)
_ESCAPED: Final = re.compile(r"\\u\{([0-9a-f]+)\}")
_LETTER: Final = '#set text(font: "DejaVu Sans Mono")\n#sys.inputs.letter'


@dataclass(frozen=True, slots=True)
class Printed:
    """Sheets as they were printed.

    Attributes
    ----------
    pdf
        A tagged PDF (PDF/UA-1) with its fonts in it.
    by_number
        Of every sheet, the letters that no font at hand could show; they stand on it by their numbers,
        such as ‹U+65E5›, and a note at its end says so.
    """

    pdf: bytes
    by_number: tuple[tuple[str, ...], ...]

    @property
    def pages(self) -> int:
        """How many pages it has."""
        found = re.search(rb"<xmpTPg:NPages>(\d+)<", self.pdf)
        assert found is not None, "the typesetter writes how many pages there are"
        return int(found[1])


def typeset(
    sheets: Sequence[Sheet],
    paper: Paper,
    title: str = "",
    printed_on: str = "",
    written: Callable[[str], str] | None = None,
) -> bytes:
    """The sheets as one PDF; see `print_sheets`."""
    return print_sheets(sheets, paper, title, printed_on, written=written).pdf


def print_sheets(
    sheets: Sequence[Sheet],
    paper: Paper,
    title: str = "",
    printed_on: str = "",
    *,
    is_book: bool = False,
    written: Callable[[str], str] | None = None,
) -> Printed:
    """The sheets as one PDF, and which letters of each no font could show.

    Parameters
    ----------
    sheets
        At least one; each starts on a page of its own.
    paper
        What they are printed on.
    title
        Of the document; by default that of the first sheet.
    printed_on
        The day, such as `2026-05-14`, at the foot of every page; it is left out where it is not given.
    is_book
        Whether the pages are numbered through all sheets.
    written
        How whoever reads them writes numbers and dates: every text is given to it.

    Raises
    ------
    ValueComplaint
        A text is too long for a panel of a card, or the pages cannot be laid out.

    References
    ----------
    ISO 14289-1, PDF/UA-1.
    """
    given = _Given(paper, title or sheets[0].title, printed_on, is_book, written)
    parts = [sheets] if is_book else parts_of(sheets)
    if len(parts) == 1:
        return _print_part(sheets, given)
    from pacewright.sheets.joined import joined

    with ThreadPoolExecutor(_AT_ONCE) as at_once:
        made = list(at_once.map(lambda part: _print_part(part, given), parts))
    return Printed(joined([one.pdf for one in made]), tuple(each for one in made for each in one.by_number))


@dataclass(frozen=True, slots=True)
class _Given:
    """What is asked of every part of a document alike."""

    paper: Paper
    title: str
    printed_on: str
    is_book: bool
    written: Callable[[str], str] | None


def _print_part(sheets: Sequence[Sheet], given: _Given) -> Printed:
    paper = given.paper
    drawings: dict[str, int] = {}
    book: dict[str, Any] = {
        "title": given.title,
        "paper": asdict(paper),
        "is_book": given.is_book,
        "printed": f"printed {given.printed_on}" if given.printed_on else "",
        "sheets": [
            {"title": one.title, "blocks": _with_drawings_apart(list(one.blocks), drawings)} for one in sheets
        ],
        "drawings": list(drawings),
    }
    if given.written is not None:
        book = _each_text(book, given.written, _NO_TEXT | {"drawings", "paper"})
        book["drawings"] = [each_text(one, given.written) for one in drawings]
    never = [_letters_of(one, _ILLEGAL) for one in book["sheets"]]
    clean = _each_text(book, _fit_for_paper, _NO_TEXT | {"drawings"})
    for one in clean["sheets"]:
        one["blocks"] = with_heights(_legible(one["blocks"], paper), paper)
    with_system_fonts = _needs_more_letters(clean)
    missing: frozenset[str] = frozenset()
    for round_ in range(_MOST_ROUNDS):
        by_number = tuple(
            tuple(sorted(letters | (_all_letters([one, _drawn(one, clean["drawings"])]) & missing)))
            for one, letters in zip(clean["sheets"], never, strict=True)
        )
        try:
            return Printed(
                _compiled(_noted(_without(clean, missing), by_number), with_system_fonts), by_number
            )
        except typst.TypstError as wrong:
            shown = _NOT_SHOWN.search(wrong.message)
            new = _letters(_ESCAPED.sub(_unescaped, shown[1]) if shown else "") - missing
            if not new:
                raise _complaint(wrong, paper) from None
            missing |= new
            if round_ == 0:
                missing |= _letters_not_shown(clean, with_system_fonts)
    raise ValueComplaint(
        "too many letters of these texts are in no font at hand", "Write the names in Latin letters"
    )


def _noted(book: dict[str, Any], by_number: Sequence[Sequence[str]]) -> dict[str, Any]:
    """The book with a note at the end of every sheet that has letters written by their numbers."""
    sheets = [
        {**one, "blocks": [*one["blocks"], text(say_by_number(letters), size_em=_NOTE_EM)]}
        if letters
        else one
        for one, letters in zip(book["sheets"], by_number, strict=True)
    ]
    return {**book, "sheets": sheets}


def _legible(part: Any, paper: Paper) -> Any:
    """Blocks whose type is nowhere smaller than the smallest of the paper."""
    if isinstance(part, list):
        return [_legible(inner, paper) for inner in part]
    if not isinstance(part, dict) or part.get("is_dense"):
        return part
    return {
        name: paper.shown_em(inner) if name in ("size_em", "head_em") else _legible(inner, paper)
        for name, inner in part.items()
    }


def _with_drawings_apart(part: Any, drawings: dict[str, int]) -> Any:
    """Blocks that name their drawings by number, so that one used often is handed over once."""
    if isinstance(part, list):
        return [_with_drawings_apart(inner, drawings) for inner in part]
    if not isinstance(part, dict):
        return part
    return {
        name: drawings.setdefault(inner, len(drawings))
        if name == "svg"
        else _with_drawings_apart(inner, drawings)
        for name, inner in part.items()
    }


def _drawn(part: Any, drawings: Sequence[str]) -> list[str]:
    """The drawings that a part of a book holds."""
    if isinstance(part, list):
        return [drawing for inner in part for drawing in _drawn(inner, drawings)]
    if not isinstance(part, dict):
        return []
    held = [drawings[part["svg"]]] if "svg" in part else []
    return held + [drawing for inner in part.values() for drawing in _drawn(inner, drawings)]


def _without(book: Any, missing: frozenset[str]) -> Any:
    return _each_text(book, lambda words: _by_number(words, missing)) if missing else book


def _compiled(book: dict[str, Any], with_system_fonts: bool) -> bytes:
    made = _compiler(with_system_fonts).compile(
        input=_program(),
        format="pdf",
        sys_inputs={"book": json.dumps(book, ensure_ascii=False)},
        pdf_standards=[_STANDARD],
    )
    assert isinstance(made, bytes), "a PDF is one file"
    return made


def _complaint(wrong: typst.TypstError, paper: Paper) -> ValueComplaint:
    if "too tall for a panel" in wrong.message:
        return ValueComplaint(
            "a text is too long for a panel of a pocket card", "Take larger paper, such as a5, or shorten it"
        )
    return ValueComplaint(
        f"the sheet cannot be laid out on {paper.name} ({wrong.message})", "Take larger paper"
    )


@lru_cache(maxsize=1)
def _program() -> bytes:
    return resources.files("pacewright.sheets").joinpath("field_book.typ").read_bytes()


@lru_cache(maxsize=2)
def _fonts(with_system_fonts: bool) -> typst.Fonts:
    return typst.Fonts(include_system_fonts=with_system_fonts)


def _compiler(with_system_fonts: bool) -> typst.Compiler:
    """A compiler of one's own: two who print at once cannot share one. The fonts are read but once."""
    return typst.Compiler(font_paths=_fonts(with_system_fonts))


def _each_text(part: Any, change: Callable[[str], str], but: frozenset[str] | None = None) -> Any:
    """The book with every text a reader sees changed, `but` those under some keys."""
    skipped = _NO_TEXT if but is None else but
    if isinstance(part, dict):
        return {
            name: inner if name in skipped else _each_text(inner, change, skipped)
            for name, inner in part.items()
        }
    if isinstance(part, list):
        return [_each_text(inner, change, skipped) for inner in part]
    return change(part) if isinstance(part, str) else part


_NO_TEXT: Final = frozenset({"kind", "align", "name"})


def _fit_for_paper(words: str) -> str:
    """Make a text one that can be laid out: nothing that steers, and no word that cannot be broken."""
    bare = _STEERING.sub("", _ILLEGAL.sub(_number_of, words.replace("\r\n", "\n").replace("\t", " ")))
    if any(len(word) > _LONGEST_WORD for word in bare.split()):
        bare = re.sub(rf"\S{{{_LONGEST_WORD + 1},}}", _breakable, bare)
    return _kept_apart(bare)


def _breakable(word: re.Match[str]) -> str:
    parts, current = [], ""
    for letter in word[0]:
        # A mark stays with the letter that it stands on.
        if len(current) >= _BREAK_AFTER and not unicodedata.combining(letter):
            parts.append(current)
            current = ""
        current += letter
    return _ZERO_WIDTH_SPACE.join([*parts, current])


def _kept_apart(words: str) -> str:
    """Keep a name that runs from right to left from drawing the numbers after it to its left."""
    if not any(_runs_left(letter) for letter in words):
        return words
    made = []
    for letter, after in zip(words, [*words[1:], " "], strict=True):
        made.append(letter)
        ends = not _runs_left(after) and not unicodedata.combining(after)
        if (_runs_left(letter) or unicodedata.combining(letter)) and ends:
            made.append(_LEFT_TO_RIGHT_MARK)
    return "".join(made)


def _runs_left(letter: str) -> bool:
    return unicodedata.bidirectional(letter) in ("R", "AL")


def _number_of(letter: re.Match[str]) -> str:
    return _by_number(letter[0], frozenset(letter[0]))


def _unescaped(escaped: re.Match[str]) -> str:
    return chr(int(escaped[1], 16))


def _letters(words: str) -> set[str]:
    return {letter for letter in words if ord(letter) > 0x7E}


def _by_number(words: str, missing: frozenset[str]) -> str:
    if not missing.intersection(words):
        return words
    numbered = "".join(f"‹U+{ord(letter):04X}›" if letter in missing else letter for letter in words)
    # A row of numbers has no blank to break at, and would run over the next column.
    return numbered.replace("›‹", f"›{_ZERO_WIDTH_SPACE}‹")


def _all_letters(part: Any) -> set[str]:
    return _letters_of(part, _UNUSUAL)


def _letters_of(part: Any, pattern: re.Pattern[str]) -> set[str]:
    found: set[str] = set()

    def look(words: str) -> str:
        found.update(pattern.findall(words))
        return words

    _each_text(part, look)
    return found


def _needs_more_letters(book: Any) -> bool:
    """Say whether a text is in a script that the typesetter's own fonts may lack.

    Latin, Greek and Cyrillic are always set with the fonts that ship with the typesetter, so that those
    sheets are the same bytes on every machine.
    """
    return any(not (ord(one) < 0x0530 or 0x2000 <= ord(one) < 0x2300) for one in _all_letters(book))


def _letters_not_shown(book: Any, with_system_fonts: bool) -> set[str]:
    """Try every unusual letter by itself, so that they are not found one page at a time."""
    missing = set()
    for letter in sorted(_all_letters(book)):
        if unicodedata.combining(letter) or ord(letter) < 0x0530:
            continue
        try:
            _compiler(with_system_fonts).compile(
                input=_LETTER.encode(),
                format="pdf",
                sys_inputs={"letter": letter},
                pdf_standards=["a-2b"],
            )
        except typst.TypstError:
            missing.add(letter)
    return missing
