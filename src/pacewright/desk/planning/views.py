"""The page that plans: its form and map, the plan once it is worked out, and its sheets."""

from __future__ import annotations

import datetime
import uuid
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from pacewright.desk.books.views_sheets import being_made
from pacewright.desk.models import Ground, KeptLog, LandFeatures
from pacewright.desk.notebook.ground_keeping import demo_ground_of, terrain_line
from pacewright.desk.planning.answered import answered
from pacewright.desk.planning.form import PlanForm
from pacewright.desk.planning.land_features import keep_features
from pacewright.desk.planning.work import Held, Wanted, plan_log_csv, plan_page, plan_sheet_pdf
from pacewright.desk.serving.access import own, owner_only
from pacewright.desk.serving.file_names import handed_out
from pacewright.desk.workers.asking import Question, answer_to
from pacewright.exceptions import Complaint, MissingComplaint

ASKED: Final = "ground"
"""The field by which it is told that something is asked."""
_PAPERS: Final = (("a4", "A4"), ("letter", "Letter"), ("a5", "A5"))
_TITLE: Final = "Plan"
_LONGEST_QUERY: Final = 8_000


@require_GET
def plan(request: HttpRequest) -> HttpResponse:
    """Ask from where to where, and show the plan; a plan whose ends were moved is proved anew."""
    if "example" in request.GET:
        ground = demo_ground_of(request.member)
        return redirect(f"{reverse('plan')}?ground={ground.pk}")
    is_asked = bool(request.GET.get(ASKED))
    form = PlanForm(request.GET if is_asked else None, request.member)
    return answered(
        request, "desk/plan.html", form, lambda: _question(request, form, plan_page), _context(request, form)
    )


def _context(request: HttpRequest, form: PlanForm) -> dict[str, Any]:
    handed = LandFeatures.objects.filter(owner=request.member)
    return {
        "form": form,
        "papers": _PAPERS,
        "terrain_line": terrain_line(),
        "handed": handed,
        "query": request.GET.urlencode(),
    }


@require_POST
@owner_only
def hand_in_features(request: HttpRequest) -> HttpResponse:
    """Keep a file of lines and areas, and plan with it."""
    asked = QueryDict(request.POST.get("query", "")[:_LONGEST_QUERY], mutable=True)
    sent = request.FILES.get("file")
    try:
        if sent is None:
            raise MissingComplaint("no file came with the form", "Choose GeoJSON, GeoPackage or GPX first")
        kept = keep_features(request.member, request.POST.get("name", ""), sent)
    except Complaint as complaint:
        context = _context(request, PlanForm(asked or None, request.member))
        return render(
            request,
            "desk/plan.html",
            {**context, "query": asked.urlencode(), "wrong_file": complaint.sentence},
            status=422,
        )
    asked.appendlist("features", str(kept.pk))
    return redirect(f"{reverse('plan')}?{asked.urlencode()}")


@require_POST
@owner_only
def throw_away_features(request: HttpRequest, features_id: uuid.UUID) -> HttpResponse:
    """Take a file of lines and areas off the desk."""
    kept = own(LandFeatures, request.member, features_id)
    kept.delete()
    messages.success(request, f"{kept.name} is taken off the desk.")
    asked = QueryDict(request.POST.get("query", "")[:_LONGEST_QUERY], mutable=True)
    asked.setlist("features", [one for one in asked.getlist("features") if one != str(features_id)])
    return redirect(f"{reverse('plan')}?{asked.urlencode()}")


@require_GET
def plan_sheets_pdf(request: HttpRequest) -> HttpResponse:
    """Show the sheets of the plan as a PDF."""
    wanted = request.GET.get("paper", "a4")
    paper = wanted if wanted in dict(_PAPERS) else "a4"
    return _handed(request, plan_sheet_pdf, (paper, timezone.localdate().isoformat()), ".pdf")


@require_GET
def plan_log(request: HttpRequest) -> HttpResponse:
    """The plan as a travel log."""
    return _handed(request, plan_log_csv, (), ".csv")


def _handed(request: HttpRequest, work: Any, more: tuple[str, ...], ending: str) -> HttpResponse:
    form = PlanForm(request.GET, request.member)
    if not form.is_valid():
        return redirect(f"{reverse('plan')}?{request.GET.urlencode()}")
    try:
        data = answer_to(request, _question(request, form, work, *more))
    except Complaint as complaint:
        form.complain(complaint)
        return render(request, "desk/plan.html", _context(request, form), status=422)
    if data is None:
        return being_made(request, _TITLE)
    return handed_out(data, _TITLE, ending, inline=ending == ".pdf")


def _question(request: HttpRequest, form: PlanForm, work: Any, *more: str) -> Question:
    try:
        ground = own(Ground, request.member, uuid.UUID(form.cleaned_data["ground"]))
    except ValueError:
        raise MissingComplaint("there is no such ground", "Choose one of the list").at(
            column="ground"
        ) from None
    walker = form.kept_walker()
    after = _log_of(request, form)
    whose = () if walker is None else (walker.name, walker.toml)
    wanted = Wanted(
        start=form.given("start") or "",
        goal=form.given("goal") or "",
        miss=form.given("miss"),
        steepest_deg=form.given("steepest"),
        within_min=form.given("within"),
        via=tuple(form.given("via") or ()),
        known=tuple(form.given("known") or ()),
        north=form.given("north") or "magnetic",
        date=(form.given("date") or timezone.localdate()).isoformat(),
        leave=_leave(form),
        ends=tuple(form.given("ends") or ()),
    )
    # A plan is never worked out in the time of a page.
    of_log = () if after is None else (str(after.pk), after.revision, after.start_place, after.start_sd_m)
    drawn = LandFeatures.objects.filter(owner=request.member, pk__in=form.cleaned_data.get("features") or ())
    features = {str(one.pk): one.geojson for one in drawn.order_by("pk")}
    held = Held(ground, walker, after, tuple(features.values()))
    return Question(
        work, (held, wanted, *more), (str(ground.pk), whose, of_log, tuple(features), wanted, more), False
    )


def _log_of(request: HttpRequest, form: PlanForm) -> KeptLog | None:
    chosen = form.given("log")
    kept = own(KeptLog, request.member, uuid.UUID(chosen)) if chosen else None
    if kept is not None:
        # Loaded now, and plain: a worker asks no database.
        _, kept.came_as = kept.walker, None
    return kept


def _leave(form: PlanForm) -> datetime.datetime | None:
    """When one sets out, by the clock that was given."""
    from pacewright.files.clock_text import parse_moment, parse_zone

    text = form.given("leave")
    if not text:
        return None
    try:
        zone, _ = parse_zone(form.given("zone") or "UTC")
    except Complaint as complaint:
        raise complaint.at(column="zone") from None
    try:
        return parse_moment(form.given("date") or timezone.localdate(), text, zone)
    except Complaint as complaint:
        raise complaint.at(column="leave") from None
