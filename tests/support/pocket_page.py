"""What a thumb does on the pocket page."""

from __future__ import annotations

from typing import Any


def type_row(page: Any, azimuth: str, count: str, notes: str = "") -> None:
    """Type one row and write it."""
    page.fill("#azimuth", azimuth)
    page.fill("#count", count)
    page.fill("#notes", notes)
    page.click("#write")


def turn_to(page: Any, part: str) -> None:
    """Go to a part of the page."""
    page.click(f"nav button[data-part={part}]")
