"""A log whose start nobody knows: where on a ground of the desk it was walked."""

from __future__ import annotations

import time
import uuid
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pacewright.core.plain_text import clean_line
from pacewright.desk.ask.fields import read_number
from pacewright.desk.models import Ground, KeptLog
from pacewright.desk.notebook.ground_keeping import layers_of, terrain_line, terrain_of
from pacewright.desk.notebook.reading import page_context, read_kept, whole_reading
from pacewright.desk.readings.search_area import Corner, area_file, area_map_of, corners_of
from pacewright.desk.serving.access import own, own_log
from pacewright.desk.workers.asking import (
    Question,
    answer_to,
    asks_again_at,
    how_far,
    nothing_new,
    of_log,
    still_waits,
)
from pacewright.desk.workers.lending import lend_more
from pacewright.desk.workers.progress import say_progress, tell_share
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint

AT_ONCE: Final = -1
"""A search is always done by a worker."""
SEARCH_MB: Final = 900
"""What a search takes beyond other answers, where its inner loops are compiled for the first time."""
ASKED: Final = ("ground", "near", "within_km")
LONGEST: Final = 200
LONGEST_AREA: Final = 4000
BLOCK_CELLS: Final = 576
"""Of a block each way: small, so that a search that was stopped has lost little."""
KEPT_DAYS: Final = 14
MOST_KM: Final = 1000.0


@require_GET
def located(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Ask on which ground a log was walked, and show where on it."""
    kept = own_log(request.member, log_id)
    grounds = Ground.objects.filter(owner=request.member).order_by("made_at")
    typed = {name: clean_line(request.GET.get(name, ""))[:LONGEST] for name in ASKED}
    typed["area"] = clean_line(request.GET.get("area", ""))[:LONGEST_AREA]
    context: dict[str, Any] = {"grounds": grounds, "terrain_line": terrain_line(), **typed}
    question, refused, is_drawn = None, "", request.GET.get("do") == "draw"
    if typed["ground"]:
        try:
            question = _question(request, kept, typed)
        except Complaint as complaint:
            refused = complaint.sentence
    progress = None if question is None else how_far(question)
    shown = "" if progress is None else progress.shown
    if question is not None and still_waits(request, question) and request.GET.get("shown", "") == shown:
        return nothing_new()
    reading = read_kept(kept)
    context |= page_context(reading, "map")
    if question is not None and reading.log is not None:
        try:
            found = answer_to(request, question)
            waiting = {"ask_again": asks_again_at(request, shown=shown), "is_drawn": is_drawn}
            waiting["far"] = "" if is_drawn else say_progress(progress)
            context |= waiting if found is None else found
        except Complaint as complaint:
            refused = complaint.sentence
    return render(request, "desk/reading_locate.html", {**context, "refused": refused})


def _question(request: HttpRequest, kept: KeptLog, typed: dict[str, str]) -> Question:
    """What is asked: the map of a ground to draw on, or a search."""
    try:
        ground = own(Ground, request.member, uuid.UUID(typed["ground"]))
    except ValueError:
        raise MissingComplaint("there is no such ground", "Choose one of the list") from None
    if request.GET.get("do") == "draw":
        return of_log(area_page, kept, _Land(ground), most_rows=AT_ONCE)
    circle, corners = _circle(typed["near"], typed["within_km"]), corners_of(typed["area"])
    named = of_log(located_page, kept, _Land(ground), circle, corners, most_rows=AT_ONCE)
    # What is found is kept under the name of the question.
    return replace(named, arguments=(*named.arguments, named.key))


class _Land:
    """A ground as a question names it: two are the same where their file is."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground

    def __repr__(self) -> str:
        return f"ground {self.ground.pk}"


def _circle(near: str, within_km: str) -> tuple[float, float, float] | None:
    """Latitude, longitude and metres of the circle in which the walk began; None where none is asked."""
    from pacewright.ground.grid_text import parse_place

    if not near and not within_km:
        return None
    if not near or not within_km:
        raise MissingComplaint("a place and how near to it go together", "Fill both in, or leave both empty")
    place = parse_place(near)
    km = read_number(within_km)
    if not 0.0 < km <= MOST_KM:
        raise ValueComplaint(
            f"{within_km[:40]} is no distance in km", f"Write a number up to {MOST_KM:.0f}, such as 3"
        )
    return place.latitude_deg, place.longitude_deg, 1000.0 * km


def search_folder() -> Path:
    """The folder of what searches have come to; what is older than two weeks is taken out of it."""
    folder = Path(settings.DATA) / "searches"
    folder.mkdir(mode=0o700, exist_ok=True)
    before = time.time() - KEPT_DAYS * 86_400
    for file in folder.iterdir():
        if file.is_file() and file.stat().st_mtime < before:
            file.unlink(missing_ok=True)
    return folder


def area_page(kept: KeptLog, land: _Land) -> dict[str, Any]:
    """The map of a ground, to draw on it where a walk began."""
    return area_map_of(land.ground)


def located_page(
    kept: KeptLog,
    land: _Land,
    circle: tuple[float, float, float] | None,
    corners: tuple[Corner, ...],
    name: str,
) -> dict[str, Any]:
    """Where on a ground a kept log was walked.

    What is found is kept block by block in the data folder: a search that the end of the desk stopped goes on
    from there when its page asks again.

    Raises
    ------
    Complaint
        There is no leg, nothing in the log speaks of the ground, or the ground cannot be read.
    """
    from pacewright.answers.locate import answer_locate, land_to_search
    from pacewright.drawing.located_map import draw_located, drawn_places
    from pacewright.files.known_places import open_model
    from pacewright.files.prior_area import AreaAsked, starts_within
    from pacewright.files.search_keeping import SearchKeeping
    from pacewright.ground.locate.search import search
    from pacewright.wording.locating import LOCATE_CAUTION, place_rows, say_located

    lend_more(SEARCH_MB)
    log, walker = whole_reading(kept)
    searched = land_to_search(terrain_of(land.ground))
    with area_file(corners) as inside:
        starts = starts_within(AreaAsked(inside=inside, near=(circle,) if circle else ()), searched)
    keeping = SearchKeeping(str(search_folder()), (name,), searched, starts, None)
    answer = answer_locate(
        log,
        walker,
        searched,
        open_model(log),
        starts,
        ground=layers_of(land.ground, searched),
        progress=tell_share,
        kept=keeping.kept,
        keep=keeping.keep,
        searcher=partial(search, side=BLOCK_CELLS),
    )
    said = [one for one in say_located(answer) if one != LOCATE_CAUTION]
    return {
        "said": said,
        "caution": LOCATE_CAUTION,
        "table": place_rows(answer),
        "maps": [draw_located(answer, number) for number in drawn_places(answer)],
    }
