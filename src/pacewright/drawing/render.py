"""SVG to PNG and PDF bytes, at its exact size, with nothing fetched from anywhere."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree

from pacewright.drawing.svg import text, text_width_mm
from pacewright.exceptions import OutputComplaint, ValueComplaint
from pacewright.wording.sheets import say_by_number

if TYPE_CHECKING:
    import typst

KINDS: Final = (".svg", ".png", ".pdf")
"""The kinds of picture file that can be written, by suffix."""

_MOST_PIXELS: Final = 20_000
"""Longest side of a PNG; beyond it the picture needs gigabytes to draw."""

_MM: Final = re.compile(r"(\d+(?:\.\d+)?)mm")
_TITLE: Final = "{http://www.w3.org/2000/svg}title"

_NOTE_MM: Final = 2.9
_LETTER: Final = '#set text(font: "DejaVu Sans Mono")\n#sys.inputs.letter'
_SHEET: Final = """\
#set document(title: sys.inputs.title, date: none)
#set page(width: {width}mm, height: {height}mm, margin: 0mm)
#set text(font: "DejaVu Sans Mono")
#image(bytes(sys.inputs.svg), format: "svg", width: {width}mm, height: {height}mm, alt: sys.inputs.title)
"""


def svg_to_pdf(svg: str) -> bytes:
    """Turn a drawing into a one-page PDF of the same size: 1 mm stays 1 mm.

    Parameters
    ----------
    svg
        A drawing with its width and height in mm.

    Returns
    -------
    bytes
        The PDF; the same drawing gives the same bytes.

    Raises
    ------
    ValueComplaint
        The text is not such a drawing.
    """
    return _typeset(svg, "pdf", None)


def svg_to_png(svg: str, ppi: float = 150) -> bytes:
    """Turn a drawing into a PNG with `ppi` pixels an inch.

    Raises
    ------
    ValueComplaint
        The text is not a drawing with its size in mm, or the picture would be too large.
    """
    width_mm, height_mm, _ = _size_and_title(svg)
    longest_inch = max(width_mm, height_mm) / 25.4
    if not (math.isfinite(ppi) and ppi > 0 and longest_inch * ppi <= _MOST_PIXELS):
        raise ValueComplaint(
            f"{ppi:g} pixels an inch cannot be drawn at {width_mm:g} by {height_mm:g} mm",
            f"Ask for more than 0 and at most {_MOST_PIXELS / longest_inch:.0f} pixels an inch",
        )
    return _typeset(svg, "png", ppi)


def render(svg: str, suffix: str) -> bytes:
    """Turn a drawing into the bytes of a picture file of the kind its suffix names.

    Parameters
    ----------
    svg
        A drawing with its width and height in mm.
    suffix
        `.svg`, `.png` or `.pdf`, in either case.

    Raises
    ------
    OutputComplaint
        The suffix names another kind.

    Examples
    --------
    >>> render("<svg/>", ".svg")
    b'<svg/>'
    """
    kind = suffix.lower()
    if kind == ".svg":
        return svg.encode("utf-8")
    if kind == ".png":
        return svg_to_png(svg)
    if kind == ".pdf":
        return svg_to_pdf(svg)
    raise OutputComplaint(
        f"a drawing cannot be written as {suffix!r}" if suffix else "the name of the drawing has no suffix",
        f"End the file name in {', '.join(KINDS[:-1])} or {KINDS[-1]}",
    )


def letters_without_font(svg: str) -> tuple[str, ...]:
    """The letters of a drawing that no font at hand can show, in order.

    Every letter beyond Latin, Greek and Cyrillic is tried by itself; the same one is tried once.
    """
    return tuple(letter for letter in sorted(set(filter(_is_unusual, svg))) if not _has_font(letter))


def by_number(svg: str, letters: Sequence[str]) -> str:
    """A drawing with letters written by their numbers, and a line at its foot that says so."""
    if not letters:
        return svg
    width_mm, height_mm, _ = _size_and_title(svg)
    said = say_by_number(letters)
    for letter in letters:
        svg = svg.replace(letter, f"‹U+{ord(letter):04X}›")
    size_mm = min(_NOTE_MM, (width_mm - 4.0) / text_width_mm(said, 1.0))
    body, end, after = svg.rpartition("</svg>")
    return f"{body}{text(2.0, height_mm - 1.2, said, size_mm, halo_mm=0.5)}{end}{after}"


@lru_cache(maxsize=4096)
def _has_font(letter: str) -> bool:
    import typst

    if unicodedata.combining(letter) or unicodedata.category(letter) in ("Cf", "Zs"):
        return True
    try:
        typst.Compiler(font_paths=_fonts(True)).compile(
            input=_LETTER.encode(), format="pdf", sys_inputs={"letter": letter}, pdf_standards=["a-2b"]
        )
    except typst.TypstError:
        return False
    return True


def _typeset(svg: str, kind: str, ppi: float | None) -> bytes:
    import typst

    svg = by_number(svg, letters_without_font(svg))
    width_mm, height_mm, title = _size_and_title(svg)
    sheet = _SHEET.format(width=f"{width_mm:.4f}", height=f"{height_mm:.4f}")
    compiler = typst.Compiler(font_paths=_fonts(_needs_more_letters(svg)))
    try:
        made = compiler.compile(
            input=sheet.encode(),
            format="pdf" if kind == "pdf" else "png",
            ppi=ppi,
            sys_inputs={"svg": svg, "title": title},
        )
    except typst.TypstError as wrong:
        raise ValueComplaint(
            f"the drawing cannot be turned into {kind.upper()} ({wrong.message})",
            "Write it as .svg instead",
        ) from wrong
    assert isinstance(made, bytes), "one drawing is one page"
    return made


def _size_and_title(svg: str) -> tuple[float, float, str]:
    try:
        root = ElementTree.fromstring(svg)
    except ElementTree.ParseError:
        root = ElementTree.Element("none")
    width = _MM.fullmatch(root.get("width", ""))
    height = _MM.fullmatch(root.get("height", ""))
    if width is None or height is None or float(width[1]) <= 0 or float(height[1]) <= 0:
        raise ValueComplaint(
            "the drawing is not SVG with its width and height in mm",
            'Start it with <svg width="180mm" height="180mm" ...>',
        )
    return float(width[1]), float(height[1]), root.findtext(_TITLE, "")


def _needs_more_letters(svg: str) -> bool:
    """Say whether a name is written in a script that the typesetter's own fonts may lack.

    Latin, Greek and Cyrillic are always drawn with the fonts that ship with the typesetter, so that
    those drawings are the same bytes on every machine.
    """
    return any(map(_is_unusual, svg))


def _is_unusual(letter: str) -> bool:
    return not (ord(letter) < 0x0530 or 0x2000 <= ord(letter) < 0x2300)


@lru_cache(maxsize=2)
def _fonts(with_system_fonts: bool) -> typst.Fonts:
    import typst

    return typst.Fonts(include_system_fonts=with_system_fonts)
