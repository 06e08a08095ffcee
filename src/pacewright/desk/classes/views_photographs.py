"""Photographed cards of a class, for the instructor: handed in together, confirmed card by card."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from pacewright.desk.classes.asked_first import asked_first
from pacewright.desk.classes.card import entry_context
from pacewright.desk.classes.card_photographs import (
    CardPages,
    confirm_pages,
    open_entries,
    pages_of,
    part_pages,
    say_whose,
    waiting_pages,
)
from pacewright.desk.classes.entries import FINISH_NUMBERS, written_log
from pacewright.desk.classes.told_apart import told_apart
from pacewright.desk.models import Exercise
from pacewright.desk.photographs.keeping import read_line, take_in_photos, throw_photo
from pacewright.desk.photographs.reading import is_page
from pacewright.desk.photographs.views import limits, reading_shown, rows_shown
from pacewright.desk.serving.access import own, owner_only
from pacewright.exceptions import Complaint


@owner_only
@require_http_methods(["GET", "POST"])
def class_photographs(request: HttpRequest, exercise_id: uuid.UUID) -> HttpResponse:
    """Take photographs of a class's cards in, and show which of them wait."""
    exercise = own(Exercise, request.member, exercise_id)
    files = request.FILES.getlist("photographs")
    refused: list[str] = []
    if request.method == "POST":
        batch, refused = take_in_photos(request.member, files, None, exercise)
        if len(refused) < len(files):
            for sentence in refused:
                messages.error(request, sentence)
            return redirect("class_pages", exercise_id=exercise.pk, batch=batch)
        refused = refused or ["No photograph was chosen. Choose one and send it again."]
    context = {
        "exercise": exercise,
        "read_line": read_line(),
        "refused": refused,
        "waiting": waiting_pages(exercise),
        **limits(request, exercise),
    }
    return render(request, "desk/class_photographs.html", context, status=422 if refused else 200)


@owner_only
@require_http_methods(["GET", "POST"])
def class_pages(request: HttpRequest, exercise_id: uuid.UUID, batch: uuid.UUID) -> HttpResponse:
    """Show photographs being read; then the pages of one card, to be asked about, confirmed and handed in."""
    exercise = own(Exercise, request.member, exercise_id)
    pages = pages_of(exercise, batch)
    if pages is None:
        return redirect("class_photographs", exercise_id=exercise.pk)
    if request.method == "POST":
        return _done(request, exercise, pages)
    reading = reading_shown(request, list(pages.photos))
    if reading is not None:
        return reading
    pages = pages_of(exercise, batch)
    if pages is None or (pages.photos[0].log_id is None and part_pages(pages.photos)):
        return redirect("class_photographs", exercise_id=exercise.pk)
    return _shown(request, exercise, pages)


def _done(request: HttpRequest, exercise: Exercise, pages: CardPages) -> HttpResponse:
    do = request.POST.get("do")
    try:
        if do == "throw":
            for photo in pages.photos:
                throw_photo(photo)
            messages.info(request, "Thrown away. No row was kept.")
        elif do == "whose":
            say_whose(exercise, pages, request.POST)
            return redirect("class_pages", exercise_id=exercise.pk, batch=pages.photos[0].batch)
        else:
            told = confirm_pages(pages, request.POST)
            _say_handed(request, pages, told)
    except Complaint as complaint:
        return _shown(request, exercise, pages, complaint)
    left = [one for one in waiting_pages(exercise) if one.is_read]
    following = next((one for one in left if not one.question), None)
    if following is not None:
        return redirect("class_pages", exercise_id=exercise.pk, batch=following.batch)
    return redirect("class_photographs" if left else "exercise", exercise_id=exercise.pk)


def _say_handed(request: HttpRequest, pages: CardPages, told: str) -> None:
    entry = pages.entry
    assert entry is not None
    for photo in pages.photos:
        if not is_page(photo):
            throw_photo(photo)
    said = [f"Card {entry.card} of {entry.member.name} is handed in.", told, *asked_first(entry)]
    messages.info(request, " ".join(filter(None, said)))


def _shown(
    request: HttpRequest, exercise: Exercise, pages: CardPages, complaint: Complaint | None = None
) -> HttpResponse:
    entries = open_entries(exercise)
    names = told_apart(entry.member for entry in entries)
    context = {
        "exercise": exercise,
        "pages": pages,
        "batch": pages.batch,
        "complaint": complaint,
        "choices": [(one, names[one.member_id]) for one in entries],
        "confirm_at": reverse("class_pages", kwargs={"exercise_id": exercise.pk, "batch": pages.batch}),
    }
    if pages.question or pages.entry is None or not any(map(is_page, pages.photos)):
        return render(request, "desk/class_whose.html", context, status=422 if complaint else 200)
    log = written_log(pages.entry)
    for photo in pages.photos:
        # Not kept yet: until it is confirmed the page is nobody's.
        photo.log = log
    beside = entry_context(request.member, log)
    if complaint is not None:
        for name in ("ends_at", *FINISH_NUMBERS):
            setattr(beside["entry"], name, request.POST.get(name, ""))
    return rows_shown(request, list(pages.photos), complaint, {**context, **beside})
