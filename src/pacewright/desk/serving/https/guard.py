"""Who comes over the network without encryption is sent to the encrypted address; cookies stay on it."""

from __future__ import annotations

import ipaddress
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect

from pacewright.desk.serving.https.certificate import in_lines

_PLAIN = (
    "This desk takes only what is sent encrypted. Write https:// before its address, "
    "or read the square on the board."
)


class EncryptedMiddleware:
    """Where the desk was opened with encryption: let nothing in over the network without it.

    On the machine itself nothing travels, and a browser may come either way.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, or send to where it is encrypted."""
        if not settings.HTTPS_FINGERPRINT:
            return self.get_response(request)
        if not request.is_secure():
            return self.get_response(request) if _is_here(request) else _elsewhere(request)
        response = self.get_response(request)
        for cookie in response.cookies.values():
            cookie["secure"] = True
        return response


def encryption(_request: HttpRequest) -> dict[str, Any]:
    """The fingerprint in lines, for templates; none where what is sent is not encrypted."""
    return {"fingerprint": in_lines(settings.HTTPS_FINGERPRINT)}


def _is_here(request: HttpRequest) -> bool:
    try:
        return ipaddress.ip_address(request.META.get("REMOTE_ADDR", "")).is_loopback
    except ValueError:
        return False


def _elsewhere(request: HttpRequest) -> HttpResponse:
    if request.method in ("GET", "HEAD"):
        return HttpResponseRedirect(f"https://{request.get_host()}{request.get_full_path()}")
    return HttpResponse(_PLAIN, status=403, content_type="text/plain; charset=utf-8")
