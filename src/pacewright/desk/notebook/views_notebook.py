"""The notebook: logs at hand, typing one, and the answer that follows every change."""

from __future__ import annotations

import json
import secrets
import uuid
from collections.abc import Callable, Mapping
from itertools import groupby
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_GET, require_POST

from pacewright.core.log.typed_page import TypedPage
from pacewright.desk.models import KeptLog, Member
from pacewright.desk.notebook.hidden_answers import answer_instead
from pacewright.desk.notebook.keeping import UNTOUCHED, can_undo, keep_changes, undo_last
from pacewright.desk.notebook.page_changes import Change
from pacewright.desk.notebook.page_form import form_changes
from pacewright.desk.notebook.page_reading import PageAnswer, answer_page, heading_says, mark_rows, read_page
from pacewright.desk.notebook.page_told import TOLD_PAGES, answer_mark
from pacewright.desk.serving.access import check_own_log, fresh_log, own_log
from pacewright.desk.serving.answer_turns import AnswerTurns
from pacewright.desk.workers.asking import Question, answer_to, nothing_new, of_log, still_waits
from pacewright.exceptions import Complaint, FormatComplaint, OutputComplaint

MOST_CHANGES: Final = 500
AT_ONCE: Final = 400
"""Rows of a page that is answered while it is typed."""
WORKING: Final = "This log is long. Its answer is being worked out, and stands here as soon as it is there."
REMARKS: Final = (
    ("[at ]", "at a place"),
    ("[see ]", "a thing seen"),
    ("[back ]", "back azimuth"),
    ("[box right ]", "boxed right"),
    ("[box left ]", "boxed left"),
    ("[est]", "estimated"),
    ("[ground ]", "ground"),
    ("[up]", "up"),
    ("[level]", "level"),
    ("[down]", "down"),
    ("[cross stream]", "crosses a stream"),
    ("[time ]", "time"),
)
"""Remarks of the palette, each with the words on its button; a blank before the bracket waits for a name."""
TURNS: Final = AnswerTurns()


@require_GET
def home(request: HttpRequest, beside: Callable[[Member], dict[str, Any]]) -> HttpResponse:
    """Show the logs at hand, the latest first, and how to begin; `beside` gives what else a member has."""
    kept = KeptLog.objects.filter(owner=request.member, thrown_at__isnull=True).exclude(**UNTOUCHED)
    logs = kept.defer("came_as")[:12]
    return render(request, "desk/home.html", {"logs": logs, **beside(request.member)})


@require_POST
def begin(request: HttpRequest) -> HttpResponse:
    """Begin an empty notebook, or the finished example."""
    from pacewright.desk.notebook.beginning import empty_log, example_log

    wants_example = request.POST.get("what") == "example"
    log = example_log(request.member) if wants_example else empty_log(request.member)
    return redirect("notebook", log_id=log.pk)


@require_GET
@gzip_page
def notebook(
    request: HttpRequest, log_id: uuid.UUID, beside: Callable[[Member, KeptLog], dict[str, Any]]
) -> HttpResponse:
    """Show a log as a page to type on, with the answer beside it, and what `beside` gives with the two."""
    log = own_log(request.member, log_id)
    page = read_page(log)
    marks = mark_rows(log, page)
    context = {
        "log": log,
        "marks": marks,
        "asking_row": next((number for number, mark in enumerate(marks, start=1) if mark.other), None),
        "page": page,
        "heading_says": heading_says(page),
        **_shown_answer(request, log, _goal(request.GET.get("to"))),
        "can_undo": can_undo(log),
        "remarks": REMARKS,
        "form_key": secrets.token_urlsafe(12),
        "blanks": [f"n{secrets.token_hex(5)}" for _ in range(3)],
        "walkers": log.owner.walkers.all() if log.owner_id == request.member.pk else None,
        **beside(request.member, log),
    }
    return render(request, "desk/notebook.html", context)


