"""What the bearings of a log fix: its stations, and the things seen from them."""

from __future__ import annotations

import uuid
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pacewright.desk.models import KeptLog
from pacewright.desk.notebook.reading import page_context, read_kept, whole_reading
from pacewright.desk.serving.access import own_log
from pacewright.desk.workers.asking import nothing_new, of_log, shown_answer, still_waits

AT_ONCE: Final = 150
"""Rows of a page whose fixes are made in the time of a page."""


@require_GET
def fixes(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show every fix that a log's bearings give."""
    kept = own_log(request.member, log_id)
    by_angles = "angles" in request.GET
    question = of_log(fixes_page, kept, by_angles, most_rows=AT_ONCE)
    if still_waits(request, question):
        return nothing_new()
    reading = read_kept(kept)
    context = {**page_context(reading, "fixes"), "by_angles": by_angles}
    if reading.log is not None:
        context |= shown_answer(request, question)
    return render(request, "desk/reading_fixes.html", context)


def fixes_page(kept: KeptLog, by_angles: bool) -> dict[str, Any]:
    """What the bearings of a kept log fix.

    Raises
    ------
    Complaint
        They fix nothing.
    """
    from pacewright.answers.fixing import FixAsked, fix_log
    from pacewright.desk.ask.pages import split_caution
    from pacewright.files.known_places import open_known
    from pacewright.wording.fix_answer import say_log_fixes

    log, walker = whole_reading(kept)
    known = open_known(log, walker, None)
    fixes = fix_log(log, walker, FixAsked(by_angles=by_angles), known)
    said, caution = split_caution(say_log_fixes(log, walker, fixes, known.anchor))
    return {"said": said, "caution": caution}
