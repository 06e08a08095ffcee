"""What is wrong with a printed page by geometry alone: words on words, on rules, cut off, too small."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import pymupdf

from pacewright.drawing import svg
from pacewright.sheets.paper import Paper, Sheet
from support.pdf_pages import MM_PER_PT, opened

CAP_EM = 0.70
"""Height of a digit over its line, a little less than in the type that is printed."""
DESCENDER_EM = 0.17
TOUCH_MM = 0.12
LEAST_MARGIN_MM = 5.0


@dataclass(frozen=True)
class Word:
    """A word as it stands on the page, in mm; its box is that of its capitals and digits."""

    text: str
    left: float
    top: float
    right: float
    bottom: float
    size_pt: float
    direction: tuple[float, float] = (1.0, 0.0)

    @property
    def is_slanted(self) -> bool:
        """Whether it stands neither level nor upright: its box says little of its letters."""
        return min(abs(part) for part in self.direction) > 0.05

    def meets(self, other: Word) -> bool:
        if self.is_slanted or other.is_slanted:
            return False
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        return wide > TOUCH_MM and high > TOUCH_MM


def words_of(page: pymupdf.Page) -> list[Word]:
    """Every word of a page, cut at blanks, whichever way up it stands."""
    found = []
    for block in page.get_text("rawdict")["blocks"]:
        for line in block.get("lines", ()):
            for span in line["spans"]:
                word: list[dict[str, Any]] = []
                for char in [*span["chars"], {"c": " "}]:
                    if char["c"].strip() and char["c"] not in "\u200b\u200e":
                        word.append(char)
                    elif word:
                        found.append(_word(word, span["size"], line["dir"]))
                        word = []
    return [one for one in found if one.right > one.left]


def _word(chars: list[dict[str, Any]], size_pt: float, direction: tuple[float, float]) -> Word:
    left, right = min(c["bbox"][0] for c in chars), max(c["bbox"][2] for c in chars)
    if abs(direction[0]) > 0.9:
        foot = chars[0]["origin"][1]
        top, bottom = sorted((foot, foot - math.copysign(CAP_EM * size_pt, direction[0])))
    else:
        # Standing on end: its letters are as high as they are wide here.
        trim = 0.15 * size_pt
        left, right = left + trim, right - trim
        top, bottom = min(c["bbox"][1] for c in chars), max(c["bbox"][3] for c in chars)
    text = "".join(c["c"] for c in chars)
    return Word(text, *(MM_PER_PT * part for part in (left, top, right, bottom)), size_pt, direction)


def without_drawings(sheet: Sheet) -> Sheet:
    """The same sheet, its drawings blank: what is left of strokes are the rules of its tables and frames."""
    return replace(sheet, blocks=tuple(_blank(block) for block in sheet.blocks))


def _blank(part: Any) -> Any:
    if isinstance(part, list):
        return [_blank(one) for one in part]
    if not isinstance(part, dict):
        return part
    made = {name: _blank(inner) for name, inner in part.items()}
    if "svg" in made:
        high, wide = made.get("height_mm", 10.0), made.get("width_mm", 10.0)
        made["svg"] = svg.drawing(wide, high, [], title="Blank")
    return made


def overlaps(pdf: bytes) -> list[str]:
    """Every two words of a page that lie on one another."""
    said = []
    for number, page in enumerate(opened(pdf), start=1):
        words = sorted(words_of(page), key=lambda one: one.top)
        for i, one in enumerate(words):
            for other in words[i + 1 :]:
                if other.top > one.bottom:
                    break
                if one.meets(other):
                    said.append(f"page {number}: {one.text!r} and {other.text!r}")
    return said


def beyond_margin(pdf: bytes) -> list[str]:
    """Every word and stroke that lies nearer to the edge of the paper than a printer reaches."""
    said = []
    for number, page in enumerate(opened(pdf), start=1):
        wide, high = page.rect.width * MM_PER_PT, page.rect.height * MM_PER_PT
        least = LEAST_MARGIN_MM - 0.05
        for one in words_of(page):
            if min(one.left, one.top, wide - one.right, high - one.bottom) < least:
                said.append(f"page {number}: {one.text!r}")
        for drawing in page.get_drawings():
            if drawing["fill"] == (1.0, 1.0, 1.0) or drawing["type"] == "clip":
                continue
            x0, y0, x1, y1 = (MM_PER_PT * part for part in drawing["rect"])
            if min(x0, y0, wide - x1, high - y1) < least:
                said.append(f"page {number}: a stroke at {x0:.0f}, {y0:.0f} mm")
    return said


def on_rules(pdf: bytes) -> list[str]:
    """Every word that a rule of a table, a frame or a heading runs through; of a sheet without drawings."""
    said = []
    for number, page in enumerate(opened(pdf), start=1):
        across, down = _rules(page)
        for one in words_of(page):
            hangs = DESCENDER_EM * one.size_pt * MM_PER_PT if set(one.text) & set("gjpqy") else 0.0
            for y, left, right, half in across:
                above, below = (0.0, hangs) if one.direction[0] > 0 else (hangs, 0.0)
                if (
                    one.top - above - 0.1 < y + half
                    and y - half < one.bottom + below + 0.05
                    and min(right, one.right) - max(left, one.left) > 0.3
                ):
                    said.append(f"page {number}: {one.text!r} on a rule at {y:.1f} mm")
                    break
            for x, top, bottom, half in down:
                if (
                    one.left + 0.1 < x + half
                    and x - half < one.right - 0.1
                    and min(bottom, one.bottom) - max(top, one.top) > 0.3
                ):
                    said.append(f"page {number}: {one.text!r} across an upright rule at {x:.1f} mm")
                    break
    return said


def _rules(page: pymupdf.Page) -> tuple[list[tuple[float, ...]], list[tuple[float, ...]]]:
    across, down = [], []
    for drawing in page.get_drawings():
        half = MM_PER_PT * (drawing.get("width") or 0.0) / 2
        for item in drawing["items"]:
            if item[0] == "l":
                ends = [(MM_PER_PT * p.x, MM_PER_PT * p.y) for p in item[1:3]]
            elif item[0] == "re" and drawing["fill"] is None:
                box = item[1]
                corners = [(box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1)]
                corners = [(MM_PER_PT * x, MM_PER_PT * y) for x, y in corners]
                for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
                    _sort(start, end, half, across, down)
                continue
            else:
                continue
            _sort(*ends, half, across, down)
    return across, down


def _sort(start: Any, end: Any, half: float, across: list[Any], down: list[Any]) -> None:
    if abs(start[1] - end[1]) < 0.01:
        across.append((start[1], *sorted((start[0], end[0])), half))
    elif abs(start[0] - end[0]) < 0.01:
        down.append((start[0], *sorted((start[1], end[1])), half))


def too_small(pdf: bytes, paper: Paper) -> list[str]:
    """Every word in type smaller than the smallest that the paper allows."""
    return [
        f"page {number}: {one.text!r} of {one.size_pt:.1f} pt"
        for number, page in enumerate(opened(pdf), start=1)
        for one in words_of(page)
        if one.size_pt < paper.least_pt - 0.06
    ]


def orphan_pages(pdf: bytes, foot_mm: float = 20.0) -> list[str]:
    """Every page after the first that holds less than two lines above its foot."""
    said = []
    for number, page in enumerate(opened(pdf), start=1):
        high = page.rect.height * MM_PER_PT
        lines = {round(one.bottom) for one in words_of(page) if one.bottom < high - foot_mm}
        if number > 1 and len(lines) < 2:
            said.append(f"page {number} is all but empty")
    return said
