"""The line of those who want to write: each has the pen in the order in which they came."""

from __future__ import annotations

import threading
from collections import deque
from typing import Final

LONGEST_WAIT_S: Final = 20.0


class WriteLine:
    """Hands one pen on, from whoever lays it down to whoever waited longest.

    The file of a database has one writer at a time as well. Left to it alone, whoever finds it busy looks
    again after pauses of up to a tenth of a second, and whoever comes by in between goes first.
    """

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._waiting: deque[threading.Lock] = deque()
        self._is_taken = False

    def take(self, wait_s: float = LONGEST_WAIT_S) -> bool:
        """True with the pen in hand; false where it was not to be had in that time."""
        with self._guard:
            if not self._is_taken:
                self._is_taken = True
                return True
            turn = threading.Lock()
            turn.acquire()
            self._waiting.append(turn)
        if turn.acquire(timeout=wait_s):
            return True
        with self._guard:
            if turn not in self._waiting:
                # It was handed on in the last moment.
                return True
            self._waiting.remove(turn)
            return False

    def lay_down(self) -> None:
        """Hand the pen on to whoever waited longest."""
        with self._guard:
            if self._waiting:
                self._waiting.popleft().release()
            else:
                self._is_taken = False


WRITERS: Final = WriteLine()
