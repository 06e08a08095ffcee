"""Pages of photographed pages: hand them in, see them read, confirm their rows, look at one again."""

from __future__ import annotations

import secrets
import uuid
from typing import Any, Final

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pacewright.desk.models import Exercise, KeptLog, PagePhoto
from pacewright.desk.photographs.confirming import (
    LOOKED,
    confirm,
    heading_of,
    known_names,
    offered_rows,
    order_told,
)
from pacewright.desk.photographs.framing import BEGUN, COLUMNS, CORNERS, frame_of
from pacewright.desk.photographs.keeping import (
    AS_SENT,
    FLAT,
    MOST_PHOTO_BYTES,
    holds_scans,
    most_photos,
    photo_bytes,
    read_line,
    size_of,
    take_in_photos,
    throw_photo,
    type_of,
)
from pacewright.desk.photographs.reading import is_page, of_batch, part_cards, read_next, strip_of, waits
from pacewright.desk.serving.access import own_log
from pacewright.desk.workers.asking import asks_again_at, nothing_new
from pacewright.exceptions import Complaint

_KINDS: Final = {"page": FLAT, "photograph": AS_SENT}
_GUEST_MB: Final = 8
"""What a line of a guest takes at once, less what a form adds."""
_SHOWN_HEADING: Final = ("title", "start")


@require_http_methods(["GET", "POST"])
def photographs(request: HttpRequest) -> HttpResponse:
    """Ask for photographs of pages, and take them in."""
    context: dict[str, Any] = {
        "read_line": read_line(),
        "logs": KeptLog.objects.filter(owner=request.member, thrown_at__isnull=True).defer("came_as")[:50],
        "chosen": request.GET.get("log", ""),
        "waiting": _waiting(request),
        **limits(request),
    }
    if request.method == "GET":
        return render(request, "desk/photographs.html", context)
    log = _log_named(request, request.POST.get("log", ""))
    files = request.FILES.getlist("photographs")
    batch, refused = take_in_photos(request.member, files, log)
    taken = len(files) - len(refused)
    if not taken:
        context["refused"] = refused or ["No photograph was chosen. Choose one and send it again."]
        return render(request, "desk/photographs.html", context, status=422)
    for sentence in refused:
        messages.error(request, sentence)
    return redirect("read_photographs", batch=batch)


