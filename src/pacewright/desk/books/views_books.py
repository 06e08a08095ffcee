"""Books: the logs that are kept: looked through, copied, thrown away, brought in from files."""

from __future__ import annotations

import re
import uuid
from typing import Any, Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_POST

from pacewright.core.plain_text import clean_line
from pacewright.desk.books.importing import same_as, take_in_files, take_in_marked
from pacewright.desk.books.sheet_kinds import OF_A_LOG, PAPER_WORDS
from pacewright.desk.models import KeptLog
from pacewright.desk.notebook.keeping import UNTOUCHED, new_log, state_of
from pacewright.desk.notebook.page_changes import PageState
from pacewright.desk.serving.access import own, own_log
from pacewright.exceptions import Complaint, OutputComplaint

A_PAGE: Final = 50
MOST_WORDS: Final = 12
LONGEST_SEARCH: Final = 200
NOBODY: Final = "nobody"
_ORDERS: Final = {
    "changed": ("-changed_at", "latest change first"),
    "made": ("-made_at", "newest first"),
    "title": ("title", "by title"),
    "walker": ("walker__name", "by walker"),
}
ORDERS: Final = {name: field for name, (field, _) in _ORDERS.items()}
FILE_WORDS: Final = (
    ("log", "logs (CSV)"),
    ("stations", "stations (CSV)"),
    ("geojson", "GeoJSON"),
    ("gpx", "GPX"),
    ("gpkg", "GeoPackage"),
    ("svg", "figures (SVG)"),
    ("png", "figures (PNG)"),
    ("pdf", "figures (PDF)"),
)
_TITLE_LINE: Final = re.compile(r"^([^\S\n]*title[^\S\n]*:[^\n]*?)[^\S\n]*$", re.IGNORECASE | re.MULTILINE)


@require_GET
def books(request: HttpRequest) -> HttpResponse:
    """Show the logs that are kept, those that hold every word looked for."""
    return _list(request)


def _list(request: HttpRequest, *, status: int = 200, **said: Any) -> HttpResponse:
    asked = {
        name: clean_line(request.GET.get(name, ""))[:LONGEST_SEARCH] for name in ("q", "walker", "place")
    }
    order = request.GET.get("order", "")
    order = order if order in ORDERS else "changed"
    kept = _own_logs(request).filter(thrown_at__isnull=True).exclude(**UNTOUCHED)
    found = _at(_walked_by(_holding(kept, asked["q"].split()[:MOST_WORDS]), asked["walker"]), asked["place"])
    ordered = found.order_by(ORDERS[order], "-made_at", "pk")
    page = Paginator(ordered.select_related("walker"), A_PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "asked": asked,
        "is_sought": any(asked.values()),
        "order": order,
        "orders": [(name, words) for name, (_, words) in _ORDERS.items()],
        "query": urlencode({**asked, "order": order}),
        "walkers": request.member.walkers.all(),
        "thrown": _own_logs(request).filter(thrown_at__isnull=False).count(),
        "total": kept.count(),
        "sheet_kinds": [one for one in OF_A_LOG if one.name != "map"],
        "file_kinds": FILE_WORDS,
        "papers": PAPER_WORDS.items(),
        **said,
    }
    return render(request, "desk/books.html", context, status=status)


def _walked_by(logs: QuerySet[KeptLog], walker: str) -> QuerySet[KeptLog]:
    if not walker:
        return logs
    try:
        return logs.filter(walker=None if walker == NOBODY else uuid.UUID(walker))
    except ValueError:
        return logs.none()


def _at(logs: QuerySet[KeptLog], place: str) -> QuerySet[KeptLog]:
    """The logs that begin at a place, come to it, or know where it lies."""
    if not place:
        return logs
    written = (f"[at {place}", f"start: {place}", f"known: {place}", f"[see {place}")
    any_way = Q()
    for one in written:
        any_way |= Q(words__icontains=one)
    return logs.filter(any_way)


