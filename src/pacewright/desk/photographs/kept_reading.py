"""Whether something is what was read of a page, as the desk keeps it: a backup may state anything."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from pacewright.desk.photographs.framing import is_frame

MOST_ROWS: Final = 80
MOST_DIGITS: Final = 12


def is_read(found: Any) -> bool:
    """Whether it is what was read of a page, or nothing yet."""
    if not isinstance(found, dict):
        return False
    if "frame" in found and not is_frame(found["frame"]):
        return False
    if not set(found) - {"frame", "tries"}:
        return True
    rows = found.get("rows")
    is_placed = "size" not in found or (
        _are_numbers(found["size"], 2) and _are_numbers(found.get("tops"), None)
    )
    return (
        _is_whole(found.get("page"))
        and _is_whole(found.get("card", 0))
        and isinstance(rows, list)
        and len(rows) <= MOST_ROWS
        and all(map(_is_row, rows))
        and is_placed
        and _is_whole(found.get("first", 1))
        and _is_number(found.get("notes_left", 0))
    )


def _is_row(row: Any) -> bool:
    return (
        isinstance(row, dict)
        and _is_whole(row.get("number"))
        and all(_is_written(row.get(name)) for name in ("azimuth", "count"))
        and isinstance(row.get("ticks"), list)
        and all(isinstance(one, str) and len(one) < 20 for one in row["ticks"])
        and all(isinstance(row.get(name), bool) for name in ("tick_doubt", "has_note"))
    )


def _is_written(number: Any) -> bool:
    if not isinstance(number, dict):
        return False
    text, chances, doubt = (number.get(name) for name in ("text", "chances", "doubt"))
    return (
        isinstance(doubt, str)
        and len(doubt) < 20
        and isinstance(text, str)
        and (not text or (text.isascii() and text.isdecimal()))
        and len(text) <= MOST_DIGITS
        and isinstance(chances, list)
        and len(chances) == len(text)
        and all(_are_numbers(one, 10) for one in chances)
    )


def _are_numbers(found: Any, many: int | None) -> bool:
    if not isinstance(found, Sequence) or isinstance(found, str):
        return False
    is_long = len(found) != many if many is not None else len(found) > MOST_ROWS + 1
    return not is_long and all(map(_is_number, found))


def _is_number(found: Any) -> bool:
    return isinstance(found, int | float) and not isinstance(found, bool) and 0 <= found < 1e6


def _is_whole(found: Any) -> bool:
    return type(found) is int and 0 <= found < 100_000
