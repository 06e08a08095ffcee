"""A course among posts: asked for by a form, set in the background while a page tells how far it is."""

from __future__ import annotations

import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pacewright.desk.classes.course_jobs import JOBS, CourseJob, Tell
from pacewright.desk.classes.courses import Told
from pacewright.desk.classes.forms import shown_fields
from pacewright.desk.classes.posts_form import (
    POSTS_FORM,
    first_posts_typed,
    in_field,
    offered_to,
    posts_asked_by,
    posts_typed_in,
)
from pacewright.desk.models import KeptCourse
from pacewright.desk.notebook.ground_keeping import keep_ground, terrain_line
from pacewright.desk.serving.access import owner_only
from pacewright.desk.serving.file_names import handed_in, shown_file_name
from pacewright.exceptions import Complaint


@owner_only
@require_http_methods(["GET", "POST"])
def course_posts(request: HttpRequest) -> HttpResponse:
    """Ask for a course among posts, and begin to set it; what was typed stays beside a complaint."""
    last = JOBS.of(request.member)
    if request.method == "POST":
        typed = posts_typed_in(request.POST)
        try:
            typed |= _files(request)
            job = JOBS.begin(request.member, typed, _work(request, typed))
        except Complaint as complaint:
            told = Told(complaint.sentence, complaint.where.column or "")
            return _form(request, typed, told, status=422)
        return redirect("course_setting", job_id=job.id)
    if last is not None and "new" not in request.GET and (last.told is not None or "again" in request.GET):
        return _form(request, dict(last.typed), last.told)
    return _form(request, first_posts_typed(timezone.localdate().isoformat()), None)


def _work(request: HttpRequest, typed: dict[str, str]) -> Any:
    """What sets the course; all that the form can tell to be wrong is complained of here and now."""
    import numpy as np

    from pacewright.course.posts_setting import set_posts_course

    asked = posts_asked_by(request.member, typed)

    def work(tell: Tell) -> Any:
        return set_posts_course(asked, np.random.default_rng(asked.seed), tell)

    return work


def _files(request: HttpRequest) -> dict[str, str]:
    """The fields that handed-in files fill: tables as text, a terrain as a kept ground."""
    from pacewright.files.text_file import decode

    filled = {}
    for name, kind in (("posts", "a table of posts"), ("barred", "a table of barred land")):
        file = request.FILES.get(f"{name}_file")
        if file is not None:
            try:
                filled[name] = decode(handed_in(file), kind)
            except Complaint as complaint:
                raise in_field(complaint, name) from None
    terrain = request.FILES.get("ground_file")
    if terrain is not None:
        try:
            filled["ground"] = str(keep_ground(request.member, shown_file_name(terrain), terrain).pk)
        except Complaint as complaint:
            raise in_field(complaint, "ground") from None
    return filled


def _form(request: HttpRequest, typed: dict[str, str], told: Told | None, status: int = 200) -> HttpResponse:
    usual, more = shown_fields(POSTS_FORM, typed, told, offered_to(request.member))
    job = JOBS.of(request.member)
    context = {
        "usual": usual,
        "more": more,
        "more_open": any(one.wrong for one in more),
        "told": told.said if told else "",
        "terrain_line": terrain_line(),
        "job": job,
    }
    return render(request, "desk/course_posts.html", context, status=status)


@owner_only
@require_GET
def course_setting(request: HttpRequest, job_id: uuid.UUID) -> HttpResponse:
    """Tell how far the setting of a course has come, and go on to the course or back to the form."""
    job = JOBS.of(request.member)
    if job is None or job.id != job_id:
        return _to(request, "") if request.htmx else _gone(request)
    if job.is_running:
        page = "desk/course_setting_now.html" if request.htmx else "desk/course_setting.html"
        return render(request, page, {"job": job})
    return _to(request, _after(job))


def _after(job: CourseJob) -> str:
    is_there = KeptCourse.objects.filter(pk=job.course_id).exists()
    return reverse("course", args=[job.course_id]) if is_there else reverse("course_posts")


def _to(request: HttpRequest, address: str) -> HttpResponse:
    """Send a page to an address; a page that asks by script is told, or told to load itself again."""
    if not request.htmx:
        return HttpResponseRedirect(address)
    return HttpResponse(headers={"HX-Redirect": address} if address else {"HX-Refresh": "true"})


def _gone(request: HttpRequest) -> HttpResponse:
    return render(request, "desk/course_setting_gone.html", status=404)


@owner_only
@require_POST
def course_setting_stop(request: HttpRequest, job_id: uuid.UUID) -> HttpResponse:
    """Stop setting a course."""
    job = JOBS.of(request.member)
    if job is None or job.id != job_id:
        return _gone(request)
    JOBS.stop(job)
    return redirect("course_setting", job_id=job.id)
