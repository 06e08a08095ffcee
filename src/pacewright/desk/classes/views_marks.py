"""Marks: a class at a glance, each learner's sentences, and a learner's own debrief."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from pacewright.course.grading import Grade
from pacewright.desk.classes.courses import course_of
from pacewright.desk.classes.learner_progress import days_of
from pacewright.desk.classes.marks import Marks, choose_rule, group_marks, marks_of, rule_of, rule_text
from pacewright.desk.classes.members import learner_of
from pacewright.desk.classes.pace import pace_found
from pacewright.desk.classes.printing import FLAT, paper_asked, printed
from pacewright.desk.classes.told_apart import told_apart, with_shown
from pacewright.desk.models import Entry, Exercise, Group
from pacewright.desk.serving.access import own, own_entry, owner_only
from pacewright.desk.serving.file_names import handed_out
from pacewright.exceptions import Complaint


@owner_only
@require_http_methods(["GET", "POST"])
def marks(request: HttpRequest, exercise_id: uuid.UUID) -> HttpResponse:
    """Show the marks of an exercise, and change the rule they are given by."""
    from pacewright.course.marking import READY_RULES
    from pacewright.wording.teaching import say_rule

    exercise = own(Exercise, request.member, exercise_id)
    if exercise.course.kind == "pace":
        return render(request, "desk/pace_counts.html", {"exercise": exercise, **pace_found(exercise)})
    told, written = "", rule_text(exercise)
    if request.method == "POST":
        try:
            choose_rule(exercise, request.POST)
            return redirect("marks", exercise_id=exercise.pk)
        except Complaint as complaint:
            told, written = complaint.sentence, request.POST.get("rule", written)
    rule = rule_of(exercise)
    context = {
        "exercise": exercise,
        "told": told,
        "written": written,
        "rule": say_rule(rule),
        "ready": [(one.name, one.name == rule.name) for one in READY_RULES],
        "waiting": _waiting(exercise),
        "papers": FLAT,
        **_shown(marks_of(exercise)),
    }
    return render(request, "desk/marks.html", context, status=422 if told else 200)


def _waiting(exercise: Exercise) -> list[tuple[str, int]]:
    """Who has not handed in, and which card."""
    entries = list(exercise.entries.filter(handed_at__isnull=True).select_related("member"))
    names = told_apart(entry.member for entry in entries)
    return [(names[entry.member_id], entry.card) for entry in entries]


@owner_only
@require_GET
def group_progress(request: HttpRequest, group_id: uuid.UUID) -> HttpResponse:
    """Show what all exercises of a group tell of its learners."""
    group = own(Group, request.member, group_id)
    return render(request, "desk/group_progress.html", {"group": group, **_shown(group_marks(group))})


def _shown(found: Marks) -> dict[str, Any]:
    from pacewright.drawing.class_charts import habits_parts, target_parts
    from pacewright.wording.class_table import report_table
    from pacewright.wording.teaching import CAUTION, say_class, say_grade, say_learner

    if found.report is None:
        return {"trouble": found.complaint}
    bias, pace = habits_parts(found.report)
    fit = found.report.fit
    return {
        "table": report_table(found.report),
        "says_class": say_class(fit),
        "learners": [(one.learner, say_learner(one)) for one in fit.learners],
        "walks": [
            (one.entry, grade.handed.learner, [*say_grade(grade), *one.doubts])
            for one, grade in zip(found.handed, fit.grades, strict=True)
        ],
        "charts": [
            ("Where the class ended", target_parts(found.report)),
            ("Compass bias in degrees, right +", bias),
            ("Pace longer than stated, per cent", pace),
        ],
        "caution": CAUTION,
    }


@require_GET
def debrief(request: HttpRequest, entry_id: uuid.UUID) -> HttpResponse:
    """Show how one walk went: to the instructor at any time, to the learner when the exercise is closed."""
    from pacewright.course.likely_way import likely_way
    from pacewright.drawing.own_walk import draw_own_walk
    from pacewright.wording.class_debrief import YOUR_CAUTION, say_your_walk

    entry = _debriefed(request, entry_id)
    with_shown([entry.member])
    if entry.exercise.course.kind == "pace":
        own_walks = [told for one, _, told in pace_found(entry.exercise)["walks"] if one.pk == entry.pk]
        counted = {"entry": entry, "sentences": own_walks[0] if own_walks else []}
        return render(request, "desk/debrief.html", counted)
    found = marks_of(entry.exercise)
    grade = found.grade_of(entry)
    context: dict[str, Any] = {"entry": entry, "caution": YOUR_CAUTION, "trouble": found.complaint}
    if grade is not None:
        told = say_your_walk(grade, found.learner_of(grade), has_way=likely_way(grade) is not None)
        doubts = next(one.doubts for one in found.handed if one.entry.pk == entry.pk)
        mark = [f"{told.mark}."] if told.mark else []
        context |= {
            "sentences": [*told.ended, *told.slip, *([told.compare] if told.compare else []), *mark, *doubts],
            "practise": told.practise,
            "plan": draw_own_walk(course_of(entry.exercise.course), grade, 110.0),
            "plan_key": told.picture_key,
            "papers": FLAT,
        }
    return render(request, "desk/debrief.html", context)


def _debriefed(request: HttpRequest, entry_id: uuid.UUID) -> Entry:
    entry: Entry = own_entry(request.member, entry_id)
    if entry.exercise.owner != request.member and entry.exercise.is_open:
        raise Http404
    return entry


@require_GET
def debrief_sheet(request: HttpRequest, entry_id: uuid.UUID) -> HttpResponse:
    """Print how one walk went as a PDF."""
    entry = _debriefed(request, entry_id)
    grade = marks_of(entry.exercise).grade_of(entry)
    if grade is None:
        messages.info(request, "There is nothing to print yet: this walk is not marked.")
        return redirect("debrief", entry_id=entry_id)
    return _printed(request, entry.exercise, "debriefs", grade)


@owner_only
@require_GET
def marks_sheet(request: HttpRequest, exercise_id: uuid.UUID, kind: str) -> HttpResponse:
    """Print the debriefs of all learners, or the class as a table."""
    return _printed(request, own(Exercise, request.member, exercise_id), kind)


def _printed(request: HttpRequest, exercise: Exercise, kind: str, only: Grade | None = None) -> HttpResponse:
    from pacewright.sheets.class_sheets import class_table_sheet, debrief_slips

    report, paper = marks_of(exercise).report, paper_asked(request.GET)
    if report is None or kind not in ("debriefs", "class"):
        raise Http404
    course = course_of(exercise.course)
    if kind == "class":
        made = class_table_sheet(course, report, paper)
    else:
        made = debrief_slips(course, report, paper, only)
    title = f"{exercise.title} {kind}" if only is None else f"{exercise.title} {only.handed.learner}"
    return handed_out(printed(made, paper), title, ".pdf", otherwise=kind, inline=True)


@owner_only
@require_GET
def learner_progress(request: HttpRequest, member_id: uuid.UUID) -> HttpResponse:
    """Show one learner over weeks, like courses beside like ones."""
    from pacewright.course.progress import find_progress
    from pacewright.drawing.progress_chart import draw_progress
    from pacewright.wording.progress import LEANS, UNLIKE, day_tables, say_progress
    from pacewright.wording.teaching import CAUTION

    found = learner_of(request.member, member_id)
    days = days_of(found)
    context = {
        "learner": with_shown([found])[0],
        "says": say_progress(find_progress(days)),
        "chart": draw_progress(days) if any(day.fit is not None for day in days) else "",
        "tables": day_tables(days),
        "leans": LEANS,
        "unlike": UNLIKE,
        "papers": FLAT,
        "caution": CAUTION,
    }
    return render(request, "desk/learner_progress.html", context)


@owner_only
@require_GET
def learner_progress_sheet(request: HttpRequest, member_id: uuid.UUID) -> HttpResponse:
    """Print one learner over weeks as a PDF."""
    from pacewright.sheets.progress_sheet import progress_sheet

    found, paper = learner_of(request.member, member_id), paper_asked(request.GET)
    days = days_of(found)
    if not days:
        messages.info(request, "There is nothing to print yet: no walk of this learner is marked.")
        return redirect("learner_progress", member_id=member_id)
    name_shown = with_shown([found])[0].shown
    pdf = printed(progress_sheet(name_shown, days, paper), paper)
    return handed_out(pdf, f"{found.name} over time", ".pdf", otherwise="learner", inline=True)
