"""Which photograph and which row of its page a row of a log was read from, as a line of its heading tells.

`# read from page1.jpg, rows 1 to 4, 6 to 20`: prose to every other reader, and kept to the letter.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from pacewright.core.log.travel_log import Leg, TravelLog

_SOURCE: Final = re.compile(r"#\s*read from (?P<photo>.+), rows? (?P<rows>[\d, to]+)\s*")
_RUN: Final = re.compile(r"(\d{1,5})(?: to (\d{1,5}))?")
_MOST_ROWS: Final = 5_000


def format_source(photo: str, numbers: Sequence[int]) -> str:
    """The heading line, without its mark, that tells where rows were read from.

    Parameters
    ----------
    photo
        The photograph as it was given; what a heading could not hold of it is left out.
    numbers
        Of the rows on the page, in order.

    Examples
    --------
    >>> format_source("page1.jpg", [1, 2, 3, 5])
    'read from page1.jpg, rows 1 to 3, 5'
    """
    breaks = [at for at, (one, other) in enumerate(pairwise(numbers), start=1) if other != one + 1]
    ends = [0, *breaks, len(numbers)]
    runs = [numbers[a:b] for a, b in pairwise(ends) if b > a]
    told = ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs)
    # A line with a colon is a key of the heading.
    name = " ".join(photo.replace(":", " ").split())
    return f"read from {name}, row{'s' if len(numbers) != 1 else ''} {told}"


def find_source(log: TravelLog, leg: int) -> tuple[str, int] | None:
    """The photograph and the row of its page that a leg was read from; None where that is not told.

    Rows that were put in or taken out since leave none told: a wrong row would be worse.

    Parameters
    ----------
    log
        As it was read from its file.
    leg
        From 1.
    """
    told = _told(log)
    if len(told) != len(log.rows):
        return None
    places = [place for place, row in enumerate(log.rows) if isinstance(row, Leg)]
    return told[places[leg - 1]] if 1 <= leg <= len(places) else None


def _told(log: TravelLog) -> list[tuple[str, int]]:
    found: list[tuple[str, int]] = []
    for line in log.page.lines if log.page is not None else ():
        match = _SOURCE.fullmatch(line.strip()) if isinstance(line, str) else None
        if match is None:
            continue
        for first, last in _RUN.findall(match["rows"]):
            through = min(int(last or first), int(first) + _MOST_ROWS)
            found += [(match["photo"], number) for number in range(int(first), through + 1)]
    return found
