"""The class at a glance: exercises, courses, groups; and the board that the projector shows."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pacewright.desk.classes.told_apart import with_shown
from pacewright.desk.models import GUEST, Exercise, Member
from pacewright.desk.serving.access import join_code, own, owner_only
from pacewright.desk.serving.phone_addresses import network_base, qr_of


@owner_only
@require_GET
def class_home(request: HttpRequest) -> HttpResponse:
    """Show exercises, courses and groups, and how to begin."""
    owner = request.member
    counted = owner.exercises.select_related("course", "group").annotate(learners=Count("entries"))
    return render(
        request,
        "desk/class_home.html",
        {
            "exercises": counted,
            "courses": owner.courses.defer("toml"),
            "groups": owner.groups.annotate(learners=Count("members")),
            "ungrouped": with_shown(Member.objects.filter(role=GUEST, group__isnull=True).order_by("name")),
            "on_network": settings.IS_ON_NETWORK,
        },
    )


@owner_only
@require_GET
def board(request: HttpRequest, exercise_id: uuid.UUID) -> HttpResponse:
    """Show address, join code and their square for cameras, large enough for a projector."""
    exercise = own(Exercise, request.member, exercise_id)
    base = network_base(request)
    code = join_code() if base else ""
    address = f"{base}/join?code={code}" if base else ""
    context = {"exercise": exercise, "base": base, "code": code, "qr": qr_of(address) if base else ""}
    return render(request, "desk/class_board.html", context)
