"""Groups and learners over a term: rename, move, export, delete."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pacewright.core.plain_text import clean_line
from pacewright.desk.classes.export import group_zip
from pacewright.desk.classes.members import (
    delete_learner,
    group_named,
    learner_name,
    learner_of,
    new_group,
    title_of,
)
from pacewright.desk.classes.told_apart import with_shown
from pacewright.desk.models import GUEST, Group, Member
from pacewright.desk.models_class import LONGEST_TITLE
from pacewright.desk.serving.access import own, owner_only
from pacewright.desk.serving.file_names import handed_out


@owner_only
@require_POST
def group_new(request: HttpRequest) -> HttpResponse:
    """Keep a new group."""
    made = new_group(request.member, request.POST.get("name", ""), request.POST.get("term", ""))
    return redirect("group", group_id=made.pk)


@owner_only
@require_GET
def group(request: HttpRequest, group_id: uuid.UUID) -> HttpResponse:
    """Show a group: its learners, its exercises, who is in none."""
    found = own(Group, request.member, group_id)
    return render(
        request,
        "desk/group.html",
        {
            "group": found,
            "members": with_shown(found.members.order_by("name")),
            "ungrouped": with_shown(Member.objects.filter(role=GUEST, group__isnull=True).order_by("name")),
            "exercises": found.exercises.select_related("course"),
        },
    )


@owner_only
@require_POST
def group_change(request: HttpRequest, group_id: uuid.UUID) -> HttpResponse:
    """Rename a group, take learners in, or delete the group and leave its learners."""
    found = own(Group, request.member, group_id)
    do = request.POST.get("do")
    if do == "name":
        found.name = title_of(request.POST.get("name", ""), "the group")
        found.term = clean_line(request.POST.get("term", ""))[:LONGEST_TITLE]
        found.save(update_fields=["name", "term"])
    elif do == "take":
        for typed in request.POST.getlist("member"):
            learner = learner_of(request.member, _identity(typed))
            Member.objects.filter(pk=learner.pk).update(group=found)
    elif do == "delete":
        found.delete()
        messages.info(request, f"The group {found.name} is deleted. Its learners and their logs stay.")
        return redirect("class")
    return redirect("group", group_id=found.pk)


def _identity(typed: str) -> uuid.UUID:
    try:
        return uuid.UUID(typed)
    except ValueError:
        return uuid.UUID(int=0)


@owner_only
@require_GET
def group_export(request: HttpRequest, group_id: uuid.UUID) -> HttpResponse:
    """A group's logs and one table as a zip."""
    found = own(Group, request.member, group_id)
    return handed_out(group_zip(found), f"{found.name} {found.term}", ".zip", otherwise="group")


@owner_only
@require_http_methods(["GET", "POST"])
def learner(request: HttpRequest, member_id: uuid.UUID) -> HttpResponse:
    """Show a learner's exercises and logs; rename them or move them to another group."""
    found = learner_of(request.member, member_id)
    if request.method == "POST":
        moved = group_named(request.member, request.POST.get("group", ""))
        name = learner_name(request.POST.get("name", ""))
        Member.objects.filter(pk=found.pk).update(name=name, group=moved)
        return redirect("learner", member_id=found.pk)
    return render(
        request,
        "desk/learner.html",
        {
            "learner": with_shown([found])[0],
            "entries": found.entries.select_related("exercise", "log").order_by("-exercise__made_at"),
            "other_logs": found.logs.filter(entries__isnull=True).count(),
            "groups": request.member.groups.all(),
        },
    )


@owner_only
@require_http_methods(["GET", "POST"])
def learner_delete(request: HttpRequest, member_id: uuid.UUID) -> HttpResponse:
    """Ask, then delete all that is a learner's."""
    found = learner_of(request.member, member_id)
    if request.method == "POST":
        logs = delete_learner(found)
        messages.info(
            request, f"All data of {found.name} is deleted, {logs} log{'' if logs == 1 else 's'} among it."
        )
        return redirect("class")
    context = {"learner": found, "logs": found.logs.count(), "cards": found.entries.count()}
    return render(request, "desk/learner_delete.html", context)
