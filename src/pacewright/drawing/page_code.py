"""The page code: what a page is, in forty bits of which the last sixteen check the others."""

from __future__ import annotations

import binascii
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

BITS: Final = 40
LOG_PAGE: Final = 1
CARD_LOG: Final = 2
MARKING_SHEET: Final = 3
MOST_CARDS: Final = 255
MOST_CARD_PAGES: Final = 4
VERSION: Final = 1
_MOST_PAGES: Final = 255
_CHECK_START: Final = 0x5041


@dataclass(frozen=True, slots=True)
class PageCode:
    """What a printed page says of itself.

    Attributes
    ----------
    kind
        1 is a log page, 2 one that belongs to a learner's course card, 3 the marking sheet of a course.
    version
        Of the places on it.
    paper
        Which of the papers it was laid out for.
    rows
        How many rows it has.
    page
        Its number among the pages printed with it; 0 beyond 255.
    card
        Of kind 2: the number of the card, 1 to 255; its pages are 4 at most, of 31 rows at most. Of kind 3:
        the number of the last card on the sheet; 0 beyond 255.
    """

    kind: int
    version: int
    paper: int
    rows: int
    page: int
    card: int = 0


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
    if code.kind == CARD_LOG:
        assert 1 <= code.card <= MOST_CARDS and 1 <= code.page <= MOST_CARD_PAGES and code.rows < 32
        rows, last = (code.page - 1) << 5 | code.rows, code.card
    elif code.kind == MARKING_SHEET:
        rows, last = code.rows, code.card if code.card <= MOST_CARDS else 0
    else:
        rows, last = code.rows, code.page if code.page <= _MOST_PAGES else 0
    told = code.kind << 21 | code.version << 18 | code.paper << 15 | rows << 8 | last
    whole = told << 16 | _check(told)
    return tuple(whole >> shift & 1 for shift in range(BITS - 1, -1, -1))


def parse_code(bits: Sequence[int]) -> PageCode | None:
    """What forty bits say; None where their check does not hold.

    Examples
    --------
    >>> parse_code(format_code(PageCode(1, 1, 3, 15, 2)))
    PageCode(kind=1, version=1, paper=3, rows=15, page=2, card=0)
    >>> parse_code(format_code(PageCode(2, 1, 1, 10, 1, card=24))).card
    24
    """
    whole = 0
    for bit in bits:
        whole = whole << 1 | int(bit)
    told = whole >> 16
    if len(bits) != BITS or whole & 0xFFFF != _check(told):
        return None
    kind, version, paper, rows, last = told >> 21, told >> 18 & 7, told >> 15 & 7, told >> 8 & 127, told & 255
    if kind == CARD_LOG:
        return PageCode(kind, version, paper, rows & 31, (rows >> 5) + 1, last)
    if kind == MARKING_SHEET:
        return PageCode(kind, version, paper, rows, 1, last)
    return PageCode(kind, version, paper, rows, last)


def _check(told: int) -> int:
    return binascii.crc_hqx(told.to_bytes(3, "big"), _CHECK_START)
