"""How many requests of one guest are served at once, and how much work they may be: others are served too."""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any, Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

from pacewright.desk.serving.lines import KNOWN_BROWSERS

MOST_AT_ONCE: Final = 2
MOST_STRANGERS: Final = 4
"""Of one address whose browsers the desk does not know, at once: half of what it can serve."""
RETRY_S: Final = 1
"""A browser that was told to come back does so after a second."""

FULL_S: Final = 4.0
SHARE: Final = 0.2
"""A guest may have the desk work for some seconds at once, and for a fifth of the time all day."""

Answer = Callable[[HttpRequest], HttpResponse]


class GuestTurns:
    """Counts what is being served, by whose it is and whether it looks or saves, and the work that it was.

    Parameters
    ----------
    most
        Of a kind at once.
    now, worked
        The clock, and the time that this thread has worked.
    """

    def __init__(
        self,
        most: int = MOST_AT_ONCE,
        now: Callable[[], float] = time.monotonic,
        worked: Callable[[], float] = time.thread_time,
    ) -> None:
        self._most, self._now, self._worked = most, now, worked
        self._lock = threading.Lock()
        self._served: Counter[tuple[Any, bool]] = Counter()
        self._left: dict[Any, tuple[float, float]] = {}

    @contextmanager
    def turn(self, whose: Any, *, saves: bool = False) -> Iterator[bool]:
        """True where one more may be served; as long as it lasts, it counts."""
        kind = (whose, saves)
        with self._lock:
            may = self._served[kind] < self._most and self._left_s(whose) > 0.0
            self._served[kind] += may
        began = self._worked()
        try:
            yield may
        finally:
            with self._lock:
                self._left[whose] = (self._now(), self._left_s(whose) - (self._worked() - began))
                self._served[kind] -= may
                if not self._served[kind]:
                    del self._served[kind]

    def is_full(self, whose: Any, *, saves: bool = False) -> bool:
        """Whether one more would not be served now."""
        with self._lock:
            return self._served[whose, saves] >= self._most or self._left_s(whose) <= 0.0

    def _left_s(self, whose: Any) -> float:
        """How long somebody may still have the desk work: it grows again while they wait."""
        at, left = self._left.get(whose, (self._now(), FULL_S))
        return min(FULL_S, left + SHARE * (self._now() - at))


TURNS: Final = GuestTurns()
STRANGERS: Final = GuestTurns(most=MOST_STRANGERS, worked=lambda: 0.0)


class DoorTurnsMiddleware:
    """Refuse what a guest, or an address, asks beyond its turns before anybody looks for who it is.

    To find a member takes more of the desk than to refuse: whoever asks without pause would still hold the
    others up.
    """

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, or ask to come again."""
        found = KNOWN_BROWSERS.find(request.COOKIES.get(settings.SESSION_COOKIE_NAME, ""))
        if found is None:
            with STRANGERS.turn(request.META.get("REMOTE_ADDR", "")) as may:
                return self.get_response(request) if may else come_again(request.method)
        whose, is_owner = found
        if not is_owner and TURNS.is_full(whose, saves=request.method == "POST"):
            return come_again(request.method)
        return self.get_response(request)


class GuestTurnsMiddleware:
    """Let two pages and two savings of a guest be served at a time; the rest come again a second later."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, or ask to come again; the owner of the desk is never asked to."""
        member = request.member
        if member is None or member.is_owner:
            return self.get_response(request)
        with TURNS.turn(member.pk, saves=request.method == "POST") as may:
            return self.get_response(request) if may else come_again(request.method)


def come_again(method: str | None) -> HttpResponse:
    """Ask a browser to come again; a page does so by itself, and what was to be saved is not yet."""
    looks = method == "GET"
    page = HttpResponse(_come_again(looks=looks), status=503)
    page.headers["Retry-After"] = str(RETRY_S)
    if looks:
        page.headers["Refresh"] = str(RETRY_S)
    return page


@cache
def _come_again(*, looks: bool) -> str:
    """The page, laid out once: it is sent where there is no time for more."""
    return render_to_string("desk/come_again.html", {"looks": looks})
