"""The door: a link that works once, a code for guests, and what the owner hands out."""

from __future__ import annotations

import re
from typing import Final

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from pacewright.core.plain_text import clean_line
from pacewright.desk.models import LONGEST_NAME
from pacewright.desk.serving.access import (
    forget_if_empty,
    is_join_code,
    join_code,
    new_guest,
    new_once_link,
    open_to_all,
    owner_only,
    renew_join_code,
    sign_in,
    use_once_link,
)
from pacewright.desk.serving.guards import Tries
from pacewright.desk.serving.phone_addresses import network_base, qr_of

_POCKET_PAGE: Final = re.compile(r"/logs/[0-9a-f-]{36}/pocket")
TRIES = Tries()
MOST_JOINS: Final = 80
JOIN_WINDOW_S: Final = 3600.0
JOINS = Tries(most=MOST_JOINS, window_s=JOIN_WINDOW_S)
"""Who joined lately, by address: a class behind one router comes in, one phone does not take every seat."""
FULL: Final = (
    f"{MOST_JOINS} have joined from this address within the hour. Ask the instructor to make another join "
    "code: it lets as many in again."
)


@open_to_all
@require_http_methods(["GET", "POST"])
def open_link(request: HttpRequest, token: str) -> HttpResponse:
    """Let the bearer of a fresh link in as owner.

    A GET only shows the button: what looks at links before a person does must not spend them.
    """
    to = _page_to_hand_out(request)
    if request.method == "GET":
        if request.member is not None and request.member.is_owner:
            return redirect(to or "home")
        return render(request, "desk/open_link.html", {"token": token, "to": to})
    if not TRIES.is_allowed(_address(request)):
        return _too_often(request)
    member = use_once_link(token)
    if member is None:
        return render(
            request, "desk/door.html", {"said": "This link was used before, or is too old."}, status=403
        )
    TRIES.take_back(_address(request))
    before = request.member
    sign_in(request, member)
    if before is not None and before != member:
        forget_if_empty(before)
    return redirect(to or "home")


def _page_to_hand_out(request: HttpRequest) -> str:
    """The pocket page that a link leads to; a link leads nowhere else but home."""
    to = request.GET.get("to", "")
    return to if _POCKET_PAGE.fullmatch(to) else ""


@open_to_all
@require_http_methods(["GET", "POST"])
def join(request: HttpRequest) -> HttpResponse:
    """Let a guest in by the join code and a name."""
    if not settings.IS_ON_NETWORK:
        raise Http404
    if request.member is not None:
        return redirect("home")
    if request.method == "GET":
        return render(request, "desk/join.html", {"code": request.GET.get("code", "")[:20]})
    if not TRIES.is_allowed(_address(request)):
        return _too_often(request)
    name = clean_line(request.POST.get("name", ""))
    typed = request.POST.get("code", "")
    wrong = _what_is_wrong(name, typed)
    if wrong:
        return render(request, "desk/join.html", {"said": wrong, "name": name, "code": typed}, status=422)
    TRIES.take_back(_address(request))
    if not JOINS.is_allowed(_address(request)):
        return render(request, "desk/join.html", {"said": FULL, "name": name, "code": typed}, status=429)
    sign_in(request, new_guest(name))
    return redirect("home")


def _what_is_wrong(name: str, typed: str) -> str:
    if not name or len(name) > LONGEST_NAME:
        return f"Write a name of at most {LONGEST_NAME} letters."
    return "" if is_join_code(typed) else "This is not the join code. Look at the board again."


@require_POST
def leave(request: HttpRequest) -> HttpResponse:
    """End the session of this browser; what was typed stays."""
    request.session.flush()
    return redirect("home")


@owner_only
@require_http_methods(["GET", "POST"])
def devices(request: HttpRequest) -> HttpResponse:
    """Hand out another link that works once, and the join code."""
    link = ""
    if request.method == "POST" and request.POST.get("do") == "link":
        path = f"/open/{new_once_link()}"
        base = network_base(request)
        link = f"{base}{path}" if base else request.build_absolute_uri(path)
    elif request.method == "POST" and request.POST.get("do") == "code":
        renew_join_code()
        JOINS.clear()
        messages.info(request, "There is a new join code; the old one opens nothing any more.")
        return redirect("devices")
    code = join_code() if settings.IS_ON_NETWORK else ""
    qr = qr_of(link) if link and settings.IS_ON_NETWORK else ""
    context = {"link": link, "qr": qr, "code": code, "on_network": settings.IS_ON_NETWORK}
    return render(request, "desk/devices.html", context)


def _address(request: HttpRequest) -> str:
    return str(request.META.get("REMOTE_ADDR", ""))


def _too_often(request: HttpRequest) -> HttpResponse:
    said = "Too many tries from here. Wait a minute and try again."
    return render(request, "desk/door.html", {"said": said}, status=429)
