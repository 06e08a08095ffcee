"""Sheets: each one printed from the page that shows the thing, blank ones from a page of their own."""

from __future__ import annotations

import uuid
from typing import Any, Final

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from pacewright.desk.books.sheet_kinds import (
    AT_ONCE,
    BLANK,
    OF_A_LOG,
    OF_A_WALKER,
    PAPER_WORDS,
    UNITS,
    Kind,
    blank_sheet_pdf,
    log_sheet_pdf,
    walker_sheet_pdf,
)
from pacewright.desk.models import KeptLog, KeptWalker
from pacewright.desk.notebook.keeping import UNTOUCHED
from pacewright.desk.notebook.log_files import is_placed, whole_log
from pacewright.desk.notebook.reading import places_of
from pacewright.desk.serving.access import own, own_log
from pacewright.desk.serving.file_names import handed_out
from pacewright.desk.serving.habits import how_read
from pacewright.desk.workers.asking import Question, answer_to, how_far, of_log
from pacewright.exceptions import Complaint

LONG_TRIALS: Final = 4_000
"""Letters of pace trials whose sheet is not laid out in the time of a page."""


@require_GET
def sheets(request: HttpRequest) -> HttpResponse:
    """Show the sheets that belong to no log."""
    return _blank_page(request)


def _blank_page(request: HttpRequest, *, status: int = 200, **said: Any) -> HttpResponse:
    context = {
        "kinds": BLANK,
        "papers": PAPER_WORDS.items(),
        "units": UNITS,
        "walkers": KeptWalker.objects.filter(owner=request.member),
        "logs": KeptLog.objects.filter(owner=request.member, thrown_at__isnull=True)
        .exclude(**UNTOUCHED)
        .defer("came_as")[:12],
        "asked": {"date": timezone.localdate().isoformat(), **request.GET.dict()},
    }
    return render(request, "desk/sheets.html", {**context, **said}, status=status)


@require_GET
def blank_pdf(request: HttpRequest, kind: str) -> HttpResponse:
    """Show a sheet that belongs to no log as a PDF; what is asked wrongly is said beside its form."""
    found = _known(BLANK, kind)
    asked = {**how_read(), **request.GET.dict()}
    try:
        walker = _asked_walker(request, asked.get("walker", ""))
        data = answer_to(request, _blank_question(kind, asked, walker))
    except Complaint as complaint:
        return _blank_page(request, status=422, wrong_kind=kind, complaint=complaint)
    if data is None:
        return being_made(request, found.title)
    return handed_out(data, found.title, ".pdf", inline=True)


def _blank_question(kind: str, asked: dict[str, str], walker: KeptWalker | None) -> Question:
    # Some pages are laid out in the time of one; fifty are not.
    is_quick = len(asked.get("pages", "")) < 2
    return Question(blank_sheet_pdf, (kind, asked, walker), (kind, asked, _figures(walker)), is_quick)


def _figures(walker: KeptWalker | None) -> tuple[str, ...]:
    return () if walker is None else (walker.name, walker.toml, walker.trials_csv)


def being_made(request: HttpRequest, what: str, question: Question | None = None) -> HttpResponse:
    """Say that a sheet or a file is being made, and how far it is; the browser comes again by itself."""
    far = None if question is None else how_far(question)
    page = render(request, "desk/sheet_working.html", {"what": what, "far": far}, status=202)
    page.headers["Refresh"] = "1"
    return page


def _asked_walker(request: HttpRequest, identity: str) -> KeptWalker | None:
    if not identity:
        return None
    try:
        return own(KeptWalker, request.member, uuid.UUID(identity))
    except ValueError:
        raise Http404 from None


@require_GET
def log_sheets(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show every sheet and file of a log."""
    return _log_page(request, own_log(request.member, log_id))


def _log_page(request: HttpRequest, log: KeptLog, *, status: int = 200, **said: Any) -> HttpResponse:
    context: dict[str, Any] = {
        "log": log,
        "here": "sheets",
        "papers": PAPER_WORDS.items(),
        "units": UNITS,
        "asked": request.GET.dict(),
        "is_placed": is_placed(log),
    }
    try:
        context["places"] = places_of(whole_log(log))
    except Complaint as complaint:
        context["not_whole"] = complaint
    context["kinds"] = [one for one in OF_A_LOG if one.name != "map" or _has_map(log, context["is_placed"])]
    return render(request, "desk/log_sheets.html", {**context, **said}, status=status)


def _has_map(log: KeptLog, placed: bool) -> bool:
    return placed and log.ground is not None


@require_GET
def log_pdf(request: HttpRequest, log_id: uuid.UUID, kind: str) -> HttpResponse:
    """Show a sheet of a log as a PDF."""
    log = own_log(request.member, log_id)
    found = _known(OF_A_LOG, kind)
    asked = {**how_read(), **request.GET.dict()}
    try:
        data = answer_to(request, of_log(log_sheet_pdf, log, kind, asked, most_rows=AT_ONCE))
    except Complaint as complaint:
        return _log_page(request, log, status=422, wrong_kind=kind, complaint=complaint)
    if data is None:
        return being_made(request, found.title)
    title = f"{log.title} {found.title}" if log.title else found.title
    return handed_out(data, title, ".pdf", inline=True)


@require_GET
def walker_pdf(request: HttpRequest, walker_id: uuid.UUID, kind: str) -> HttpResponse:
    """Show a sheet of a walker as a PDF."""
    kept = own(KeptWalker, request.member, walker_id)
    found = _known(OF_A_WALKER, kind)
    asked = {**how_read(), **request.GET.dict()}
    is_quick = len(kept.trials_csv) < LONG_TRIALS
    data = answer_to(
        request,
        Question(
            walker_sheet_pdf, (kept, kind, asked), (str(kept.pk), kind, asked, _figures(kept)), is_quick
        ),
    )
    if data is None:
        return being_made(request, found.title)
    return handed_out(data, f"{kept.name} {found.title}", ".pdf", inline=True)


def _known(kinds: tuple[Kind, ...], name: str) -> Kind:
    found = next((one for one in kinds if one.name == name), None)
    if found is None:
        raise Http404
    return found
