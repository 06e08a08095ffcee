"""A log whose start nobody knows: where on a ground of the desk it was walked."""

from __future__ import annotations

import uuid
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pacewright.core.plain_text import clean_line
from pacewright.desk.models import Ground, KeptLog
from pacewright.desk.notebook.ground_keeping import terrain_line, terrain_of
from pacewright.desk.notebook.reading import page_context, read_kept, whole_reading
from pacewright.desk.serving.access import own, own_log
from pacewright.desk.workers.asking import (
    Question,
    answer_to,
    asks_again_at,
    nothing_new,
    of_log,
    still_waits,
)
from pacewright.desk.workers.lending import lend_more
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint

AT_ONCE: Final = -1
"""A search is always done by a worker."""
SEARCH_MB: Final = 900
"""What a search takes beyond other answers, where its inner loops are compiled for the first time."""
ASKED: Final = ("ground", "near", "within_km")
LONGEST: Final = 200
MOST_KM: Final = 1000.0


@require_GET
def located(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Ask on which ground a log was walked, and show where on it."""
    kept = own_log(request.member, log_id)
    grounds = Ground.objects.filter(owner=request.member).order_by("made_at")
    typed = {
        name: clean_line(request.GET.get(name, ""))[:LONGEST] for name in ("ground", "near", "within_km")
    }
    context = {"grounds": grounds, "terrain_line": terrain_line(), **typed}
    question, refused = None, ""
    if typed["ground"]:
        try:
            question = _question(request, kept, typed)
        except Complaint as complaint:
            refused = complaint.sentence
    if question is not None and still_waits(request, question):
        return nothing_new()
    reading = read_kept(kept)
    context |= page_context(reading, "map")
    if question is not None and reading.log is not None:
        try:
            found = answer_to(request, question)
            context |= {"ask_again": asks_again_at(request)} if found is None else found
        except Complaint as complaint:
            refused = complaint.sentence
    return render(request, "desk/reading_locate.html", {**context, "refused": refused})


def _question(request: HttpRequest, kept: KeptLog, typed: dict[str, str]) -> Question:
    try:
        ground = own(Ground, request.member, uuid.UUID(typed["ground"]))
    except ValueError:
        raise MissingComplaint("there is no such ground", "Choose one of the list") from None
    circle = _circle(typed["near"], typed["within_km"])
    return of_log(located_page, kept, _Land(ground), circle, most_rows=AT_ONCE)


class _Land:
    """A ground as a question names it: two are the same where their file is."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground

    def __repr__(self) -> str:
        return f"ground {self.ground.pk}"


def _circle(near: str, within_km: str) -> tuple[float, float, float] | None:
    """Give latitude, longitude and metres of the circle in which the walk began; None where none is asked."""
    from pacewright.ground.grid_text import parse_place

    if not near and not within_km:
        return None
    if not near or not within_km:
        raise MissingComplaint("a place and how near to it go together", "Fill both in, or leave both empty")
    place = parse_place(near)
    try:
        km = float(within_km.replace(",", "."))
    except ValueError:
        km = 0.0
    if not 0.0 < km <= MOST_KM:
        raise ValueComplaint(
            f"{within_km[:40]} is no distance in km", f"Write a number up to {MOST_KM:.0f}, such as 3"
        )
    return place.latitude_deg, place.longitude_deg, 1000.0 * km


def located_page(kept: KeptLog, land: _Land, circle: tuple[float, float, float] | None) -> dict[str, Any]:
    """Give where on a ground a kept log was walked.

    Raises
    ------
    Complaint
        There is no leg, nothing in the log speaks of the ground, or the ground cannot be read.
    """
    from pacewright.answers.locate import answer_locate, land_to_search
    from pacewright.drawing.located_map import draw_located, drawn_places
    from pacewright.files.known_places import open_model
    from pacewright.files.prior_area import AreaAsked, starts_within
    from pacewright.wording.locating import LOCATE_CAUTION, place_rows, say_located

    lend_more(SEARCH_MB)
    log, walker = whole_reading(kept)
    searched = land_to_search(terrain_of(land.ground))
    area = AreaAsked(near=(circle,) if circle else ())
    answer = answer_locate(log, walker, searched, open_model(log), starts_within(area, searched))
    said = [one for one in say_located(answer) if one != LOCATE_CAUTION]
    return {
        "said": said,
        "caution": LOCATE_CAUTION,
        "table": place_rows(answer),
        "maps": [draw_located(answer, number) for number in drawn_places(answer)],
    }
