"""Books: what is done with several logs at once, and a log renamed where it stands in the list."""

from __future__ import annotations

import re
import secrets
import uuid
from collections.abc import Callable
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_POST

from pacewright.core.plain_text import clean_line
from pacewright.desk.books.several_logs import MOST_LOGS, archive_of, sheets_of
from pacewright.desk.books.sheet_kinds import OF_A_LOG
from pacewright.desk.books.views_sheets import being_made
from pacewright.desk.models import KeptLog
from pacewright.desk.notebook.hidden_answers import shown_of
from pacewright.desk.notebook.keeping import keep_change
from pacewright.desk.notebook.log_files import KINDS
from pacewright.desk.serving.access import own
from pacewright.desk.serving.file_names import handed_out
from pacewright.desk.serving.habits import how_read
from pacewright.desk.workers.asking import Question, answer_to
from pacewright.exceptions import Complaint, MissingComplaint, OutputComplaint, ValueComplaint

LONGEST_TITLE: Final = 200
_TITLE_LINE: Final = re.compile(r"^[^\S\n]*title[^\S\n]*:[^\n]*$", re.IGNORECASE | re.MULTILINE)


@require_GET
def several_files(request: HttpRequest) -> HttpResponse:
    """Hand the files of several logs out as one archive."""
    kind = request.GET.get("file", "log")
    if kind not in KINDS:
        raise ValueComplaint("this is no kind of file of a log", "Choose one from the list")
    return _made(request, "The files", ".zip", lambda logs: (archive_of, (logs, kind, how_read())))


@require_GET
def several_sheets(request: HttpRequest) -> HttpResponse:
    """Show one kind of sheet of several logs as one PDF."""
    kind = next((one for one in OF_A_LOG if one.name == request.GET.get("sheet")), None)
    if kind is None:
        raise ValueComplaint("this is no kind of sheet of a log", "Choose one from the list")
    asked = {**how_read(), "paper": request.GET.get("paper", "") or how_read()["paper"]}
    return _made(request, kind.title, ".pdf", lambda logs: (sheets_of, (logs, kind.name, asked)))


Work = tuple[Callable[..., bytes], tuple[Any, ...]]


def _made(
    request: HttpRequest, title: str, ending: str, work: Callable[[list[KeptLog]], Work]
) -> HttpResponse:
    logs = _chosen(request, request.GET.getlist("log"))
    for log in logs:
        # A worker asks no database: all that it reads is loaded now.
        _ = log.walker, log.ground
        log.came_as = None if log.came_as is None else bytes(log.came_as)
    make, arguments = work(logs)
    rests_on = [
        (str(one.pk), one.revision, one.start_place, one.walker_id and one.walker.toml) for one in logs
    ]
    try:
        question = Question(make, arguments, (rests_on, arguments[1:]), False)
        data = answer_to(request, question)
    except Complaint as complaint:
        messages.error(request, complaint.sentence)
        return redirect("books")
    if data is None:
        return being_made(request, f"{title} of {len(logs)} logs", question)
    return handed_out(data, f"{title} of {len(logs)} logs", ending, inline=ending == ".pdf")


def _chosen(request: HttpRequest, identities: list[str]) -> list[KeptLog]:
    """The member's own logs that were ticked, in the order of the list.

    Raises
    ------
    Complaint
        None was, or too many.
    """
    wanted = []
    for one in identities[: MOST_LOGS + 1]:
        try:
            wanted.append(uuid.UUID(one))
        except ValueError:
            continue
    if not wanted:
        raise MissingComplaint("no log was ticked", "Tick those that are meant, then choose again")
    if len(wanted) > MOST_LOGS:
        raise ValueComplaint(f"more than {MOST_LOGS} logs at once", "Tick fewer")
    logs = {one.pk: one for one in KeptLog.objects.filter(owner=request.member, pk__in=wanted)}
    return [logs[one] for one in wanted if one in logs and shown_of(request.member, one) == "all"]


@require_POST
def several(request: HttpRequest) -> HttpResponse:
    """Do with the ticked logs what was asked: throw them away, or lead to their files or sheets."""
    do = request.POST.get("do", "")
    logs = _chosen(request, request.POST.getlist("log"))
    if do == "throw":
        return _throw(request, logs)
    sent = [("log", str(one.pk)) for one in logs]
    sent += [(name, request.POST.get(name, "")) for name in ("file", "sheet", "paper")]
    return redirect(reverse("several_sheets" if do == "sheets" else "several_files") + f"?{urlencode(sent)}")


def _throw(request: HttpRequest, logs: list[KeptLog]) -> HttpResponse:
    if not request.member.is_owner and any(one.entries.exists() for one in logs):
        raise OutputComplaint(
            "one of these is a card of an exercise", "Ask the instructor to delete the card"
        )
    ids = [one.pk for one in logs]
    KeptLog.objects.filter(pk__in=ids, thrown_at__isnull=True).update(thrown_at=timezone.now())
    messages.info(request, f"Thrown away: {len(ids)} log{'' if len(ids) == 1 else 's'}. They lie in the bin.")
    return redirect("books")


@require_POST
def rename(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Write another title into a log's heading."""
    log = own(KeptLog, request.member, log_id)
    title = clean_line(request.POST.get("title", ""))[:LONGEST_TITLE]
    line = f"title: {title}"
    if _TITLE_LINE.search(log.heading):
        heading = _TITLE_LINE.sub(lambda _: line, log.heading, count=1)
    else:
        heading = f"{line}\n{log.heading}" if log.heading else line
    change = {"kind": "heading", "heading": heading, "was": log.heading}
    try:
        keep_change(log.pk, secrets.token_urlsafe(12), change, request.member.name)
    except Complaint as complaint:
        messages.error(request, complaint.sentence)
    return redirect(f"{request.POST.get('back', '') or '/books'}" if _is_books(request) else "books")


def _is_books(request: HttpRequest) -> bool:
    return request.POST.get("back", "").startswith("/books?")
