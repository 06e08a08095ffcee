"""What memory a worker may take, and how much it took."""

from __future__ import annotations

import os
import sys
import threading
import time
from typing import Final

MEMORY_EXIT: Final = 77
"""What a worker ends with that was about to take more memory than it may."""
_LOOK_S: Final = 0.2
_MB: Final = 1_000_000
_lent: list[int] = []
"""Megabytes that the answer at hand was lent beyond those of every answer."""


def limit_memory(most_mb: int) -> None:
    """Take at most so much beyond what a worker holds at its start.

    Linux refuses what is beyond, which is told as an answer. Other Unix systems have the limit and do not
    keep it: there the worker looks at itself, and ends. Windows has neither.
    """
    try:
        import resource
    except ImportError:
        return
    try:
        with open("/proc/self/statm", encoding="ascii") as file:  # noqa: PTH123
            held = int(file.read().split()[0]) * resource.getpagesize()
        _, hard = resource.getrlimit(resource.RLIMIT_AS)
        resource.setrlimit(resource.RLIMIT_AS, (held + most_mb * _MB, hard))
    except (OSError, ValueError):
        most = highest_bytes() + most_mb * _MB
        threading.Thread(target=_watch_memory, args=(most,), daemon=True).start()


def highest_bytes() -> int:
    """The most memory that this process held so far; 0 where the system does not tell."""
    try:
        import resource
    except ImportError:
        return 0
    found = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return int(found if sys.platform == "darwin" else found * 1024)


def _watch_memory(most_bytes: int) -> None:
    while highest_bytes() < most_bytes:
        time.sleep(_LOOK_S)
    os._exit(MEMORY_EXIT)


def lend_more(most_mb: int) -> None:
    """Let this worker take so much more for the answer at hand; it is not kept for another one.

    Outside a worker nothing is limited, and nothing is lent.
    """
    try:
        import resource

        soft, hard = resource.getrlimit(resource.RLIMIT_AS)
        if soft == resource.RLIM_INFINITY:
            return
        resource.setrlimit(resource.RLIMIT_AS, (soft + most_mb * _MB, hard))
    except (ImportError, OSError, ValueError):
        return
    _lent.append(most_mb)


def held_bytes() -> int:
    """The most memory that this worker held so far; more than anything where it was lent more."""
    return sys.maxsize if _lent else highest_bytes()
