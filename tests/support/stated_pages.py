"""Pages as they might be read, stated outright: for whoever tests what becomes of them."""

from __future__ import annotations

from pathlib import Path

import pytest

from pacewright.reading import page_read
from pacewright.reading.page_read import ReadNumber, ReadPage, ReadRow


def number(text: str, *, sure: float = 0.99, other: int = 8, doubt: str = "") -> ReadNumber:
    """A number whose last digit has so much of the chance, the rest being another's."""
    chances = [tuple(float(digit == int(one)) for digit in range(10)) for one in text]
    if text:
        last = int(text[-1])
        chances[-1] = tuple(sure if d == last else 1 - sure if d == other else 0.0 for d in range(10))
    return ReadNumber(text, tuple(chances), doubt or ("digit" if text and sure < page_read.SURE else ""))


def row(
    at: int,
    azimuth: str | ReadNumber,
    count: str | ReadNumber,
    *,
    ticks: tuple[str, ...] = (),
    note: bool = False,
    tick_doubt: bool = False,
) -> ReadRow:
    """A row with its two numbers; one that is only a text is sure."""
    first, second = (one if isinstance(one, ReadNumber) else number(one) for one in (azimuth, count))
    return ReadRow(at, first, second, ticks, tick_doubt, note)


def photographed(patch: pytest.MonkeyPatch, folder: Path, pages: dict[str, ReadPage]) -> list[Path]:
    """Photographs by name, each read as the page that is stated for it."""
    by_bytes, as_it_is = {name.encode(): page for name, page in pages.items()}, page_read.read_page
    patch.setattr(page_read, "read_page", lambda data: by_bytes.get(data) or as_it_is(data))
    for name in pages:
        (folder / f"{name}.jpg").write_bytes(name.encode())
    return [folder / f"{name}.jpg" for name in pages]
