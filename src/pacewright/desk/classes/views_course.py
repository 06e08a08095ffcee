"""Courses: set one, bring one in, look at it, print its sheets."""

from __future__ import annotations

import uuid
from typing import cast, get_args

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pacewright.desk.classes.courses import course_of, keep_course
from pacewright.desk.classes.forms import COURSE_FORMS
from pacewright.desk.classes.members import group_named, title_of
from pacewright.desk.classes.posts_form import SafetyForm, keep_safety, safety_typed
from pacewright.desk.classes.printing import FLAT, paper_asked, printed
from pacewright.desk.models import Exercise, KeptCourse
from pacewright.desk.serving.access import own, owner_only
from pacewright.desk.serving.file_names import handed_in, handed_out, shown_file_name
from pacewright.exceptions import Complaint
from pacewright.files.course_toml import read_course


@owner_only
@require_http_methods(["GET", "POST"])
def course_new(request: HttpRequest, kind: str) -> HttpResponse:
    """Ask for a course and set it; what was typed stays beside a complaint."""
    if kind not in COURSE_FORMS:
        raise Http404
    form = COURSE_FORMS[kind](request.POST if request.method == "POST" else None, request.member)
    if form.is_valid():
        try:
            return redirect("course", course_id=keep_course(request.member, form.course()).pk)
        except Complaint as complaint:
            form.complain(complaint)
    status = 422 if form.errors else 200
    return render(request, "desk/course_new.html", {"form": form, "kind": kind}, status=status)


@owner_only
@require_POST
def course_import(request: HttpRequest) -> HttpResponse:
    """Keep a course that is handed in as a course file."""
    file = request.FILES.get("file")
    try:
        course = read_course(handed_in(file), shown_file_name(file))
        kept = keep_course(request.member, course)
    except Complaint as complaint:
        messages.error(request, complaint.placed_sentence)
        return redirect("class")
    return redirect("course", course_id=kept.pk)


@owner_only
@require_http_methods(["GET", "POST"])
def course(request: HttpRequest, course_id: uuid.UUID) -> HttpResponse:
    """Show what setting a course found, its plan and its sheets; keep the strip of its cards."""
    kept = own(KeptCourse, request.member, course_id)
    form = SafetyForm(request.POST if request.method == "POST" else None, request.member)
    form.initial |= safety_typed(course_of(kept))
    if form.is_valid():
        try:
            keep_safety(kept, form)
            return redirect("course", course_id=kept.pk)
        except Complaint as complaint:
            form.complain(complaint)
    return _shown(request, kept, form)


def _shown(request: HttpRequest, kept: KeptCourse, form: SafetyForm) -> HttpResponse:
    from pacewright.course.what_it_shows import what_it_shows
    from pacewright.drawing.course_plan import draw_course_plan
    from pacewright.sheets.course_sheets import CourseSheetKind
    from pacewright.wording.course_cards import BEFORE_USE, say_fact
    from pacewright.wording.what_it_shows import say_shows, shows_table

    read = course_of(kept)
    shows = what_it_shows(read)
    context = {
        "kept": kept,
        "course": read,
        "facts": [say_fact(fact) for fact in read.facts],
        "plan": draw_course_plan(read, read.cards, 150.0),
        "kinds": get_args(CourseSheetKind),
        "papers": FLAT,
        "groups": request.member.groups.all(),
        "exercises": kept.exercises.all(),
        "shows": shows_table(shows),
        "says_shows": say_shows(shows),
        "caution": BEFORE_USE,
        "form": form,
    }
    return render(request, "desk/course.html", context, status=422 if form.errors else 200)


@owner_only
@require_GET
def course_file(request: HttpRequest, course_id: uuid.UUID) -> HttpResponse:
    """The course file."""
    kept = own(KeptCourse, request.member, course_id)
    return handed_out(kept.toml.encode("utf-8"), kept.title, ".toml", otherwise="course")


@owner_only
@require_GET
def course_sheet(request: HttpRequest, course_id: uuid.UUID) -> HttpResponse:
    """Print one kind of sheet as a PDF."""
    from pacewright.sheets.course_sheets import CourseSheetKind
    from pacewright.sheets.course_sheets import course_sheet as sheet_of

    kept = own(KeptCourse, request.member, course_id)
    kind, paper = request.GET.get("kind", "cards"), paper_asked(request.GET)
    if kind not in get_args(CourseSheetKind):
        raise Http404
    made = sheet_of(cast(CourseSheetKind, kind), course_of(kept), paper)
    pdf = printed(made, paper)
    return handed_out(pdf, f"{kept.title} {kind}", ".pdf", otherwise=f"course-{kind}", inline=True)


@owner_only
@require_POST
def course_change(request: HttpRequest, course_id: uuid.UUID) -> HttpResponse:
    """Begin an exercise with a course, or delete one that none was begun with."""
    kept = own(KeptCourse, request.member, course_id)
    if request.POST.get("do") == "delete":
        if kept.exercises.exists():
            messages.error(request, f"{kept.title} has exercises. Delete them first.")
            return redirect("course", course_id=kept.pk)
        kept.delete()
        messages.info(request, f"The course {kept.title} is deleted.")
        return redirect("class")
    group = group_named(request.member, request.POST.get("group", ""))
    title = title_of(request.POST.get("title", "") or kept.title, "the exercise")
    exercise = Exercise.objects.create(owner=request.member, course=kept, group=group, title=title)
    return redirect("exercise", exercise_id=exercise.pk)
