"""Whether there is time to work an answer out: saving goes before drawing."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

MOST_SERVED: Final = 1
"""With more than so many being served at once, others wait for their rows to be saved: no answer is begun."""


class AnswerTurns:
    """Counts who is being served, and lets one at a time work an answer out."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._served = 0
        self._is_answering = False

    @contextmanager
    def served(self) -> Iterator[None]:
        """Count one who is being served, as long as it lasts."""
        with self._lock:
            self._served += 1
        try:
            yield
        finally:
            with self._lock:
                self._served -= 1

    @contextmanager
    def answering(self) -> Iterator[bool]:
        """True to one who may work an answer out now; the others ask again a moment later."""
        with self._lock:
            is_mine = not self._is_answering and self._served <= MOST_SERVED
            self._is_answering = self._is_answering or is_mine
        try:
            yield is_mine
        finally:
            if is_mine:
                with self._lock:
                    self._is_answering = False
