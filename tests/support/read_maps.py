"""Maps read back from a printed PDF: frames, grid lines with their metres, marks, in mm on paper."""

from __future__ import annotations

import re
from dataclasses import dataclass

from support.pdf_pages import MM_PER_PT, opened

Box = tuple[float, float, float, float]
_METRES = re.compile(r"(\d[\d ]*) ([EN])")


@dataclass(frozen=True)
class ReadMap:
    """A frame, the paper's x of grid metres east, its y of grid metres north, and the squares in it."""

    page: int
    frame: Box
    east: dict[float, float]
    north: dict[float, float]
    squares: list[Box]

    def holds(self, box: Box) -> bool:
        """Say whether a box lies inside the frame."""
        left, top, right, bottom = self.frame
        return left <= box[0] and box[2] <= right and top <= box[1] and box[3] <= bottom


def read_maps(pdf: bytes) -> list[ReadMap]:
    """Every map of a document, page by page.

    A frame is the one rectangle drawn with a pen of 0.5 mm, a grid line the one stroke of 0.14 mm that
    goes from one of its sides to the other, a station's square is filled and drawn with 0.45 mm.
    """
    found = []
    for number, page in enumerate(opened(pdf)):
        drawings = page.get_drawings()
        frames = [_mm(d["rect"]) for d in drawings if _pen(d, 0.5) and _is_rectangle(d)]
        squares = [_mm(d["rect"]) for d in drawings if _pen(d, 0.45) and d["type"] == "fs"]
        strokes = [
            (item[1].x * MM_PER_PT, item[1].y * MM_PER_PT, item[2].x * MM_PER_PT, item[2].y * MM_PER_PT)
            for d in drawings
            if _pen(d, 0.14)
            for item in d["items"]
            if item[0] == "l"
        ]
        words = written(page)
        for frame in frames:
            uprights = [x1 for x1, _, x2, y2 in strokes if abs(x1 - x2) < 0.01 and _spans(frame, x1, y2)]
            levels = [y1 for _, y1, x2, y2 in strokes if abs(y1 - y2) < 0.01 and _spans(frame, x2, y1)]
            east, north = {}, {}
            for text, box in words:
                if (metres := _METRES.fullmatch(text)) is None or not _is_beside(frame, box):
                    continue
                value = float(metres[1].replace(" ", ""))
                x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
                if metres[2] == "E":
                    east[value] = min(uprights, key=lambda line, x=x: abs(line - x))
                else:
                    north[value] = min(levels, key=lambda line, y=y: abs(line - y))
            inside = [s for s in squares if ReadMap(0, frame, {}, {}, []).holds(s)]
            found.append(ReadMap(number, frame, east, north, inside))
    return found


def written(page) -> list[tuple[str, Box]]:
    """Every line of text of a page with its box in mm."""
    lines = []
    for block in page.get_text("dict")["blocks"]:
        for line in block.get("lines", ()):
            text = "".join(span["text"] for span in line["spans"]).strip()
            lines.append((text, tuple(MM_PER_PT * side for side in line["bbox"])))
    return lines


def strokes_with(page, pen_mm: float) -> list[Box]:
    """Every straight stroke of one pen on a page, in mm."""
    return [
        tuple(MM_PER_PT * part for part in (item[1].x, item[1].y, item[2].x, item[2].y))
        for d in page.get_drawings()
        if _pen(d, pen_mm)
        for item in d["items"]
        if item[0] == "l"
    ]


def _mm(rect) -> Box:
    return tuple(MM_PER_PT * side for side in (rect.x0, rect.y0, rect.x1, rect.y1))


def _pen(drawing, width_mm: float) -> bool:
    width = drawing["width"]
    return bool(width) and abs(MM_PER_PT * width - width_mm) < 0.004


def _is_rectangle(drawing) -> bool:
    rect = drawing["rect"]
    return drawing["type"] == "s" and min(rect.width, rect.height) * MM_PER_PT > 30


def _spans(frame: Box, x: float, y: float) -> bool:
    left, top, right, bottom = frame
    return left - 0.1 <= x <= right + 0.1 and top - 0.1 <= y <= bottom + 0.1


def _is_beside(frame: Box, box: Box) -> bool:
    left, top, right, bottom = frame
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return left - 6 <= x <= right + 6 and top - 6 <= y <= bottom + 6