@require_POST
@gzip_page
def changes(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Keep the changes that a browser sends, each once, and answer with the page as it stands.

    The body is JSON: `{"changes": [{"key": .., "kind": .., ..}, ..], "goal": 0}`; the kind `undo` takes
    the latest change back. `seen` and `seen_answer` are the marks of what the browser has: only what differs
    travels. With `quiet` nothing of the page does. The answer is null while others wait: the browser asks
    again for it; it is false where the browser has it.
    """
    check_own_log(request.member, log_id)
    try:
        sent = _sent(request.body)
    except Complaint as complaint:
        return JsonResponse({"complaint": complaint.sentence}, status=422)
    keyed = [(str(one.get("key", "")), one) for one in sent["changes"]]
    with TURNS.served():
        try:
            log, refused = _keep_all(log_id, keyed, request.member.name)
        except OutputComplaint as complaint:
            return JsonResponse({"complaint": complaint.sentence}, status=423)
        if sent.get("quiet"):
            return JsonResponse({"refused": refused})
        told = _told(request, log or fresh_log(log_id), sent.get("goal"), sent)
        return JsonResponse({"refused": refused, **told})


@require_GET
@gzip_page
def since(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """The page, for a browser that has another revision of it; nothing where it is the same."""
    log = own_log(request.member, log_id)
    is_thrown = "1" if log.thrown_at is not None else "0"
    if (request.GET.get("revision"), request.GET.get("thrown", "0")) == (str(log.revision), is_thrown):
        return nothing_new()
    with TURNS.served():
        told = _told(request, log, _goal(request.GET.get("to")), request.GET)
        return JsonResponse({"refused": [], **told})


def _keep_all(
    log_id: uuid.UUID, sent: list[tuple[str, Change]], who: str
) -> tuple[KeptLog | None, list[dict[str, str]]]:
    """Keep changes in order, those between two undos at once; give the log, and why not where one was not.

    The log is as the last of them left it; None where there was none to keep, or the last took one back.

    Raises
    ------
    OutputComplaint
        The log lies in the bin.
    """
    log: KeptLog | None = None
    refused: list[dict[str, str]] = []
    for is_undo, run in groupby(sent, key=lambda one: one[1].get("kind") == "undo"):
        if is_undo:
            log, told = None, dict(filter(None, (_undo(log_id, key, who) for key, _ in run)))
        else:
            kept = keep_changes(log_id, [(key, _bare(change)) for key, change in run], who)
            log, told = kept.log, dict(kept.refused)
        refused += [{"key": key, "complaint": complaint.sentence} for key, complaint in told.items()]
    return log, refused


def _undo(log_id: uuid.UUID, key: str, who: str) -> tuple[str, Complaint] | None:
    try:
        undo_last(log_id, key, who)
    except OutputComplaint:
        raise
    except Complaint as complaint:
        return key, complaint
    return None


def _bare(change: Change) -> Change:
    return {name: value for name, value in change.items() if name != "key"}


def _sent(body: bytes) -> dict[str, Any]:
    wrong = FormatComplaint("what was sent is no change of a page", "Load the page again")
    try:
        sent = json.loads(body)
    except (ValueError, RecursionError):
        raise wrong from None
    found = sent.get("changes") if isinstance(sent, dict) else None
    if (
        not isinstance(found, list)
        or len(found) > MOST_CHANGES
        or not all(isinstance(c, dict) for c in found)
    ):
        raise wrong
    return dict(sent)


def _told(request: HttpRequest, log: KeptLog, goal: Any, has: Mapping[str, Any]) -> dict[str, Any]:
    """What a browser is told of a log; `has` holds the marks of what it has."""
    page = read_page(log)
    rows = [{name: getattr(mark, name) for name in mark.__slots__} for mark in mark_rows(log, page)]
    answer: str | bool | None = _answer_in_turn(request, log, page, goal if isinstance(goal, int) else None)
    marked = answer_mark(answer) if isinstance(answer, str) else ""
    if marked and has.get("seen_answer") == marked:
        answer = False
    return {
        "revision": log.revision,
        **TOLD_PAGES.since(rows, str(has.get("seen", ""))),
        "heading": log.heading,
        "heading_says": heading_says(page),
        "title": log.title,
        "thrown": log.thrown_at is not None,
        "answer": answer,
        "answer_mark": marked,
    }


def _question(log: KeptLog, goal: int | None) -> Question:
    return of_log(page_answer, log, goal, most_rows=AT_ONCE)


def page_answer(log: KeptLog, goal: int | None) -> PageAnswer:
    """What a kept page says so far."""
    return answer_page(log, read_page(log), goal)


def _shown_answer(request: HttpRequest, log: KeptLog, goal: int | None) -> dict[str, Any]:
    """The answer of a page, or what is shown in its place while a worker has it."""
    instead = answer_instead(request.member, log)
    if instead is not None:
        return {"answer": instead}
    try:
        found = answer_to(request, _question(log, goal))
    except Complaint as complaint:
        return {"answer": PageAnswer(not_yet=complaint.sentence)}
    if found is not None:
        return {"answer": found}
    to = "" if goal is None else f"?to={goal}"
    return {
        "answer": PageAnswer(not_yet=WORKING, goal=goal or 0),
        "answer_at": reverse("answer", kwargs={"log_id": log.pk}) + to,
    }


def _answer_in_turn(request: HttpRequest, log: KeptLog, page: TypedPage, goal: int | None) -> str | None:
    if not _question(log, goal).is_quick:
        # The browser asks again until a worker has it.
        shown = _shown_answer(request, log, goal)
        return (
            None
            if "answer_at" in shown
            else render_to_string("desk/answer.html", {**shown, "log": log}, request)
        )
    with TURNS.answering() as is_mine:
        if not is_mine:
            return None
        found = answer_instead(request.member, log) or answer_page(log, page, goal)
        return render_to_string("desk/answer.html", {"answer": found, "log": log}, request)


@require_POST
def save_page(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Keep a whole page that was sent as a plain form, and what its button asks for."""
    check_own_log(request.member, log_id)
    _, refusals = _keep_all(log_id, form_changes(request.POST), request.member.name)
    for refused in refusals:
        messages.error(request, refused["complaint"])
    to = request.POST.get("to", "")
    tail = f"?to={int(to)}" if to.isdecimal() and len(to) < 8 else ""
    return redirect(reverse("notebook", kwargs={"log_id": log_id}) + tail)


@require_GET
@gzip_page
def answer(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """The answer alone, for another goal."""
    log = own_log(request.member, log_id)
    goal = _goal(request.GET.get("to"))
    if "waits" in request.GET and still_waits(request, _question(log, goal)):
        return nothing_new()
    return render(request, "desk/answer.html", {"log": log, **_shown_answer(request, log, goal)})


def _goal(text: str | None) -> int | None:
    return int(text) if text and text.isdecimal() and len(text) < 8 else None
