"""The history of a log: what was changed, by whom and when; any state is looked at and brought back."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from pacewright.desk.notebook.keeping import keep_change
from pacewright.desk.notebook.page_history import state_at, steps_of
from pacewright.desk.serving.access import own_log
from pacewright.exceptions import MissingComplaint


@require_GET
def history(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show the steps of a log, and one of its states where one was chosen."""
    log = own_log(request.member, log_id)
    number = _number(request.GET.get("at"))
    shown = None if number is None else state_at(log, number)
    return render(
        request,
        "desk/history.html",
        {"log": log, "here": "history", "steps": steps_of(log), "at": number, "shown": shown},
    )


@require_POST
def restore(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Put an earlier state in place of the page: a change like any other, which can be taken back."""
    log = own_log(request.member, log_id)
    number = _number(request.POST.get("at"))
    if number is None:
        raise MissingComplaint("no state was chosen", "Choose one from the history")
    state = state_at(log, number)
    change = {"kind": "replace", "heading": state.heading, "rows": list(state.rows)}
    keep_change(log.pk, request.POST.get("key", ""), change, request.member.name)
    messages.success(request, "The page stands as it did then.")
    return redirect("notebook", log_id=log.pk)


def _number(text: str | None) -> int | None:
    return int(text) if text and text.isascii() and text.isdecimal() and len(text) < 9 else None
