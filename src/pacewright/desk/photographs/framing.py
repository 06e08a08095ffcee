"""Where the rows are on a page that was not printed here: corners and column lines, set by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

from pacewright.exceptions import ValueComplaint

CORNERS: Final = ("upper left", "upper right", "lower right", "lower left")
COLUMNS: Final = ("between azimuth and count", "between count and notes")
BEGUN: Final[dict[str, Any]] = {
    "corners": [[0.1, 0.2], [0.9, 0.2], [0.9, 0.9], [0.1, 0.9]],
    "columns": [0.25, 0.45],
    "rows": 0,
}
"""Shares of the photograph, and of the width between its corners; 0 rows: they are found."""
MOST_ROWS: Final = 80
_LEAST_AREA: Final = 0.01


def frame_of(sent: Mapping[str, str]) -> dict[str, Any]:
    """The frame that a form holds.

    Raises
    ------
    ValueComplaint
        A number is none, or the corners are no corners of a page.
    """
    corners = [[_share(sent, f"{axis}{at}") for axis in ("x", "y")] for at in range(4)]
    columns = [_share(sent, f"column{at}") for at in range(2)]
    rows = sent.get("rows", "").strip() or "0"
    if not rows.isdecimal() or len(rows) > 3 or int(rows) > MOST_ROWS:
        raise ValueComplaint(f"{rows[:20]} is no number of rows", f"Write 1 to {MOST_ROWS}, or nothing")
    if not _is_page(corners):
        raise ValueComplaint(
            "these four corners enclose no page",
            "Set upper left, upper right, lower right and lower left of the rows, as the page is read",
        )
    if not 0.02 < columns[0] < columns[1] - 0.02 or columns[1] > 0.98:
        raise ValueComplaint(
            "the two column lines stand in the wrong order, or outside of the page",
            "Set the first between azimuth and count, the second between count and notes",
        )
    return {"corners": corners, "columns": columns, "rows": int(rows)}


def is_frame(found: Any) -> bool:
    """Whether something is a frame, as the desk keeps it."""
    try:
        corners, columns = found["corners"], found["columns"]
        sent = {f"{axis}{at}": repr(corners[at][i]) for at in range(4) for i, axis in enumerate("xy")}
        sent |= {f"column{at}": repr(columns[at]) for at in range(2)}
        frame_of({**sent, "rows": repr(found["rows"])})
    except (ValueComplaint, TypeError, KeyError, IndexError):
        return False
    return True


def _share(sent: Mapping[str, str], name: str) -> float:
    text = sent.get(name, "").strip().replace(",", ".")[:20]
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not 0.0 <= found <= 1.0:
        raise ValueComplaint(f"{text or 'nothing'} is no share of the picture", "Write 0 to 1, such as 0.25")
    return round(found, 5)


def _is_page(corners: list[list[float]]) -> bool:
    """Whether the corners go round clockwise and enclose something."""
    area = 0.0
    for at in range(4):
        (x, y), (u, v), (s, t) = (corners[(at + step) % 4] for step in range(3))
        if (u - x) * (t - v) - (v - y) * (s - u) <= 0:
            return False
        area += x * v - u * y
    return area / 2.0 >= _LEAST_AREA
