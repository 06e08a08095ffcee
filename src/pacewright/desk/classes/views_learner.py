"""What a learner does: take a card, tell a pace count, write down the finish, hand in."""

from __future__ import annotations

import json
import uuid
from typing import Any, Final

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from pacewright.desk.classes.asked_first import asked_first
from pacewright.desk.classes.entries import (
    asked_card,
    keep_cells,
    take_card,
    write_finish,
    write_pace_count,
    written_log,
)
from pacewright.desk.classes.out import come_back, set_out
from pacewright.desk.classes.pace import hand_in_counted, open_counted
from pacewright.desk.models import Exercise
from pacewright.desk.serving.access import own_entry
from pacewright.exceptions import Complaint

MOST_CELLS: Final = 200
HANDED: Final = "This was handed in. Ask the instructor to open it again."


@require_POST
def card_take(request: HttpRequest, exercise_id: uuid.UUID) -> HttpResponse:
    """Take a card of an open exercise and go to its page."""
    exercise = Exercise.objects.filter(pk=exercise_id).select_related("course", "group").first()
    if exercise is None or request.member.is_owner:
        raise Http404
    try:
        entry = take_card(request.member, exercise, asked_card(request.POST.get("card", "")))
    except Complaint as complaint:
        messages.error(request, complaint.sentence)
        return redirect("home")
    return redirect("notebook", log_id=written_log(entry).pk)


@require_POST
def entry_out(request: HttpRequest, entry_id: uuid.UUID) -> HttpResponse:
    """Note that the learner sets out now; once said, only the instructor changes it."""
    entry = own_entry(request.member, entry_id)
    if entry.out_at is None and entry.handed_at is None:
        set_out(entry)
    return redirect("notebook", log_id=written_log(entry).pk)


@require_POST
def entry_pace(request: HttpRequest, entry_id: uuid.UUID) -> HttpResponse:
    """Keep the learner's own pace count."""
    entry = own_entry(request.member, entry_id)
    if entry.handed_at is not None and entry.exercise.owner != request.member:
        messages.error(request, HANDED)
        return redirect("notebook", log_id=written_log(entry).pk)
    try:
        write_pace_count(entry, request.POST.get("pace_count", ""))
    except Complaint as complaint:
        messages.error(request, complaint.sentence)
    return redirect("notebook", log_id=written_log(entry).pk)


@require_POST
def entry_draft(request: HttpRequest, entry_id: uuid.UUID) -> HttpResponse:
    """Keep cells of the finish while they are typed: JSON, `{"cells": {"minutes": "24", ..}}`.

    The answer tells what was refused, a sentence by the cell's name; the status is 409 where the card was
    handed in.
    """
    entry = own_entry(request.member, entry_id)
    cells = _cells(request.body)
    if cells is None:
        return JsonResponse({"complaint": "What was sent is no finish. Load the page again."}, status=422)
    try:
        refused = keep_cells(entry, cells, is_draft=True)
    except Complaint as complaint:
        return JsonResponse({"complaint": complaint.sentence}, status=409)
    return JsonResponse({"refused": {name: complaint.sentence for name, complaint in refused.items()}})


def _cells(body: bytes) -> dict[str, str] | None:
    try:
        sent: Any = json.loads(body)
    except (ValueError, RecursionError):
        return None
    cells = sent.get("cells") if isinstance(sent, dict) else None
    if not isinstance(cells, dict) or len(cells) > MOST_CELLS:
        return None
    return cells if all(isinstance(text, str) for text in cells.values()) else None


@require_POST
def entry_finish(request: HttpRequest, entry_id: uuid.UUID) -> HttpResponse:
    """Keep how the walk ended, and hand in where that was asked for."""
    entry = own_entry(request.member, entry_id)
    is_instructor = entry.exercise.owner == request.member
    if entry.handed_at is not None and not is_instructor:
        messages.error(request, HANDED)
        return redirect("notebook", log_id=written_log(entry).pk)
    try:
        write_finish(entry, request.POST)
    except Complaint as complaint:
        messages.error(request, complaint.sentence)
        return redirect("notebook", log_id=written_log(entry).pk)
    asked, sure = request.POST.get("do", ""), request.POST.get("do", "").endswith("-sure")
    do = asked.removesuffix("-sure")
    if do in ("hand", "hand-next"):
        odd = [] if sure or entry.handed_at is not None else asked_first(entry)
        if odd:
            messages.error(request, f"Not handed in yet. {' '.join(odd)} Is that right?")
            log = written_log(entry)
            return redirect(f"{reverse('notebook', kwargs={'log_id': log.pk})}?asked=yes")
        try:
            told = hand_in_counted(entry)
        except Complaint as complaint:
            messages.error(request, f"Not handed in: {complaint.sentence}")
            return redirect("notebook", log_id=written_log(entry).pk)
        if do == "hand-next" and is_instructor:
            # Paper comes in by hand: whoever brought it is back.
            come_back(entry)
        messages.info(request, f"Card {entry.card} of {entry.member.name} is handed in. {told}".rstrip())
    elif do == "open" and is_instructor:
        open_counted(entry)
    if do == "hand-next" and is_instructor:
        return redirect("entry_next", entry_id=entry.pk)
    return redirect("notebook", log_id=written_log(entry).pk)
