"""How far long work is: told by whoever does it, handed on by its worker, and said by the page that waits."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

PAUSE_S: Final = 0.3
"""Between two tellings: a page looks once a second."""
LEAST_SHARE: Final = 0.02
"""What is done in less than this is no measure of the pace."""
_STEP_PERCENT: Final = 5
_to: list[Callable[[float, float], None]] = []
_last_s: list[float] = [0.0]


@dataclass(slots=True)
class Progress:
    """How many parts of long work are done, and how long the rest takes.

    Attributes
    ----------
    done, of
        Parts that are done, and all parts.
    first, begun_s
        What was done when it was told first, and when that was: work that goes on from an earlier day begins
        further on.
    now_s
        When it was told last.
    """

    done: float
    of: float
    first: float
    begun_s: float
    now_s: float

    @property
    def left_s(self) -> float | None:
        """How long the rest takes; None while that is not known."""
        done = self.done - self.first
        if done <= LEAST_SHARE * self.of:
            return None
        return (self.now_s - self.begun_s) * (self.of - self.done) / done

    @property
    def shown(self) -> str:
        """What of it a page shows, in steps: a page is sent anew only with more."""
        return str(_STEP_PERCENT * int(100 * self.done / self.of / _STEP_PERCENT))


def hand_progress_to(hand: Callable[[float, float], None]) -> None:
    """Have what is told from now on handed to somebody."""
    _to[:] = [hand]


def tell_progress(done: float, of: float) -> None:
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


def tell_share(share: float) -> None:
    """Tell the share of all that is done."""
    tell_progress(share, 1.0)


def say_progress(progress: Progress | None) -> str:
    """Say how far work is.

    >>> say_progress(Progress(0.43, 1.0, 0.0, 0.0, 57.0)), say_progress(Progress(0.004, 1.0, 0.0, 0.0, 9.0))
    ('40 % is done; the rest takes about 1 min.', 'It has begun.')
    """
    if progress is None or progress.shown == "0":
        return "It has begun."
    left = "" if progress.left_s is None else f"; the rest takes about {_say_time(progress.left_s)}"
    return f"{progress.shown} % is done{left}."


def _say_time(seconds: float) -> str:
    return f"{max(5, 5 * round(seconds / 5))} s" if seconds < 60 else f"{round(seconds / 60)} min"
