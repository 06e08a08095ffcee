"""Marks: a class at a glance, each learner's sentences, and a learner's own debrief."""

from __future__ import annotations

import uuid
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from pacewright.desk.access import own, own_entry, owner_only
from pacewright.desk.class_courses import course_of
from pacewright.desk.class_entries import said
from pacewright.desk.class_marks import Marks, choose_rule, group_marks, marks_of, rule_of, rule_text
from pacewright.desk.class_pace import pace_found
from pacewright.desk.models import Exercise, Group
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
            told, written = said(complaint), request.POST.get("rule", written)
    rule = rule_of(exercise)
    context = {
        "exercise": exercise,
        "told": told,
        "written": written,
        "rule": say_rule(rule),
        "ready": [(one.name, one.name == rule.name) for one in READY_RULES],
        "waiting": exercise.entries.filter(handed_at__isnull=True).select_related("member"),
        **_shown(marks_of(exercise)),
    }
    return render(request, "desk/marks.html", context, status=422 if told else 200)


@owner_only
@require_GET
def group_progress(request: HttpRequest, group_id: uuid.UUID) -> HttpResponse:
    """Show what all exercises of a group tell of its learners."""
    group = own(Group, request.member, group_id)
    return render(request, "desk/group_progress.html", {"group": group, **_shown(group_marks(group))})


def _shown(found: Marks) -> dict[str, Any]:
    from pacewright.drawing.class_charts import draw_habits, draw_target
    from pacewright.wording.class_table import report_table
    from pacewright.wording.teaching import CAUTION, say_class, say_grade, say_learner

    if found.report is None:
        return {"trouble": found.complaint}
    header, rows = report_table(found.report)
    fit = found.report.fit
    return {
        "header": header,
        "rows": rows,
        "says_class": say_class(fit),
        "learners": [(one.learner, say_learner(one)) for one in fit.learners],
        "walks": [
            (one.entry, grade.handed.learner, [*say_grade(grade), *one.doubts])
            for one, grade in zip(found.handed, fit.grades, strict=True)
        ],
        "target": draw_target(found.report),
        "habits": draw_habits(found.report),
        "caution": CAUTION,
    }


@require_GET
def debrief(request: HttpRequest, entry_id: uuid.UUID) -> HttpResponse:
    """Show how one walk went: to the instructor at any time, to the learner when the exercise is closed."""
    from pacewright.drawing.course_plan import draw_course_plan
    from pacewright.wording.teaching import CAUTION, say_grade, say_learner

    entry = own_entry(request.member, entry_id)
    if entry.exercise.owner != request.member and entry.exercise.is_open:
        raise Http404
    if entry.exercise.course.kind == "pace":
        own_walks = [told for one, _, told in pace_found(entry.exercise)["walks"] if one.pk == entry.pk]
        told = {"entry": entry, "sentences": own_walks[0] if own_walks else []}
        return render(request, "desk/debrief.html", told)
    found = marks_of(entry.exercise)
    grade = found.grade_of(entry)
    course = course_of(entry.exercise.course)
    context: dict[str, Any] = {"entry": entry, "caution": CAUTION, "trouble": found.complaint}
    if grade is not None:
        learner = found.learner_of(grade)
        doubts = next(one.doubts for one in found.handed if one.entry.pk == entry.pk)
        context |= {
            "sentences": [*say_grade(grade), *doubts],
            "practise": say_learner(learner) if learner is not None else "",
            "plan": draw_course_plan(course, [grade.key.card], 130.0),
        }
    return render(request, "desk/debrief.html", context)
