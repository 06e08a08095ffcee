"""An exercise while it runs: who is out, what was typed, who has handed in; live."""

from __future__ import annotations

import uuid
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pacewright.desk.classes.courses import course_of
from pacewright.desk.classes.entries import (
    add_on_paper,
    asked_card,
    live_rows,
    next_free_card,
    written_log,
)
from pacewright.desk.classes.members import (
    delete_exercise,
    end_sessions,
    group_named,
    title_of,
)
from pacewright.desk.classes.out import come_back, count_states, set_out, start_clock, take_back
from pacewright.desk.classes.pace import open_counted
from pacewright.desk.models import Entry, Exercise
from pacewright.desk.notebook.hidden_answers import SHOWS
from pacewright.desk.serving.access import new_phone_link, own, own_entry, owner_only
from pacewright.desk.serving.phone_addresses import network_base, qr_of
from pacewright.exceptions import Complaint
from pacewright.wording.safety_words import say_timing

OUT: Final = {"out": set_out, "back": come_back, "not": take_back}
"""What is noted of a learner at a press, by the name of the button."""


@owner_only
@require_GET
def exercise(request: HttpRequest, exercise_id: uuid.UUID) -> HttpResponse:
    """Show the class as it stands."""
    return _shown(request, own(Exercise, request.member, exercise_id))


def _shown(request: HttpRequest, found: Exercise, told: str = "", typed: Any = None) -> HttpResponse:
    members = found.group.members.exclude(entries__exercise=found).order_by("name") if found.group else []
    context = {
        **_live(found),
        "free": next_free_card(found),
        "waiting": members,
        "groups": request.member.groups.all(),
        "shows": SHOWS.items(),
        "told": told,
        "typed": typed or {},
        "base": network_base(request),
    }
    return render(request, "desk/exercise.html", context, status=422 if told else 200)


@owner_only
@require_GET
def exercise_live(request: HttpRequest, exercise_id: uuid.UUID) -> HttpResponse:
    """The table alone, as it stands now."""
    found = own(Exercise, request.member, exercise_id)
    return render(request, "desk/exercise_live.html", _live(found))


def _live(found: Exercise) -> dict[str, Any]:
    live = live_rows(found)
    handed = sum(1 for row in live if row.entry.handed_at)
    return {
        "exercise": found,
        "live": live,
        "handed": handed,
        "counts": count_states([row.where for row in live]),
        "timing": say_timing(course_of(found.course)),
        "now": timezone.now(),
    }


@owner_only
@require_POST
def exercise_add(request: HttpRequest, exercise_id: uuid.UUID) -> HttpResponse:
    """Add a learner who hands in paper, and go to their page unless asked to stay."""
    found = own(Exercise, request.member, exercise_id)
    name, card = request.POST.get("name", ""), request.POST.get("card", "")
    try:
        entry = add_on_paper(found, name, asked_card(card))
    except Complaint as complaint:
        return _shown(request, found, complaint.sentence, {"name": name[:100], "card": card[:10]})
    if request.POST.get("do") == "stay":
        return redirect("exercise", exercise_id=found.pk)
    return redirect("notebook", log_id=written_log(entry).pk)


@owner_only
@require_POST
def exercise_change(request: HttpRequest, exercise_id: uuid.UUID) -> HttpResponse:
    """Close or open an exercise, rename it, or give it to another group."""
    found = own(Exercise, request.member, exercise_id)
    do = request.POST.get("do")
    if do in ("close", "open"):
        found.is_open = do == "open"
    elif do == "shows" and request.POST.get("shows") in SHOWS:
        found.shows = request.POST["shows"]
    elif do == "clock":
        started = start_clock(found)
        messages.info(request, f"{started} set out by the minutes of their cards, the first now.")
    elif do == "name":
        found.title = title_of(request.POST.get("title", ""), "the exercise")
        found.group = group_named(request.member, request.POST.get("group", ""))
    found.save(update_fields=["is_open", "title", "group", "shows"])
    return redirect("exercise", exercise_id=found.pk)


@owner_only
@require_http_methods(["GET", "POST"])
def exercise_delete(request: HttpRequest, exercise_id: uuid.UUID) -> HttpResponse:
    """Ask, then delete an exercise and the logs written in it."""
    found = own(Exercise, request.member, exercise_id)
    if request.method == "POST":
        delete_exercise(found)
        messages.info(request, f"The exercise {found.title} and its logs are deleted.")
        return redirect("class")
    return render(
        request, "desk/exercise_delete.html", {"exercise": found, "learners": found.entries.count()}
    )


@owner_only
@require_POST
def entry_change(request: HttpRequest, entry_id: uuid.UUID) -> HttpResponse:
    """Open an entry again, give its learner a link for a new phone, or take the card away."""
    entry = own_entry(request.member, entry_id)
    do = request.POST.get("do")
    if do == "open":
        open_counted(entry)
    elif do in OUT:
        OUT[do](entry)
    elif do == "phone":
        return _phone_link(request, entry)
    elif do == "end":
        end_sessions(entry.member)
        messages.info(request, f"No browser is let in as {entry.member.name} until a new phone is.")
    elif do == "type":
        return redirect("notebook", log_id=written_log(entry).pk)
    elif do == "remove":
        _remove(request, entry)
    return redirect("exercise", exercise_id=entry.exercise_id)


def _phone_link(request: HttpRequest, entry: Entry) -> HttpResponse:
    base = network_base(request)
    link = f"{base}/open/{new_phone_link(entry.member)}" if base else ""
    context = {"entry": entry, "link": link, "qr": qr_of(link) if base else ""}
    return render(request, "desk/new_phone.html", context)


def _remove(request: HttpRequest, entry: Entry) -> None:
    if entry.log is not None and entry.log.rows:
        messages.error(
            request, f"The page of {entry.member.name} has rows on it. Delete the learner's data instead."
        )
        return
    if entry.log is not None:
        entry.log.delete()
    entry.delete()
    messages.info(request, f"Card {entry.card} is free again.")


@owner_only
@require_GET
def entry_next(request: HttpRequest, entry_id: uuid.UUID) -> HttpResponse:
    """Go to the page of the learner with the next card; after the last, back to the class."""
    entry = own_entry(request.member, entry_id)
    following = entry.exercise.entries.filter(card__gt=entry.card, log__isnull=False).first()
    if following is None:
        return redirect("exercise", exercise_id=entry.exercise_id)
    return redirect("notebook", log_id=following.log_id)
