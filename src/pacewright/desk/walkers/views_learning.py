"""A log beside its recorded track, and a walker's figures set right by several logs at once."""

from __future__ import annotations

import io
import uuid
from collections.abc import Sequence
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pacewright.desk.models import KeptLog, KeptWalker
from pacewright.desk.notebook.hidden_answers import shown_of
from pacewright.desk.notebook.reading import page_context, read_kept, whole_reading
from pacewright.desk.serving.access import own, own_log
from pacewright.desk.serving.file_names import handed_in, shown_file_name
from pacewright.desk.walkers.keeping import walker_in
from pacewright.desk.walkers.learning import learnt_from_logs, learnt_logs, learnt_of, offer, take_offer
from pacewright.desk.workers.asking import Question, answer_to, asks_again_at, nothing_new, still_waits
from pacewright.exceptions import Complaint, FormatComplaint

LARGEST_TRACK: Final = 8_000_000
MOST_LOGS: Final = 50
AT_ONCE: Final = 60
"""Rows of the logs together that are learnt from in the time of a page."""


@require_http_methods(["GET", "POST"])
def track(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show a log beside the recorded track of the same walk, once a track is handed in."""
    kept = own_log(request.member, log_id)
    reading = read_kept(kept)
    context = page_context(reading, "track")
    if request.method == "POST" and reading.log is not None:
        try:
            context |= _beside(kept, request.FILES.get("file"))
        except Complaint as complaint:
            context["refused"] = complaint.sentence
    return render(request, "desk/reading_track.html", context, status=422 if "refused" in context else 200)


def _beside(kept: KeptLog, file: Any) -> dict[str, Any]:
    from pacewright.files.gpx_track import read_track_from
    from pacewright.files.known_places import open_model
    from pacewright.ground.track_truth import compare
    from pacewright.wording.truth import say_truth, truth_table

    log, walker = whole_reading(kept)
    recorded = read_track_from(io.BytesIO(handed_in(file, LARGEST_TRACK)))
    found = compare(log, recorded, walker, open_model(log))
    shown = {"track_name": shown_file_name(file), "said": say_truth(found), "table": truth_table(found)}
    whose = kept.walker
    if whose is None or whose.owner_id != kept.owner_id or not found.fits:
        return shown
    if kept.pk in learnt_logs(whose):
        again = f"{whose.name} has learnt from this log already: again would count the same walking twice."
        return {**shown, "learn_said": (again,)}
    learnt = learnt_of(walker, [(kept.title or "This log", found.told)])
    return {**shown, **learnt, "offered": _offered(whose, [kept], learnt)}


def _offered(whose: KeptWalker, logs: Sequence[KeptLog], learnt: dict[str, Any]) -> str:
    return offer(whose, logs, learnt["learnt_toml"]) if learnt["learnt_toml"] else ""


@require_GET
def learn(request: HttpRequest, walker_id: uuid.UUID) -> HttpResponse:
    """Show what the logs that are chosen tell of their walker, all at once."""
    whose = own(KeptWalker, request.member, walker_id)
    held = learnt_logs(whose)
    mine = KeptLog.objects.filter(owner=request.member, walker=whose, thrown_at__isnull=True)
    # The oldest first: evidence grows old.
    logs = [
        one
        for one in mine.defer("came_as", "words").order_by("made_at")
        if shown_of(request.member, one.pk) == "all"
    ]
    wanted = set(request.GET.getlist("log"))
    chosen = [one for one in logs if str(one.pk) in wanted and one.pk not in held][:MOST_LOGS]
    context: dict[str, Any] = {
        "walker": whose,
        "logs": [(one, one.pk in held, str(one.pk) in wanted) for one in logs],
        "is_none_chosen": bool(request.GET) and not chosen,
    }
    if chosen:
        question = _question(whose, chosen)
        if still_waits(request, question):
            return nothing_new()
        found = answer_to(request, question)
        if found is None:
            context["ask_again"] = asks_again_at(request)
        else:
            context |= found | {"offered": _offered(whose, chosen, found)}
    return render(request, "desk/walker_learn.html", context)


def _question(whose: KeptWalker, logs: list[KeptLog]) -> Question:
    for log in logs:
        # A worker asks no database: the walker is loaded, and what it does not read is left away.
        log.walker, log.came_as = whose, None
    rests_on = tuple((str(one.pk), one.revision, one.start_place, one.start_sd_m) for one in logs)
    is_quick = sum(len(one.rows) for one in logs) <= AT_ONCE
    return Question(learnt_from_logs, (whose, logs), (str(whose.pk), whose.toml, rests_on), is_quick)


@require_POST
def keep_learnt(request: HttpRequest, walker_id: uuid.UUID) -> HttpResponse:
    """Write what was shown into the walker's figures."""
    whose = own(KeptWalker, request.member, walker_id)
    try:
        messages.success(request, take_offer(whose, request.POST.get("offered", "")))
    except Complaint as complaint:
        messages.error(request, complaint.sentence)
    return redirect("walker", walker_id=walker_id)


@require_GET
def compare(request: HttpRequest, walker_id: uuid.UUID) -> HttpResponse:
    """Show two walkers side by side."""
    whose = own(KeptWalker, request.member, walker_id)
    others = list(KeptWalker.objects.filter(owner=request.member).exclude(pk=whose.pk))
    other = next((one for one in others if str(one.pk) == request.GET.get("with")), None)
    context: dict[str, Any] = {"walker": whose, "others": others, "other": other}
    if other is not None:
        try:
            context |= _compared(whose, other)
        except Complaint as complaint:
            context["refused"] = complaint.sentence
    return render(request, "desk/walker_compare.html", context)


def _compared(whose: KeptWalker, other: KeptWalker) -> dict[str, Any]:
    from pacewright.answers.walkers_compared import compare_walkers
    from pacewright.wording.walkers_compared import say_walkers_compared

    if whose.name == other.name:
        raise FormatComplaint("both walkers have the same name", "Rename one, so that they can be told apart")
    said = say_walkers_compared(compare_walkers(walker_in(whose), walker_in(other)))
    return {"said": said.sentences, "tables": said.tables}
