"""Walkers: pace trials typed in, the pace table they make, the compass, and every earlier state."""

from __future__ import annotations

import uuid
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pacewright.desk.models import KeptLog, KeptWalker
from pacewright.desk.notebook.keeping import check_not_thrown
from pacewright.desk.serving.access import own
from pacewright.desk.serving.file_names import handed_in, handed_out
from pacewright.desk.walkers.keeping import (
    change_walker,
    go_back,
    name_of_walker,
    named_walker,
    new_walker,
    walker_in,
)
from pacewright.desk.walkers.page import COMPASS, compass_fields, past_states, said_trials, stands_now
from pacewright.desk.walkers.trial_table import (
    BLANK_ROWS,
    MORE_ROWS,
    TrialTable,
    ask_far,
    calibrate,
    check_table,
    csv_of,
    form_table,
    kept_table,
    with_blanks,
    with_pasted,
)
from pacewright.exceptions import Complaint

TYPED: Final = "pace trials typed"
IMPORTED: Final = "file imported"


@require_GET
def walkers(request: HttpRequest) -> HttpResponse:
    """Show the walkers, and how a new one comes in."""
    return _list(request)


def _list(request: HttpRequest, *, status: int = 200, **said: Any) -> HttpResponse:
    kept = KeptWalker.objects.filter(owner=request.member)
    return render(request, "desk/walkers.html", {"walkers": kept, **said}, status=status)


@require_POST
def walker_new(request: HttpRequest) -> HttpResponse:
    """Keep a new walker: a name alone, a walker file, or pace trials and a name."""
    name, file = request.POST.get("name", ""), request.FILES.get("file")
    try:
        kept = new_walker(request.member, _text(file)) if file else named_walker(request.member, name)
    except Complaint as complaint:
        return _list(request, status=422, complaint=complaint, name=name)
    return redirect("walker", walker_id=kept.pk)


@require_http_methods(["GET", "POST"])
def walker(request: HttpRequest, walker_id: uuid.UUID) -> HttpResponse:
    """Show a walker, and keep the trials that were typed."""
    kept = own(KeptWalker, request.member, walker_id)
    if request.method == "GET":
        return _page(request, kept)
    try:
        table = form_table(request.POST)
    except Complaint as complaint:
        return _page(request, kept, status=422, complaint=complaint)
    return _typed(request, kept, table)


def _typed(request: HttpRequest, kept: KeptWalker, table: TrialTable) -> HttpResponse:
    """Keep a typed table, or show it again with what is wrong, everything typed still in it."""
    pasted = request.POST.get("paste", "")
    try:
        table = with_pasted(table, pasted)
    except Complaint as complaint:
        return _page(request, kept, status=422, table=with_blanks(table), paste=pasted, paste_wrong=complaint)
    if request.POST.get("do") == "more":
        return _page(request, kept, table=with_blanks(table, MORE_ROWS), is_unsaved=True)
    checked = check_table(table)
    if not checked.is_right:
        return _page(request, kept, status=422, table=with_blanks(checked))
    asked = ask_far(checked)
    if request.POST.get("do") != "sure" and not asked.is_right:
        return _page(request, kept, status=422, table=with_blanks(asked), is_far=True)
    try:
        _keep_trials(kept, csv_of(table).decode("utf-8"), TYPED)
    except Complaint as complaint:
        return _page(request, kept, status=422, table=with_blanks(checked), complaint=complaint)
    messages.info(request, "Kept. The earlier state is in the history.")
    return redirect("walker", walker_id=kept.pk)


def _keep_trials(kept: KeptWalker, trials_csv: str, why: str) -> None:
    from pacewright.files.walker_toml import write_walker

    found = calibrate(kept_table(trials_csv, 0), walker_in(kept))
    change_walker(kept.pk, why, toml=write_walker(found.walker).decode("utf-8"), trials_csv=trials_csv)


def _page(
    request: HttpRequest,
    kept: KeptWalker,
    *,
    status: int = 200,
    table: TrialTable | None = None,
    compass: Any = None,
    **said: Any,
) -> HttpResponse:
    # What the trials come to is that of the kept ones: not to be shown above others that are being typed.
    context: dict[str, Any] = {"walker": kept, "shows_result": table is None, **said}
    try:
        walker_now = walker_in(kept)
        context |= {"now": stands_now(walker_now), "compass": compass or compass_fields(walker_now)}
        context["table"] = table or kept_table(kept.trials_csv, BLANK_ROWS)
        context |= said_trials(kept)
    except Complaint as complaint:
        context.setdefault("complaint", complaint)
        context.setdefault("table", table or with_blanks(TrialTable()))
    return render(request, "desk/walker.html", context, status=status)


