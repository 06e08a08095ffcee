"""What a sheet is made of: headings, sentences, fields, tables, pictures; data, never markup."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal
from xml.etree import ElementTree

from pacewright.drawing import svg as svg_hand
from pacewright.exceptions import ValueComplaint

Block = dict[str, Any]
Align = Literal["left", "center", "right"]

_LONG_CELL = 500
_SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Attributes
    ----------
    head
        What stands above it.
    share
        Its share of the width that columns of a fixed width leave.
    mm
        Its width, where that is fixed.
    align, bold, size_em
        How its cells are written.
    head_em
        Size of what stands above it.
    rule
        True where a line parts it from the column to its left.
    """

    head: str
    share: float = 1.0
    mm: float | None = None
    align: Align = "left"
    bold: bool = False
    size_em: float = 1.0
    head_em: float = 0.82
    rule: bool = True


def text(words: str, *, bold: bool = False, size_em: float = 1.0) -> Block:
    """A paragraph."""
    return {"kind": "text", "text": words, "bold": bold, "size_em": size_em}


def texts(sentences: Iterable[str], *, bold: bool = False, size_em: float = 1.0) -> list[Block]:
    """A paragraph for every sentence."""
    return [text(sentence, bold=bold, size_em=size_em) for sentence in sentences]


def heading(words: str, level: Literal[1, 2] = 2) -> Block:
    """A heading: level 1 once, at the head of a sheet."""
    return {"kind": "heading", "text": words, "level": level}


def fields(
    rows: Sequence[Sequence[tuple[str, str, float]]], height_mm: float = 8.0, size_em: float = 1.0
) -> Block:
    """Lines to be filled in: label, what is filled in already, and share of the width."""
    made = [
        [{"label": label, "value": value, "share": share, "size_em": size_em} for label, value, share in row]
        for row in rows
    ]
    return {"kind": "fields", "rows": made, "height_mm": height_mm}


def table(
    columns: Sequence[Column],
    rows: Iterable[Sequence[str]],
    *,
    row_mm: float = 0.0,
    pad_mm: float = 0.8,
    heavy_every: int = 0,
    heavy_from: int = 0,
    fills_page: bool = False,
    leading_em: float = 0.36,
    uprights_mm: Sequence[float] = (),
    is_dense: bool = False,
    exact_mm: tuple[float, float] | None = None,
) -> Block:
    """A ruled table.

    Parameters
    ----------
    columns, rows
        A cell for every column; a row of one cell alone runs below the row before it, over all columns.
    row_mm
        Rows are at least so high.
    pad_mm
        Above and below what a cell holds.
    heavy_every
        A heavy rule after every so many rows.
    heavy_from
        Rows that came before, on earlier pages.
    fills_page
        The rows share all that is left of the page.
    leading_em
        Between the lines of a cell.
    uprights_mm
        Of a table that fills its page: rules down it, from its left edge, where one cell
        holds many numbers.
    is_dense
        Its type is as small as it says: numbers that have no room otherwise.
    exact_mm
        How high its head is and each of its rows, where a photograph is to be read by them.
    """
    cells = [list(row) for row in rows]
    assert all(len(row) in (1, len(columns)) for row in cells), "a cell for every column, or one for all"
    made = [{name: getattr(one, name) for name in Column.__slots__} for one in columns]
    return {
        "kind": "table",
        "columns": made,
        "rows": cells,
        "row_mm": row_mm,
        "pad_mm": pad_mm,
        "heavy_every": heavy_every,
        "heavy_from": heavy_from,
        "leading_em": leading_em,
        "uprights_mm": list(uprights_mm),
        "fills_page": fills_page,
        "is_dense": is_dense,
        "exact_mm": exact_mm,
        # A row goes over to the next page whole, unless it is longer than a page may be.
        "whole_rows": max((len(cell) for row in cells for cell in row), default=0) < _LONG_CELL,
    }


def picture(drawing: str, *, width_mm: float | None = None, turned: bool = False, alt: str = "") -> Block:
    """A drawing, at its own size or at a stated width; its title and description are read out.

    Parameters
    ----------
    drawing
        SVG with its size in mm; it is printed in black alone.
    width_mm
        On paper; a drawing at exact scale goes without it.
    turned
        Whether it stands on its right side, for a long drawing on a narrow panel.
    alt
        What is read out instead of the drawing; by default its own title and description.
    """
    drawing = in_black(drawing)
    root = ElementTree.fromstring(drawing)
    own_width, own_height = (float(root.get(name, "0mm").removesuffix("mm")) for name in ("width", "height"))
    times = 1.0 if width_mm is None else width_mm / own_width
    told = [root.findtext(_SVG + name, "").strip().rstrip(".") for name in ("title", "desc")]
    return {
        "kind": "picture",
        "svg": drawing,
        "alt": alt or ". ".join(one for one in told if one) or "Drawing",
        "width_mm": own_width * times,
        "height_mm": own_height * times,
        "turned": turned,
    }


def over(beneath: Block, block: Block) -> Block:
    """A block with a drawing beneath it that is nothing to read out, both from the same corner."""
    return {"kind": "over", "beneath": beneath, "blocks": [block]}


def window(
    drawing: str,
    left_mm: float,
    top_mm: float,
    size_mm: tuple[float, float],
    whole_mm: tuple[float, float],
    alt: str,
) -> Block:
    """A part of a drawing at exact scale: where its upper left corner lies, and how large it is."""
    return {
        "kind": "window",
        "svg": drawing,
        "alt": alt,
        "left_mm": left_mm,
        "top_mm": top_mm,
        "width_mm": size_mm[0],
        "height_mm": size_mm[1],
        "whole_mm": list(whole_mm),
    }


def in_black(drawing: str) -> str:
    """A drawing without the greys and the accent, which a cheap printer breaks up into dots."""
    for ink in (svg_hand.ACCENT, svg_hand.PENCIL, svg_hand.INK):
        drawing = drawing.replace(f'"{ink}"', '"#000"')
    return drawing


def caution(words: str) -> Block:
    """A framed caution."""
    return {"kind": "caution", "text": words}


def lines(count: int, height_mm: float = 8.0) -> Block:
    """Ruled lines for the pencil."""
    return {"kind": "lines", "count": count, "height_mm": height_mm}


def ruled(asked: str, height_mm: float) -> Block:
    """What is asked for and ruled lines to the end of a flat page; nothing where room is short."""
    return {"kind": "lines", "count": 0, "height_mm": height_mm, "text": asked}


def contents() -> Block:
    """The titles of all sheets that follow, with the pages on which they begin."""
    return {"kind": "contents"}


def beside(left: Sequence[Block], right: Sequence[Block], left_mm: float) -> Block:
    """Blocks side by side."""
    return {"kind": "beside", "left": list(left), "right": list(right), "left_mm": left_mm}


def keep(blocks: Sequence[Block]) -> Block:
    """Blocks that stay on one page."""
    return {"kind": "keep", "blocks": list(blocks)}


def new_page() -> Block:
    """Start a page, or a panel of a card."""
    return {"kind": "break"}


def at_exact_scale(drawing: str, room_mm: tuple[float, float], what: str) -> Block:
    """A drawing at its own size.

    Raises
    ------
    ValueComplaint
        It does not fit the paper.
    """
    made = picture(drawing)
    if made["width_mm"] > room_mm[0] + 0.01 or made["height_mm"] > room_mm[1] + 0.01:
        raise ValueComplaint(
            f"{what} of {made['width_mm']:.0f} by {made['height_mm']:.0f} mm does not fit this paper",
            "Take larger paper",
        )
    return made
