"""The walked figure alone and large: all of it, or what lies about a station found by its name."""

from __future__ import annotations

import uuid
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pacewright.desk.models import KeptLog
from pacewright.desk.notebook.page_reading import PROBABILITY, estimate_of
from pacewright.desk.notebook.reading import page_context, places_of, read_kept, whole_reading
from pacewright.desk.serving.access import own_log
from pacewright.desk.workers.asking import nothing_new, of_log, shown_answer, still_waits

SIZES_MM: Final = {12: (130.0, 130.0), 20: (200.0, 200.0)}
"""Size of the figure by the most legs that it shows; on a small one letters are large enough on a phone."""
LARGE_MM: Final = (420.0, 420.0)
ABOUT_LEGS: Final = 10
"""Legs before a station, and after it, that are its surroundings."""
AT_ONCE: Final = 60
"""Rows of a page whose figure is drawn in the time of a page."""


@require_GET
def large_figure(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show the figure of a log alone, as wide as the window."""
    kept = own_log(request.member, log_id)
    sent = request.GET.get("at", "")
    at = int(sent) if sent.isdecimal() and len(sent) < 8 else None
    question = of_log(large_page, kept, at, most_rows=AT_ONCE)
    if still_waits(request, question):
        return nothing_new()
    reading = read_kept(kept)
    context = {**page_context(reading, "figure"), "at": at}
    if reading.log is not None:
        context["places"] = places_of(reading.log)
        context |= shown_answer(request, question)
    return render(request, "desk/reading_large.html", context)


def large_page(kept: KeptLog, at: int | None) -> dict[str, Any]:
    """The figure of a kept log, large.

    Raises
    ------
    Complaint
        It cannot be drawn.
    """
    from pacewright.core.way.regions import named_regions
    from pacewright.drawing.walk_figure import surroundings
    from pacewright.drawing.walk_map import walk_parts
    from pacewright.drawing.walk_of import walk_of

    log, walker = whole_reading(kept)
    stations = estimate_of(kept, log, walker).stations("walker")
    whole = walk_of(log, stations, regions=named_regions(stations, PROBABILITY))
    if at is None or at > len(log.legs):
        return {"figure": walk_parts(whole, _size_mm(len(log.legs)))}
    about = min(2 * ABOUT_LEGS, len(log.legs))
    return {"figure": walk_parts(surroundings(whole, at, ABOUT_LEGS), _size_mm(about))}


def _size_mm(legs: int) -> tuple[float, float]:
    return next((size for most, size in SIZES_MM.items() if legs <= most), LARGE_MM)