@require_POST
def walker_compass(request: HttpRequest, walker_id: uuid.UUID) -> HttpResponse:
    """Keep the figures of the compass that were typed, or mark the one that is none."""
    from pacewright.files.walker_toml import with_compass, write_walker

    kept = own(KeptWalker, request.member, walker_id)
    before = after = walker_in(kept)
    wrong: dict[str, str] = {}
    typed = {key: request.POST.get(key, "") for key in COMPASS}
    for key, text in typed.items():
        try:
            changed = with_compass(after, key, text)
        except Complaint as complaint:
            wrong[key] = complaint.sentence
            continue
        # A figure that was only sent back is not one that was typed.
        after = changed if changed.compass != after.compass else after
    if wrong:
        return _page(request, kept, status=422, compass=compass_fields(before, typed, wrong))
    toml = write_walker(after).decode("utf-8") if after != before else kept.toml
    if change_walker(kept.pk, "compass figures typed", toml=toml):
        messages.info(request, "Kept. The earlier state is in the history.")
    return redirect("walker", walker_id=kept.pk)


@require_POST
def walker_name(request: HttpRequest, walker_id: uuid.UUID) -> HttpResponse:
    """Name a walker anew."""
    from dataclasses import replace

    from pacewright.files.walker_toml import write_walker

    kept = own(KeptWalker, request.member, walker_id)
    try:
        named = replace(walker_in(kept), name=name_of_walker(request.POST.get("name", "")))
        change_walker(kept.pk, "name changed", toml=write_walker(named).decode("utf-8"))
    except Complaint as complaint:
        return _page(request, kept, status=422, complaint=complaint)
    return redirect("walker", walker_id=kept.pk)


@require_POST
def walker_import(request: HttpRequest, walker_id: uuid.UUID) -> HttpResponse:
    """Put a walker file, or the trials of a file, in the place of the present state."""
    kept = own(KeptWalker, request.member, walker_id)
    try:
        text = _text(request.FILES.get("file"))
        if request.POST.get("what") == "trials":
            table = check_table(kept_table(text, 0))
            asked = ask_far(table) if table.is_right else table
            if table.is_right and not asked.is_right:
                return _page(request, kept, status=422, table=with_blanks(asked), is_far=True)
            _keep_trials(kept, text, IMPORTED)
        else:
            change_walker(kept.pk, IMPORTED, toml=text)
    except Complaint as complaint:
        return _page(request, kept, status=422, complaint=complaint)
    messages.info(request, "Imported. The earlier state is in the history.")
    return redirect("walker", walker_id=kept.pk)


def _text(file: Any) -> str:
    from pacewright.files.text_file import decode

    data = handed_in(file)
    decode(data, "a walker file or pace trials")
    return data.decode("utf-8")


@require_GET
def walker_file(request: HttpRequest, walker_id: uuid.UUID, kind: str) -> HttpResponse:
    """Hand out the walker file (`toml`) or the trials behind it (`csv`)."""
    kept = own(KeptWalker, request.member, walker_id)
    if kind == "csv":
        return handed_out(kept.trials_csv.encode("utf-8"), f"{kept.name} trials", ".csv", otherwise="trials")
    return handed_out(kept.toml.encode("utf-8"), kept.name, ".toml", otherwise="walker")


@require_http_methods(["GET", "POST"])
def walker_history(request: HttpRequest, walker_id: uuid.UUID) -> HttpResponse:
    """Show every earlier state of a walker, and go back to one: which is a new entry itself."""
    kept = own(KeptWalker, request.member, walker_id)
    if request.method == "POST":
        past = request.POST.get("past", "")
        changed = go_back(kept.pk, int(past) if past.isdecimal() and len(past) < 15 else 0)
        messages.info(
            request,
            "The earlier state is back."
            if changed
            else "Nothing to change: the walker is in that state already.",
        )
        return redirect("walker_history", walker_id=kept.pk)
    context = {"walker": kept, "now": stands_now(walker_in(kept)), "past": past_states(kept)}
    return render(request, "desk/walker_history.html", context)


@require_POST
def choose_walker(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Say who walked a log; nobody means the figures of the defaults."""
    log = own(KeptLog, request.member, log_id)
    check_not_thrown(log)
    chosen = request.POST.get("walker", "")
    found = None
    if chosen:
        try:
            found = own(KeptWalker, request.member, uuid.UUID(chosen))
        except ValueError:
            found = log.walker
    # The page itself is not touched: a row typed meanwhile in another tab stays.
    KeptLog.objects.filter(pk=log.pk).update(walker=found)
    return redirect("notebook", log_id=log.pk)
