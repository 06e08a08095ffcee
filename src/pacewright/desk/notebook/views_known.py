"""The known places of a heading, drawn beside the field in which they are typed."""

from __future__ import annotations

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pacewright.desk.notebook.page_reading import read_page
from pacewright.desk.serving.access import own_log
from pacewright.exceptions import Complaint


@require_GET
def known_places(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show the places that a log's heading knows, or which of them cannot be read."""
    from pacewright.drawing.known_map import draw_known

    page = read_page(own_log(request.member, log_id))
    try:
        if page.heading_complaint is not None:
            raise page.heading_complaint
        context: dict[str, object] = {"figures": draw_known(page.heading)}
    except Complaint as complaint:
        context = {"refused": complaint.sentence}
    return render(request, "desk/known_places.html", context)