def _own_logs(request: HttpRequest) -> QuerySet[KeptLog]:
    return KeptLog.objects.filter(owner=request.member).defer("came_as", "words")


def _holding(logs: QuerySet[KeptLog], words: list[str]) -> QuerySet[KeptLog]:
    for word in words:
        # A database may know capitals of plain letters only: the usual ways of writing are all tried.
        ways = {word, word.lower(), word.upper(), word.capitalize()}
        any_way = Q()
        for way in ways:
            any_way |= Q(words__icontains=way)
        logs = logs.filter(any_way)
    return logs


@require_POST
def copy_log(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Keep a copy of a log as it stands, its title saying so."""
    log = own_log(request.member, log_id)
    state, is_own = state_of(log), log.owner_id == request.member.pk
    heading = _TITLE_LINE.sub(r"\1 (copy)", state.heading, count=1)
    came_as = None if log.came_as is None else bytes(log.came_as)
    copy = new_log(request.member, PageState(heading, state.rows), log.walker if is_own else None, came_as)
    KeptLog.objects.filter(pk=copy.pk).update(
        ground=log.ground if is_own else None, start_place=log.start_place, start_sd_m=log.start_sd_m
    )
    messages.info(request, "This is the copy.")
    return redirect("notebook", log_id=copy.pk)


@require_POST
def throw_log(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Put a log into the bin, take it back, or delete it for good."""
    log = own(KeptLog, request.member, log_id)
    verb = request.POST.get("do", "")
    if verb in ("throw", "delete") and not request.member.is_owner and log.entries.exists():
        raise OutputComplaint("this log is a card of an exercise", "Ask the instructor to delete the card")
    if verb == "back":
        KeptLog.objects.filter(pk=log.pk).update(thrown_at=None)
    elif verb == "delete" and log.thrown_at is not None:
        log.delete()
    elif verb == "throw":
        KeptLog.objects.filter(pk=log.pk, thrown_at__isnull=True).update(thrown_at=timezone.now())
        messages.info(request, f"Thrown away: {log.title or 'a log without a title'}. It lies in the bin.")
        return redirect("books")
    return redirect("bin")


@require_GET
def throw_bin(request: HttpRequest) -> HttpResponse:
    """Show what was thrown away."""
    thrown = _own_logs(request).filter(thrown_at__isnull=False).order_by("-thrown_at")
    page = Paginator(thrown, A_PAGE).get_page(request.GET.get("page"))
    return render(request, "desk/bin.html", {"page": page})


@require_POST
def import_logs(request: HttpRequest) -> HttpResponse:
    """Keep the travel logs of the files that were handed in."""
    files = request.FILES.getlist("files")
    if not files:
        return _list(
            request, status=422, refused=["No file was chosen. Choose one or several and send them."]
        )
    came = take_in_files(request.member, files)
    if not came.refused and not came.twice and not came.marked and len(came.kept) == 1:
        return redirect("notebook", log_id=came.kept[0].pk)
    said = {"kept": came.kept, "refused": came.refused, "twice": came.twice, "marked": came.marked}
    return _list(request, status=422 if came.refused else 200, **said)


@require_POST
def paste_log(request: HttpRequest) -> HttpResponse:
    """Keep the travel log that was pasted as text."""
    # A form sends every line break as two marks; on the clipboard it was one.
    text = request.POST.get("text", "").replace("\r\n", "\n")
    try:
        log, wrong = take_in_marked(request.member, text.encode("utf-8"))
    except Complaint as complaint:
        return _list(request, status=422, pasted=text, paste_wrong=complaint.placed_sentence)
    first = same_as(log)
    if wrong is not None:
        messages.error(request, f"Kept, with cells that are not understood: {wrong}")
    if first is not None:
        return _list(request, kept=(log,), twice=((log, first),))
    return redirect("notebook", log_id=log.pk)
