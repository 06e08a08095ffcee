"""What a learner does: take a card, tell a pace count, write down the finish, hand in."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from pacewright.desk.access import own_entry
from pacewright.desk.class_entries import (
    asked_card,
    hand_in,
    open_again,
    said,
    take_card,
    write_finish,
    write_pace_count,
    written_log,
)
from pacewright.desk.models import Exercise
from pacewright.exceptions import Complaint


@require_POST
def card_take(request: HttpRequest, exercise_id: uuid.UUID) -> HttpResponse:
    """Take a card of an open exercise and go to its page."""
    exercise = Exercise.objects.filter(pk=exercise_id).select_related("course", "group").first()
    if exercise is None or request.member.is_owner:
        raise Http404
    try:
        entry = take_card(request.member, exercise, asked_card(request.POST.get("card", "")))
    except Complaint as complaint:
        messages.error(request, said(complaint))
        return redirect("home")
    return redirect("notebook", log_id=written_log(entry).pk)


@require_POST
def entry_pace(request: HttpRequest, entry_id: uuid.UUID) -> HttpResponse:
    """Keep the learner's own pace count."""
    entry = own_entry(request.member, entry_id)
    try:
        write_pace_count(entry, request.POST.get("pace_count", ""))
    except Complaint as complaint:
        messages.error(request, said(complaint))
    return redirect("notebook", log_id=written_log(entry).pk)


@require_POST
def entry_finish(request: HttpRequest, entry_id: uuid.UUID) -> HttpResponse:
    """Keep how the walk ended, and hand in where that was asked for."""
    entry = own_entry(request.member, entry_id)
    is_instructor = entry.exercise.owner == request.member
    if entry.handed_at is not None and not is_instructor:
        messages.error(request, "This was handed in. Ask the instructor to open it again.")
        return redirect("notebook", log_id=written_log(entry).pk)
    try:
        write_finish(entry, request.POST)
    except Complaint as complaint:
        messages.error(request, said(complaint))
        return redirect("notebook", log_id=written_log(entry).pk)
    do = request.POST.get("do", "")
    if do in ("hand", "hand-next"):
        hand_in(entry)
        messages.info(request, f"Card {entry.card} of {entry.member.name} is handed in.")
    elif do == "open" and is_instructor:
        open_again(entry)
    if do == "hand-next" and is_instructor:
        return redirect("entry_next", entry_id=entry.pk)
    return redirect("notebook", log_id=written_log(entry).pk)
