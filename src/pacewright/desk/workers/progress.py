"""How far long work is: told by whoever does it, and handed on by its worker."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Final

PAUSE_S: Final = 0.3
"""Between two tellings: a page looks once a second."""
_to: list[Callable[[int, int], None]] = []
_last_s: list[float] = [0.0]


def hand_progress_to(hand: Callable[[int, int], None]) -> None:
    """Have what is told from now on handed to somebody."""
    _to[:] = [hand]


def tell_progress(done: int, of: int) -> None:
    """Tell that so many of so many parts are done; outside a worker nobody hears it.

    Parameters
    ----------
    done, of
        Parts that are done, and all parts.
    """
    now = time.monotonic()
    if _to and now - _last_s[0] >= PAUSE_S:
        _last_s[0] = now
        _to[0](done, of)
