"""After the walk: a log beside the log of its plan, leg by leg, and the debrief sheet with both."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from pacewright.desk.ask.fields import AskForm, choice_field, logs_of
from pacewright.desk.books.views_sheets import being_made
from pacewright.desk.models import KeptLog, Member
from pacewright.desk.notebook.page_reading import estimate_of
from pacewright.desk.notebook.reading import whole_reading
from pacewright.desk.planning.answered import answered
from pacewright.desk.serving.access import own
from pacewright.desk.serving.file_names import handed_out
from pacewright.desk.workers.asking import Question, answer_to
from pacewright.exceptions import Complaint

_TITLE = "Debrief"


class KeptForm(AskForm):
    """Which log was walked, and which is its plan."""

    walk = choice_field("the walk", (), "As it was walked.")
    plan = choice_field("its plan", (), "The plan as a travel log: row by row the same legs.")

    def __init__(self, sent: Mapping[str, Any] | None, member: Member) -> None:
        super().__init__(sent, member)
        for name in ("walk", "plan"):
            self.fields[name].choices = [("", "choose one"), *logs_of(member)]
            self.fields[name].required = True
            self.fields[name].error_messages["required"] = "Choose a log."


def kept_page(walk: KeptLog, plan: KeptLog) -> dict[str, Any]:
    """What the page shows of a walk beside its plan.

    Raises
    ------
    Complaint
        There is no leg, or the two do not pair.
    """
    from pacewright.answers.plan_kept import plan_kept
    from pacewright.wording.plan_kept import plan_kept_table, say_plan_kept

    log, walker = whole_reading(walk)
    estimate = estimate_of(walk, log, walker)
    kept = plan_kept(log, whole_reading(plan)[0], estimate.walker, estimate.known.frame)
    return {"said": say_plan_kept(kept), "table": plan_kept_table(kept)}


def debrief_pdf(walk: KeptLog, plan: KeptLog, printed_on: str) -> bytes:
    """The debrief sheet of a walk with its plan beside it, as a PDF.

    Raises
    ------
    Complaint
        There is no leg, or the two do not pair.
    """
    from pacewright.sheets.debrief import debrief_of, debrief_sheet
    from pacewright.sheets.paper import PAPERS
    from pacewright.sheets.typesetting import print_sheets

    log, walker = whole_reading(walk)
    told = debrief_of(estimate_of(walk, log, walker))
    paper = PAPERS["a4"]
    made = debrief_sheet(told, paper, plan=whole_reading(plan)[0])
    return print_sheets([made], paper, printed_on=printed_on).pdf


@require_GET
def plan_kept_view(request: HttpRequest) -> HttpResponse:
    """Ask for a walk and its plan, and show them side by side."""
    is_asked = "walk" in request.GET
    form = KeptForm(request.GET if is_asked else None, request.member)
    query = {"query": request.GET.urlencode()}
    return answered(request, "desk/plan_kept.html", form, lambda: _question(request, form, kept_page), query)


@require_GET
def plan_kept_sheet(request: HttpRequest) -> HttpResponse:
    """Show the debrief sheet with the plan beside the walk."""
    form = KeptForm(request.GET, request.member)
    if not form.is_valid():
        return redirect(f"{reverse('plan_kept')}?{request.GET.urlencode()}")
    try:
        data = answer_to(request, _question(request, form, debrief_pdf, timezone.localdate().isoformat()))
    except Complaint as complaint:
        form.complain(complaint)
        return render(request, "desk/plan_kept.html", {"form": form}, status=422)
    return being_made(request, _TITLE) if data is None else handed_out(data, _TITLE, ".pdf", inline=True)


def _question(request: HttpRequest, form: KeptForm, work: Any, *more: str) -> Question:
    logs = [own(KeptLog, request.member, uuid.UUID(form.cleaned_data[name])) for name in ("walk", "plan")]
    rests_on: list[Any] = [*more]
    for kept in logs:
        # Loaded now, and plain: a worker asks no database.
        whose, kept.came_as = kept.walker, None
        rests_on += [str(kept.pk), kept.revision, kept.start_place, kept.start_sd_m]
        rests_on += [] if whose is None else [whose.name, whose.toml]
    return Question(work, (*logs, *more), tuple(rests_on), False)
