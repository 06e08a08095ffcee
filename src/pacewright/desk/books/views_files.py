"""Files: a log for other programs, and everything at once to put away."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.contrib import messages
from django.db import connection
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from pacewright.desk.books.backing_up import backup_of, inventory
from pacewright.desk.books.restoring import restore
from pacewright.desk.books.sheet_kinds import AT_ONCE
from pacewright.desk.books.views_sheets import being_made
from pacewright.desk.notebook.log_files import KINDS, log_file
from pacewright.desk.notebook.page_changes import MOST_ROWS
from pacewright.desk.serving.access import own_log, owner_only
from pacewright.desk.serving.copy_setting import keep_setting, kept_setting, say_copies
from pacewright.desk.serving.file_names import handed_in, handed_out
from pacewright.desk.serving.habits import how_read
from pacewright.desk.workers.asking import answer_to, of_log
from pacewright.exceptions import Complaint


@require_GET
def log_download(request: HttpRequest, log_id: uuid.UUID, kind: str) -> HttpResponse:
    """Hand a log out as a file of one kind."""
    log = own_log(request.member, log_id)
    if kind not in KINDS:
        raise Http404
    most_rows = MOST_ROWS if kind == "log" else AT_ONCE
    data = answer_to(request, of_log(log_file, log, kind, how_read(), most_rows=most_rows))
    if data is None:
        return being_made(request, f"{log.title or 'The log'} as a file")
    return handed_out(data, log.title, KINDS[kind])


@require_GET
def backup(request: HttpRequest) -> HttpResponse:
    """Show what a backup would hold, and take one back."""
    return render(request, "desk/backup.html", {"held": inventory(request.member), **_copies(request)})


def _copies(request: HttpRequest) -> dict[str, object]:
    if not request.member.is_owner or connection.vendor != "sqlite":
        return {}
    kept, days = kept_setting()
    return {"copies_say": say_copies(), "copies_kept": kept, "copies_days": days, "folder": settings.DATA}


@owner_only
@require_POST
def copies_change(request: HttpRequest) -> HttpResponse:
    """Keep how many dated copies there are to be, and how old."""
    keep_setting(request.POST.get("kept", ""), request.POST.get("days", ""))
    messages.info(request, "Kept. Dated copies are made this way from now on.")
    return redirect("backup")


@require_GET
def backup_file(request: HttpRequest) -> HttpResponse:
    """Hand out everything of a member's, of an owner's the whole desk, as one file.

    Where something is left out, or would not come back, that is said first.
    """
    made = backup_of(request.member)
    if (made.left_out or made.faults) and "as_it_is" not in request.GET:
        return render(request, "desk/backup.html", {"held": inventory(request.member), "made": made})
    return handed_out(made.data, f"pacewright {timezone.localdate():%Y-%m-%d}", ".zip", otherwise="backup")


@require_POST
def restore_file(request: HttpRequest) -> HttpResponse:
    """Add what a backup holds and the desk does not; nothing is written over."""
    try:
        said = restore(request.member, handed_in(request.FILES.get("file"), settings.MOST_FILE_BYTES))
    except Complaint as complaint:
        context = {"held": inventory(request.member), "complaint": complaint}
        return render(request, "desk/backup.html", context, status=422)
    for sentence in said:
        messages.info(request, sentence)
    return redirect("backup")
