"""The ports that a desk had before: what a browser could not send there is fetched from there.

A browser keeps what is unsent under the address with its port. A desk that was opened at another port answers
at the old ones too, as far as they are free, and its pages hold an unseen frame of each, which sends what
lies there.
"""

from __future__ import annotations

from typing import Any, Final

from django.conf import settings
from django.core.exceptions import DisallowedHost
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

LEFT_BEHIND: Final = "left-behind"


def old_doors(request: HttpRequest) -> dict[str, Any]:
    """The origins of the old ports, where the page stands at the new one, for templates."""
    return {"old_doors": _origins(request) if _is_at_new_door(request) else []}


def policy_between_doors(request: HttpRequest, policy: str) -> str:
    """The policy of content, with the frames between the desk's own doors let in and nothing else."""
    if len(settings.PORTS) < 2:
        return policy
    if request.path == f"/{LEFT_BEHIND}" and _is_known_host(request):
        return policy.replace(
            "frame-ancestors 'none'", f"frame-ancestors {_origin(request, settings.PORTS[0])}"
        )
    return f"{policy}; frame-src {' '.join(_origins(request))}" if _is_at_new_door(request) else policy


@require_GET
def left_behind(request: HttpRequest) -> HttpResponse:
    """The page that sends what this browser could not send to an old port."""
    at = _origin(request, settings.PORTS[0]) if settings.PORTS else ""
    page = render(request, "desk/left_behind.html", {"new_door": at})
    # The policy of content says who may frame it.
    page.xframe_options_exempt = len(settings.PORTS) > 1
    return page


def _origins(request: HttpRequest) -> list[str]:
    return [_origin(request, port) for port in settings.PORTS[1:]]


def _origin(request: HttpRequest, port: int) -> str:
    host = request.get_host()
    bare, colon, last = host.rpartition(":")
    return f"{request.scheme}://{bare if colon and last.isdecimal() else host}:{port}"


def _is_at_new_door(request: HttpRequest) -> bool:
    ports = settings.PORTS
    return len(ports) > 1 and _is_known_host(request) and request.get_port() == str(ports[0])


def _is_known_host(request: HttpRequest) -> bool:
    try:
        request.get_host()
    except DisallowedHost:
        return False
    return True
