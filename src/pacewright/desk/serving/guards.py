"""What stands between the network and the views: policy of content, size, codes tried, complaints."""

from __future__ import annotations

import errno
import logging
import re
import threading
import time
from collections import deque
from collections.abc import Callable
from datetime import datetime
from typing import Any, Final

from django.conf import settings
from django.db import Error
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone

from pacewright.desk.serving.access import open_to_all
from pacewright.desk.serving.old_doors import policy_between_doors
from pacewright.exceptions import Complaint, OutputComplaint

POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'; manifest-src 'self'"
)
"""Nothing from elsewhere, and no script or style that stands in a page."""
MOST_TRIES: Final = 10
TRY_WINDOW_S: Final = 60.0
MOST_TRIES_OF_ALL: Final = 200

DISK_FULL: Final = OutputComplaint(
    "the disk of the desk's machine is full, and this was not saved",
    "Make room there, then save again; what was saved before is safe",
)
_FULL: Final = re.compile("disk is full|No space left|quota exceeded", re.IGNORECASE)
_OF_LOG: Final = re.compile(r"/logs/[0-9a-f-]{36}(/|$)")
_LOG: Final = logging.getLogger("django.desk")

Answer = Callable[[HttpRequest], HttpResponse]


class PolicyMiddleware:
    """Put the policy of content on every answer."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, under the policy; what a member sees is kept by no cache."""
        response = self.get_response(request)
        response.headers["Content-Security-Policy"] = policy_between_doors(request, POLICY)
        if not request.path.startswith(settings.STATIC_URL):
            response.headers.setdefault("Cache-Control", "no-store")
        return response


class LocalTimeMiddleware:
    """Show times by the clock of this machine: it is the clock on the wall of the class."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, in the time zone of this machine."""
        with timezone.override(datetime.now().astimezone().tzinfo):
            return self.get_response(request)


class SizeMiddleware:
    """Refuse what is too large before it is read."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, unless more is sent than any page here takes."""
        try:
            length = int(request.META.get("CONTENT_LENGTH") or 0)
        except ValueError:
            length = settings.MOST_FILE_BYTES + 1
        is_file = request.META.get("CONTENT_TYPE", "").startswith("multipart/form-data")
        most = settings.MOST_FILE_BYTES if is_file else settings.MOST_FORM_BYTES
        if length > most:
            return HttpResponse(
                f"This is larger than {most // 1_000_000} MB. Hand in a smaller one.",
                status=413,
                content_type="text/plain; charset=utf-8",
            )
        return self.get_response(request)


class ComplaintMiddleware:
    """Turn a complaint that no view caught into one sentence on a page."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer; an address that only takes forms says so to whoever comes without one."""
        response = self.get_response(request)
        if response.status_code == 405 and request.method == "GET":
            page = render(request, "desk/only_forms.html", status=405)
            page.headers["Allow"] = response.headers.get("Allow", "POST")
            return page
        return response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """Show the complaint; a full disk is said as such; all else goes on to the page of the unexpected."""
        if isinstance(exception, Complaint):
            return render(request, "desk/complaint.html", {"complaint": exception}, status=422)
        if is_disk_full(exception):
            _LOG.critical(
                "the disk is full: %s %s was not kept (%s)", request.method, request.path, exception
            )
            if request.content_type == "application/json":
                return JsonResponse({"complaint": str(DISK_FULL)}, status=507)
            return render(request, "desk/complaint.html", {"complaint": DISK_FULL}, status=507)
        return None


def is_disk_full(exception: BaseException | None) -> bool:
    """Whether what went wrong is that the disk, or what this user may take of it, is full.

    References
    ----------
    SQLite, result code 13 (SQLITE_FULL), and PostgreSQL, class 53, "No space left on device" (from memory).
    """
    while exception is not None:
        if isinstance(exception, OSError) and exception.errno in (errno.ENOSPC, errno.EDQUOT):
            return True
        if isinstance(exception, Error) and _FULL.search(str(exception)):
            return True
        exception = exception.__cause__ or exception.__context__
    return False


class Tries:
    """How often something was tried lately, by address and in all: a code, or to join."""

    def __init__(
        self,
        now: Callable[[], float] = time.monotonic,
        *,
        most: int = MOST_TRIES,
        window_s: float = TRY_WINDOW_S,
    ) -> None:
        self._now, self._most, self._window_s = now, most, window_s
        self._lock = threading.Lock()
        self._tries: deque[tuple[float, str]] = deque()

    def is_allowed(self, address: str) -> bool:
        """Count a try, and tell whether it may be made."""
        now = self._now()
        with self._lock:
            while self._tries and self._tries[0][0] < now - self._window_s:
                self._tries.popleft()
            of_address = sum(1 for _, who in self._tries if who == address)
            if of_address >= self._most or len(self._tries) >= MOST_TRIES_OF_ALL:
                return False
            self._tries.append((now, address))
            return True

    def take_back(self, address: str) -> None:
        """Forget the latest try of an address: the code was right."""
        with self._lock:
            for at in range(len(self._tries) - 1, -1, -1):
                if self._tries[at][1] == address:
                    del self._tries[at]
                    return

    def clear(self) -> None:
        """Forget every try."""
        with self._lock:
            self._tries.clear()


@open_to_all
def refused_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Say that a form came from elsewhere, or too late."""
    return render(request, "desk/refused_form.html", status=403)


@open_to_all
def not_found(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """Say that there is nothing at this address; of a log, that it is gone."""
    if (
        _OF_LOG.match(request.path)
        and getattr(request, "member", None) is not None
        and request.method == "GET"
    ):
        return render(request, "desk/log_gone.html", status=404)
    return render(request, "desk/not_found.html", status=404)


@open_to_all
def wrong_request(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """Say that the desk was asked by a name that is none of its own, or for more than it takes at once."""
    return HttpResponse(
        "<!doctype html><html lang='en'><title>pacewright</title><body><h1>The desk did not take this</h1>"
        "<p>It answers only at the addresses that it printed when it was started, and takes only what its "
        "own pages send. Go to one of those addresses; what was saved is saved.</p></body></html>",
        status=400,
    )


@open_to_all
def unexpected(request: HttpRequest) -> HttpResponse:
    """Say that the desk met something it did not expect; what was kept is kept."""
    return HttpResponse(
        "<!doctype html><html lang='en'><title>pacewright</title><body><h1>The desk met something it did not "
        "expect</h1><p>What was saved is saved. Go back and try once more; the file desk.log in the data "
        "folder says what happened.</p></body></html>",
        status=500,
    )
