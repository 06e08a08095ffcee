"""How many requests of one guest are served at once, so that one browser never holds all there are."""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

MOST_AT_ONCE: Final = 2
RETRY_S: Final = 1
"""A browser that was told to come back does so after a second."""

Answer = Callable[[HttpRequest], HttpResponse]


class GuestTurns:
    """Counts what is being served, by whose it is and whether it looks or saves."""

    def __init__(self, most: int = MOST_AT_ONCE) -> None:
        self._most = most
        self._lock = threading.Lock()
        self._served: Counter[Any] = Counter()

    @contextmanager
    def turn(self, whose: Any) -> Iterator[bool]:
        """Give true where one more may be served; as long as it lasts, it counts."""
        with self._lock:
            may = self._served[whose] < self._most
            self._served[whose] += may
        try:
            yield may
        finally:
            with self._lock:
                self._served[whose] -= may
                if not self._served[whose]:
                    del self._served[whose]


TURNS: Final = GuestTurns()


class GuestTurnsMiddleware:
    """Let two pages and two savings of a guest be served at a time; the others come again a second later."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, or ask to come again; the owner of the desk is never asked to."""
        member = request.member
        if member is None or member.is_owner:
            return self.get_response(request)
        with TURNS.turn((member.pk, request.method == "POST")) as may:
            if may:
                return self.get_response(request)
        return come_again(request)


def come_again(request: HttpRequest) -> HttpResponse:
    """Ask a browser to come again; a page does so by itself, and what was to be saved is not yet."""
    page = render(request, "desk/come_again.html", status=503)
    page.headers["Retry-After"] = str(RETRY_S)
    if request.method == "GET":
        page.headers["Refresh"] = str(RETRY_S)
    return page