def limits(request: HttpRequest, exercise: Exercise | None = None) -> dict[str, Any]:
    """How much is taken in together, as the page says it."""
    return {
        "most": most_photos(exercise),
        "most_mb": MOST_PHOTO_BYTES // 1_000_000,
        "together_mb": (_GUEST_MB if not request.member.is_owner else settings.MOST_FILE_BYTES // 1_000_000),
    }


def _log_named(request: HttpRequest, sent: str) -> KeptLog | None:
    try:
        return own_log(request.member, uuid.UUID(sent)) if sent else None
    except ValueError:
        raise Http404 from None


def _waiting(request: HttpRequest) -> list[tuple[uuid.UUID, int, Any, int | None]]:
    """What was handed in before and is not confirmed: the batch, how many, when, and its course card."""
    found: dict[uuid.UUID, list[tuple[Any, int | None]]] = {}
    waiting = PagePhoto.objects.filter(owner=request.member, exercise=None, confirmed_at=None)
    for batch, at, card in waiting.values_list("batch", "made_at", "read__card"):
        found.setdefault(batch, []).append((at, card))
    return [(batch, len(photos), *photos[0]) for batch, photos in found.items()]


@require_GET
def read_photographs(request: HttpRequest, batch: uuid.UUID) -> HttpResponse:
    """Show how far the reading is, then the rows to be confirmed."""
    photos = _batch(request, batch)
    of_class = photos[0].exercise_id
    if of_class is not None:
        return redirect("class_pages", exercise_id=of_class, batch=batch)
    reading = reading_shown(request, photos)
    if reading is not None:
        return reading
    photos = _batch(request, batch)
    of_one = part_cards(photos)
    if len(of_one) < len(photos):
        messages.info(
            request,
            "These photographs are of several cards. Each is confirmed by itself, into a log of its own; "
            "the others wait under 'Pages from photographs'.",
        )
    return rows_shown(request, of_one)


def reading_shown(request: HttpRequest, photos: list[PagePhoto]) -> HttpResponse | None:
    """Have the next photograph read, and show how far the reading is; None where every one was read."""
    before = sum(map(waits, photos))
    read_next(request, photos)
    photos = of_batch(photos[0].owner, photos[0].batch)
    left = sum(map(waits, photos))
    if not left:
        return None
    if request.htmx and left == before:
        return nothing_new()
    context = {"photos": photos, "ask_again": asks_again_at(request), "left": left}
    return render(request, "desk/photographs_reading.html", context)


def _batch(request: HttpRequest, batch: uuid.UUID) -> list[PagePhoto]:
    photos = of_batch(request.member, batch)
    if not photos:
        raise Http404
    return photos


def rows_shown(
    request: HttpRequest,
    photos: list[PagePhoto],
    complaint: Complaint | None = None,
    beside: dict[str, Any] | None = None,
) -> HttpResponse:
    """Show the rows that were read beside their page, to be confirmed; `beside` is what a class adds."""
    read = [photo for photo in photos if is_page(photo)]
    typed = request.POST if complaint is not None else None
    heading = dict(line.partition(":")[::2] for line in heading_of(request.member, read).splitlines())
    rows = offered_rows(request.member, read, typed)
    context = {
        "refused": [(photo, not holds_scans(photo)) for photo in photos if photo.refused],
        "photos": photos,
        "confirm_at": reverse("confirm_photographs", kwargs={"batch": photos[0].batch}),
        "read": read,
        "rows": sorted(rows, key=lambda row: not row.doubts),
        "doubtful": sum(bool(row.doubts) for row in rows),
        "log": photos[0].log,
        "heading": [
            (name, request.POST.get(name) if typed else heading.get(name, "").strip())
            for name in _SHOWN_HEADING
        ],
        "order": order_told(read),
        "names": known_names(read),
        "looked": LOOKED,
        "form_key": secrets.token_urlsafe(12),
        "complaint": complaint,
        **(beside or {}),
    }
    return render(request, "desk/photographs_confirm.html", context, status=422 if complaint else 200)


@require_POST
def confirm_photographs(request: HttpRequest, batch: uuid.UUID) -> HttpResponse:
    """Keep the rows that were confirmed, in their log; or throw the photographs away."""
    photos = of_batch(request.member, batch)
    if photos and photos[0].exercise_id is not None:
        raise Http404
    if not photos:
        done = PagePhoto.objects.filter(owner=request.member, batch=batch).first()
        if done is None or done.log_id is None:
            raise Http404
        return redirect("notebook", log_id=done.log_id)
    if request.POST.get("do") == "throw":
        for photo in photos:
            throw_photo(photo)
        messages.info(request, "The photographs are thrown away. No row was kept.")
        return redirect("photographs")
    read = [photo for photo in photos if is_page(photo)]
    try:
        log = confirm(request.member, read, request.POST, request.POST.get("key", ""))
    except Complaint as complaint:
        return rows_shown(request, photos, complaint)
    for photo in photos:
        if not is_page(photo):
            throw_photo(photo)
    messages.success(
        request, "The rows are in the log, and the photograph is kept with it: “Does it close” leads to it."
    )
    return redirect("notebook", log_id=log.pk)


@require_GET
def photo_picture(request: HttpRequest, photo_id: uuid.UUID, kind: str) -> HttpResponse:
    """The page laid flat, or the photograph as it was sent."""
    data = photo_bytes(_own_photo(request, photo_id), _KINDS.get(kind, FLAT))
    if data is None or not type_of(data):
        raise Http404
    answer = HttpResponse(data, content_type=type_of(data))
    answer.headers["Cache-Control"] = "private, max-age=86400, immutable"
    return answer


@require_GET
def photo_row(request: HttpRequest, photo_id: uuid.UUID, number: int) -> HttpResponse:
    """Show a row on the page that it was read from."""
    photo = _own_photo(request, photo_id)
    strip = strip_of(photo, number)
    if strip is None:
        raise Http404
    context = {"photo": photo, "number": number, "strip": strip, "log": photo.log}
    return render(request, "desk/photograph_row.html", context)


@require_http_methods(["GET", "POST"])
def frame_photograph(request: HttpRequest, photo_id: uuid.UUID) -> HttpResponse:
    """Ask where the rows are on a page that was not printed here, then have it read so."""
    photo = _own_photo(request, photo_id)
    if photo.confirmed_at is not None or holds_scans(photo):
        raise Http404
    complaint: Complaint | None = None
    frame = photo.read.get("frame", BEGUN)
    if request.method == "POST":
        try:
            photo.read, photo.refused = {"frame": frame_of(request.POST)}, ""
            photo.save(update_fields=["read", "refused"])
            return redirect("read_photographs", batch=photo.batch)
        except Complaint as found:
            complaint = found
    wide, high = size_of(photo)
    context = {
        "photo": photo,
        "wide": wide,
        "high": high,
        "complaint": complaint,
        "corners": [
            (name, *(_typed(request, f"{axis}{at}", frame["corners"][at][i]) for i, axis in enumerate("xy")))
            for at, name in enumerate(CORNERS)
        ],
        "columns": [
            (name, _typed(request, f"column{at}", frame["columns"][at])) for at, name in enumerate(COLUMNS)
        ],
        "rows": _typed(request, "rows", frame["rows"] or ""),
    }
    return render(request, "desk/photograph_frame.html", context, status=422 if complaint else 200)


def _typed(request: HttpRequest, name: str, otherwise: float | str) -> str:
    return str(request.POST.get(name, otherwise))


def _own_photo(request: HttpRequest, photo_id: uuid.UUID) -> PagePhoto:
    """A photograph of one's own, or one whose log one may see."""
    photo = PagePhoto.objects.select_related("log").filter(pk=photo_id).first()
    if photo is None:
        raise Http404
    if photo.owner_id != request.member.pk:
        if photo.log_id is None:
            raise Http404
        own_log(request.member, photo.log_id)
    return photo
