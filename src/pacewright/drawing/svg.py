"""A small SVG writer: shapes, text, groups; one user unit is one millimetre on paper.

Every shape is a function from numbers to a piece of text, and `drawing` puts the pieces on a page.
There are no ids anywhere (no clip paths, patterns or markers), so several drawings can stand on one
web page without disturbing each other, and the same drawing is always the same bytes.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from typing import Final
from xml.sax.saxutils import unescape

from pacewright.exceptions import ValueComplaint

Attribute = str | float | None
Point = tuple[float, float]

FONT_FAMILY: Final = "DejaVu Sans Mono, Menlo, Consolas, monospace"
"""An even-pitched family: its first name ships with the typesetter, widths are known."""

INK: Final = "#111"
PENCIL: Final = "#555"
FAINT: Final = "#999"
PAPER: Final = "#fff"
ACCENT: Final = "#8a3324"
"""The one quiet accent, a brick red that prints as dark as pencil."""

LINE_HEIGHT: Final = 1.3
"""Line feed of running text, in heights of the type."""

_PITCH_EM: Final = 0.602
"""Advance of every letter of the first family in `FONT_FAMILY`, in heights of the type."""

_WIDEST_RIM_EM: Final = 0.11

_ILLEGAL: Final = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_DEGREES: Final = re.compile(r"(?<=\d) deg\b")
_TEXTS: Final = re.compile(r"(<(?:text|title|desc)\b[^>]*>)([^<]*)")
_BREAKS: Final = re.compile("[\t\n\r\u0085\u2028\u2029]+")


def number(value: float) -> str:
    """Write a length in mm in as few characters as two decimals allow.

    Raises
    ------
    ValueComplaint
        The value is not a finite number.

    Examples
    --------
    >>> number(1.0), number(2.504), number(-0.001), number(0.25)
    ('1', '2.5', '0', '0.25')
    """
    if not math.isfinite(value):
        raise ValueComplaint(
            f"{value} cannot be drawn", "Give finite numbers for every point and length of the drawing"
        )
    written = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written


def escape(content: str) -> str:
    """Make any text safe inside a drawing; what XML cannot hold is shown as U+FFFD.

    >>> escape('<Gate & "Fen">')
    '&lt;Gate &amp; &quot;Fen&quot;&gt;'
    """
    clean = _BREAKS.sub(" ", _ILLEGAL.sub("\ufffd", content))
    return clean.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


def signed(content: str) -> str:
    """Write degrees by their sign: on paper there is no console that cannot show it.

    >>> signed("back 214.5 deg, 300 paces")
    'back 214.5°, 300 paces'
    """
    return _DEGREES.sub("°", content)


def each_text(drawn: str, write: Callable[[str], str]) -> str:
    """A drawing with every text of it written anew, as one reader writes numbers and dates.

    >>> each_text('<text x="1.5">1.5 &amp; 2</text>', lambda words: words.replace(".", ","))
    '<text x="1.5">1,5 &amp; 2</text>'
    """
    return _TEXTS.sub(lambda found: found[1] + escape(write(unescape(found[2], {"&quot;": '"'}))), drawn)


def line(x1: float, y1: float, x2: float, y2: float, **attributes: Attribute) -> str:
    """Draw a straight line."""
    return _element("line", {"x1": x1, "y1": y1, "x2": x2, "y2": y2, **attributes})


def polyline(points: Iterable[Sequence[float]], **attributes: Attribute) -> str:
    """Draw an open line through points, unfilled unless `fill` is given."""
    return _element("polyline", {"points": _points(points), "fill": "none", **attributes})


def polygon(points: Iterable[Sequence[float]], **attributes: Attribute) -> str:
    """Draw a closed outline through points."""
    return _element("polygon", {"points": _points(points), **attributes})


def circle(cx: float, cy: float, r: float, **attributes: Attribute) -> str:
    """Draw a circle."""
    return _element("circle", {"cx": cx, "cy": cy, "r": r, **attributes})


def rect(x: float, y: float, width: float, height: float, **attributes: Attribute) -> str:
    """Draw a rectangle from its upper left corner."""
    return _element("rect", {"x": x, "y": y, "width": width, "height": height, **attributes})


def path(steps: Iterable[tuple[str, Sequence[float]]], **attributes: Attribute) -> str:
    """Draw a path of lettered steps.

    >>> path([("M", (0, 0)), ("Q", (5, 5, 10, 0)), ("Z", ())], fill="none")
    '<path d="M0 0Q5 5 10 0Z" fill="none"/>'
    """
    d = "".join(letter + " ".join(number(value) for value in values) for letter, values in steps)
    return _element("path", {"d": d, **attributes})


def text(
    x: float,
    y: float,
    content: str,
    size_mm: float,
    *,
    anchor: str = "start",
    halo_mm: float = 0.0,
    **attributes: Attribute,
) -> str:
    """Write one line of text, its baseline at y.

    Parameters
    ----------
    x, y
        The start, middle or end of the baseline, in mm.
    content
        The text as it is; it is escaped here.
    size_mm
        Height of the type in mm.
    anchor
        `start`, `middle` or `end`.
    halo_mm
        Width of a paper-white rim, so that lines passing under the text leave it readable; never so wide
        that a letter's rim takes a bite out of the letter before it.
    """
    rim: dict[str, Attribute] = {}
    if halo_mm > 0:
        rim = {
            "paint-order": "stroke",
            "stroke": PAPER,
            "stroke-width": 2 * min(halo_mm, _WIDEST_RIM_EM * size_mm),
            "stroke-linejoin": "round",
        }
    place: dict[str, Attribute] = {"x": x, "y": y, "font-size": size_mm}
    if anchor != "start":
        place["text-anchor"] = anchor
    return _element("text", {**place, **rim, **attributes}, escape(signed(content)))


def group(children: Iterable[str], **attributes: Attribute) -> str:
    """Put pieces together under common attributes."""
    return _element("g", attributes, "".join(children))


def cut_to(left: float, top: float, right: float, bottom: float, children: Iterable[str]) -> str:
    """Put pieces together and cut off what lies beyond a rectangle."""
    width, height = right - left, bottom - top
    # A drawing inside a drawing is cut to its own size, and needs no id to be cut by.
    view = " ".join(number(value) for value in (left, top, width, height))
    place: dict[str, Attribute] = {"x": left, "y": top, "width": width, "height": height}
    return _element("svg", {**place, "viewBox": view, "overflow": "hidden"}, "".join(children))


def drawing(
    width_mm: float, height_mm: float, body: Iterable[str], *, title: str, description: str = ""
) -> str:
    """Put pieces on a white page of a stated size and give the whole SVG document.

    Parameters
    ----------
    width_mm, height_mm
        Size of the page on paper; coordinates run in mm from its upper left corner.
    body
        Pieces in the order in which they are laid on the page.
    title, description
        What the drawing shows, for those who hear it read out.

    Returns
    -------
    str
        An SVG 1.1 document, ending with a line feed.
    """
    width, height = number(width_mm), number(height_mm)
    size = f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"'
    told = f"<title>{escape(signed(title))}</title>"
    if description:
        told += f"<desc>{escape(signed(description))}</desc>"
    page = rect(0, 0, width_mm, height_mm, fill=PAPER)
    content = group(body, font_family=FONT_FAMILY, fill=INK, stroke_linecap="round", stroke_linejoin="round")
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img">\n{told}\n{page}\n{content}\n</svg>\n'


def text_width_mm(content: str, size_mm: float) -> float:
    """Roughly how wide a line of text will be.

    Parameters
    ----------
    content
        The text, in any script.
    size_mm
        Height of the type in mm.

    Returns
    -------
    float
        Width in mm: right for letters of the first family in `FONT_FAMILY`, on the wide side for others.

    Examples
    --------
    >>> round(text_width_mm("Gate", 4), 2), text_width_mm("", 4)
    (9.63, 0.0)
    """
    return float(size_mm * sum(_advance_em(letter) for letter in signed(content)))


def wrap_text(content: str, size_mm: float, width_mm: float) -> list[str]:
    """Break text into lines no wider than stated; a single word that is wider is cut.

    >>> wrap_text("Dry so far, then a pond.", 4, 40)
    ['Dry so far, then', 'a pond.']
    """
    lines: list[str] = []
    current = ""
    for word in signed(content).split():
        joined = f"{current} {word}" if current else word
        if text_width_mm(joined, size_mm) <= width_mm:
            current = joined
            continue
        if current:
            lines.append(current)
        while len(word) > 1 and text_width_mm(word, size_mm) > width_mm:
            cut = _letters_that_fit(word, size_mm, width_mm)
            lines.append(word[:cut])
            word = word[cut:]
        current = word
    return [*lines, current] if current else lines


def _letters_that_fit(word: str, size_mm: float, width_mm: float) -> int:
    width = 0.0
    for at, letter in enumerate(word):
        width += size_mm * _advance_em(letter)
        if width > width_mm:
            return max(1, at)
    return len(word)


def _advance_em(letter: str) -> float:
    code = ord(letter)
    if unicodedata.category(letter) in ("Mn", "Me", "Cf"):
        return 0.0
    if code < 0x0700 or 0x2000 <= code < 0x2300:
        return _PITCH_EM
    return 1.05 if unicodedata.east_asian_width(letter) in ("W", "F") else 0.85


def _points(points: Iterable[Sequence[float]]) -> str:
    return " ".join(f"{number(float(x))},{number(float(y))}" for x, y in points)


def _element(name: str, attributes: dict[str, Attribute], inner: str | None = None) -> str:
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{_value(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{written}/>" if inner is None else f"<{name}{written}>{inner}</{name}>"


def _value(value: str | float) -> str:
    return escape(value) if isinstance(value, str) else number(value)
