"""The page code: what a page is, in forty bits of which the last sixteen check the others."""

from __future__ import annotations

import binascii
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

BITS: Final = 40
LOG_PAGE: Final = 1
VERSION: Final = 1
_MOST_PAGES: Final = 255
_CHECK_START: Final = 0x5041


@dataclass(frozen=True, slots=True)
class PageCode:
    """What a printed page says of itself.

    Attributes
    ----------
    kind
        1 is a log page.
    version
        Of the places on it.
    paper
        Which of the papers it was laid out for.
    rows
        How many rows it has.
    page
        Its number among the pages printed with it; 0 beyond 255.
    """

    kind: int
    version: int
    paper: int
    rows: int
    page: int


def format_code(code: PageCode) -> tuple[int, ...]:
    """The bits of a page code, 1 being black, from left to right.

    The check is a cyclic redundancy check over the three bytes before it.

    References
    ----------
    ITU-T V.41, the polynomial x^16 + x^12 + x^5 + 1.

    Examples
    --------
    >>> len(format_code(PageCode(1, 1, 1, 23, 1)))
    40
    """
    page = code.page if code.page <= _MOST_PAGES else 0
    told = code.kind << 21 | code.version << 18 | code.paper << 15 | code.rows << 8 | page
    whole = told << 16 | _check(told)
    return tuple(whole >> shift & 1 for shift in range(BITS - 1, -1, -1))


def parse_code(bits: Sequence[int]) -> PageCode | None:
    """What forty bits say; None where their check does not hold.

    Examples
    --------
    >>> parse_code(format_code(PageCode(1, 1, 3, 15, 2)))
    PageCode(kind=1, version=1, paper=3, rows=15, page=2)
    """
    whole = 0
    for bit in bits:
        whole = whole << 1 | int(bit)
    told = whole >> 16
    if len(bits) != BITS or whole & 0xFFFF != _check(told):
        return None
    return PageCode(told >> 21, told >> 18 & 7, told >> 15 & 7, told >> 8 & 127, told & 255)


def _check(told: int) -> int:
    return binascii.crc_hqx(told.to_bytes(3, "big"), _CHECK_START)
