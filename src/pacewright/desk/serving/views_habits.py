"""The page on which a person chooses how the desk is read and written."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from pacewright.desk.models import Member
from pacewright.desk.serving.habits import CHOICES, LABELS, chosen_in, habits_of


@require_http_methods(["GET", "POST"])
def habits(request: HttpRequest) -> HttpResponse:
    """Show what was chosen, and keep what is chosen now."""
    if request.method == "POST":
        Member.objects.filter(pk=request.member.pk).update(habits=chosen_in(request.POST))
        messages.success(request, "Kept, for all your devices.")
        return redirect("habits")
    now = habits_of(request.member.habits)
    asked = [(name, LABELS[name], choices, getattr(now, name)) for name, choices in CHOICES.items()]
    return render(request, "desk/habits.html", {"asked_habits": asked})
