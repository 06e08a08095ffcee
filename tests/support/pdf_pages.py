"""A printed PDF, read back: its words, its strokes in millimetres, its tags."""

from __future__ import annotations

import collections
import re

import pymupdf

MM_PER_PT = 25.4 / 72.0
Stroke = tuple[float, float, float, float]


def opened(pdf: bytes) -> pymupdf.Document:
    return pymupdf.open(stream=pdf)


def words(pdf: bytes) -> str:
    """All that is written, page by page, with single blanks; breaks inside long words are undone."""
    text = " ".join(page.get_text() for page in opened(pdf))
    return " ".join(text.replace("\u200b", "").replace("\u200e", "").split())


def strokes_mm(pdf: bytes, page: int = 0) -> list[Stroke]:
    """Every straight stroke of a page, in mm from its upper left corner."""
    found = []
    for drawing in opened(pdf)[page].get_drawings():
        for item in drawing["items"]:
            if item[0] == "l":
                ends = (item[1].x, item[1].y, item[2].x, item[2].y)
                found.append(tuple(MM_PER_PT * part for part in ends))
    return found  # type: ignore[return-value]


def smallest_type_mm(pdf: bytes) -> float:
    """The height of the smallest type that anything is written in."""
    return min(
        MM_PER_PT * span["size"]
        for page in opened(pdf)
        for block in page.get_text("dict")["blocks"]
        for line in block.get("lines", ())
        for span in line["spans"]
        if span["text"].strip()
    )


def inks(pdf: bytes) -> set[tuple[float, ...]]:
    """Every colour that is drawn or written with."""
    found: set[tuple[float, ...]] = set()
    for page in opened(pdf):
        for drawing in page.get_drawings():
            found |= {tuple(drawing[name]) for name in ("color", "fill") if drawing[name] is not None}
        for block in page.get_text("dict")["blocks"]:
            for line in block.get("lines", ()):
                for span in line["spans"]:
                    found.add(tuple(((span["color"] >> shift) & 255) / 255 for shift in (16, 8, 0)))
    return found


def tags(pdf: bytes) -> collections.Counter[str]:
    """How many elements of each kind the structure tree holds."""
    document, found = opened(pdf), collections.Counter[str]()
    for number in range(1, document.xref_length()):
        held = document.xref_object(number)
        kind = re.search(r"/S\s*/(\w+)", held)
        if "/StructElem" in held and kind:
            found[kind[1]] += 1
    return found
