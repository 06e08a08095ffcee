"""A course among posts: asked for by a form, set in the background while a page tells how far it is."""

from __future__ import annotations

import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pacewright.desk.classes.course_jobs import JOBS, CourseJob, Tell
from pacewright.desk.classes.posts_form import PostsForm, in_field, posts_asked_by
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
        return _begun(request)
    if last is None or "new" in request.GET or (last.told is None and "again" not in request.GET):
        return _form(request, PostsForm(None, request.member))
    form = PostsForm(last.typed, request.member)
    if last.told is not None:
        form.complain(last.told)
    return _form(request, form, status=200)


def _begun(request: HttpRequest) -> HttpResponse:
    sent = request.POST.dict()
    try:
        sent |= _files(request)
    except Complaint as complaint:
        form = PostsForm(sent, request.member)
        form.complain(complaint)
        return _form(request, form)
    form = PostsForm(sent, request.member)
    if form.is_valid():
        try:
            job = JOBS.begin(request.member, form.typed, _work(form))
            return redirect("course_setting", job_id=job.id)
        except Complaint as complaint:
            form.complain(complaint)
    return _form(request, form)


def _work(form: PostsForm) -> Any:
    """What sets the course; all that the form can tell to be wrong is complained of here and now."""
    import numpy as np

    from pacewright.course.posts_setting import set_posts_course

    asked = posts_asked_by(form)

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


def _form(request: HttpRequest, form: PostsForm, status: int | None = None) -> HttpResponse:
    context = {"form": form, "terrain_line": terrain_line(), "job": JOBS.of(request.member)}
    status = status or (422 if form.errors else 200)
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
