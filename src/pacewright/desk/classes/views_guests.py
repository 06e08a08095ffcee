"""The seats: who joined, and the removal of many at once."""

from __future__ import annotations

import uuid
from collections.abc import Iterable

from django.contrib import messages
from django.db.models import Count, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from pacewright.desk.classes.members import delete_learners
from pacewright.desk.models import GUEST, Member
from pacewright.desk.serving.access import MOST_GUESTS, owner_only


@owner_only
@require_http_methods(["GET", "POST"])
def guests(request: HttpRequest) -> HttpResponse:
    """Show the guests; ask before many are removed, then remove them."""
    chosen = _chosen(request.POST.getlist("guest"))
    do = request.POST.get("do", "")
    if do == "remove" and chosen:
        names = delete_learners(chosen)
        messages.info(request, f"Removed: {len(names)}. Their seats are free again.")
        return redirect("guests")
    ticked = {one.pk for one in chosen}
    if do == "idle":
        ticked = {one.pk for one in _counted() if not one.log_count and not one.card_count}
    told = "Tick whom to remove first." if do and not ticked else ""
    context = {"guests": _counted(), "ticked": ticked, "most": MOST_GUESTS, "told": told}
    return render(request, "desk/guests.html", context, status=422 if told else 200)


def _counted() -> QuerySet[Member]:
    found = Member.objects.filter(role=GUEST).order_by("-joined_at")
    return found.annotate(log_count=Count("logs", distinct=True), card_count=Count("entries", distinct=True))


def _chosen(typed: Iterable[str]) -> list[Member]:
    found = []
    for one in typed:
        try:
            found.append(uuid.UUID(one))
        except ValueError:
            continue
    return list(Member.objects.filter(role=GUEST, pk__in=found[:MOST_GUESTS]))
