"""The way back: from any station to any station, aiming off, the search, leg by leg."""

from __future__ import annotations

import dataclasses
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, TypeVar

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pacewright.desk.ask.fields import read_number
from pacewright.desk.models import KeptLog
from pacewright.desk.notebook.page_reading import FIGURE_MM, PROBABILITY, estimate_of, short_way
from pacewright.desk.notebook.reading import page_context, places_of, read_kept, whole_reading
from pacewright.desk.serving.access import own_log
from pacewright.desk.workers.asking import answer_to, asks_again_at, nothing_new, of_log, still_waits
from pacewright.exceptions import Complaint

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate
    from pacewright.answers.way import WayAnswer, WayAsked
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker

T = TypeVar("T")
LONGEST_FIELD = 200
FIELDS = ("from", "to", "ground", "line", "toward", "wrong_side", "sight", "retrace")
AT_ONCE = 150
"""Rows of a page whose way is found in the time of a page."""


@dataclass(slots=True)
class WayForm:
    """What was asked for: each field as typed, what it means, and what is wrong with it."""

    typed: dict[str, str]
    asked: WayAsked
    wrong: dict[str, str] = field(default_factory=dict)


@require_GET
def way(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show the way from one station of a log to another, and what to do at its end."""
    kept = own_log(request.member, log_id)
    sent = {name: request.GET.get(name, "").strip()[:LONGEST_FIELD] for name in FIELDS}
    question = of_log(way_page, kept, sent, most_rows=AT_ONCE)
    if "shown" in request.GET and still_waits(request, question):
        return nothing_new()
    reading = read_kept(kept)
    context = page_context(reading, "way")
    if reading.log is not None:
        found = answer_to(request, question)
        context |= {"ask_again": asks_again_at(request, shown="form")} if found is None else found
    return render(request, "desk/reading_way.html", context)


def way_page(kept: KeptLog, sent: Mapping[str, str]) -> dict[str, Any]:
    """What the page of the way shows of a kept log."""
    log, walker = whole_reading(kept)
    form = way_form(sent, log)
    return {
        "form": form,
        "places": places_of(log),
        "grounds": sorted({one.ground for one in walker.classes if one.ground}),
        **_answered(kept, log, walker, form),
    }


def way_form(sent: Mapping[str, str], log: TravelLog) -> WayForm:
    """Read what was asked of the way; what cannot be read is said beside its field and left out."""
    from pacewright.answers.way import WayAsked
    from pacewright.core.compass import parse_azimuth

    typed = {name: sent.get(name, "").strip()[:LONGEST_FIELD] for name in FIELDS}
    form = WayForm(typed, WayAsked(from_station=len(log.legs)))
    unit = log.heading.azimuth_unit

    def read(name: str, parse: Callable[[str], T], otherwise: T) -> T:
        if not typed[name]:
            return otherwise
        try:
            return parse(typed[name])
        except Complaint as complaint:
            form.wrong[name] = complaint.sentence
            return otherwise

    here = read("from", log.find_station, len(log.legs))
    line_deg = read("line", lambda text: parse_azimuth(text, unit), None)
    toward_deg = read("toward", lambda text: parse_azimuth(text, unit), None)
    if typed["toward"] and not typed["line"]:
        form.wrong["toward"] = "This is a side of a line. Give the line's azimuth too."
    form.asked = WayAsked(
        from_station=here,
        to=read("to", lambda text: log.find_station(text, near=here), 0),
        probability=PROBABILITY,
        ground=typed["ground"] or None,
        line_deg=line_deg,
        toward_deg=toward_deg if line_deg is not None else None,
        wrong_side=read("wrong_side", read_number, 2.0) / 100,
        sighting_distance=read("sight", read_number, None),
        with_retrace=bool(typed["retrace"]),
    )
    return form


def _answered(kept: KeptLog, log: TravelLog, walker: Walker, form: WayForm) -> dict[str, Any]:
    """The answer; where a number beside the way cannot be, the way is given without it."""
    from pacewright.answers.way import answer_way

    estimate = estimate_of(kept, log, walker)
    try:
        found = answer_way(estimate, form.asked)
    except Complaint as complaint:
        bare = dataclasses.replace(form.asked, line_deg=None, toward_deg=None, sighting_distance=None)
        said = {"refused": complaint.sentence}
        if bare == form.asked:
            return said
        try:
            found = answer_way(estimate, bare)
        except Complaint:
            return said
        return {**said, **_shown(estimate, found)}
    return _shown(estimate, found)


def _shown(estimate: Estimate, found: WayAnswer) -> dict[str, Any]:
    from pacewright.core.way.regions import named_regions
    from pacewright.core.way.search_pattern import ExpandingSquare
    from pacewright.drawing.search_diagram import draw_search
    from pacewright.drawing.walk_map import walk_parts
    from pacewright.drawing.walk_of import walk_of
    from pacewright.wording import way_answer as words
    from pacewright.wording.searching import search_table
    from pacewright.wording.walk import CAUTION, retrace_table

    log, search, back = found.log, words.search_of(found), found.retraced
    stations = estimate.stations("walker")
    # Only the way to walk is drawn: beside one that is aimed off the direct one is a note.
    way = None if found.aimed is not None else found.way
    figure = walk_of(log, stations, regions=named_regions(stations, PROBABILITY), way=way)
    return {
        "found": {"way": {"unit": found.way.unit}},
        "short": short_way(log, found.way, found.aimed),
        "figure": walk_parts(figure, FIGURE_MM),
        "said_doubt": words.say_doubt(found),
        "said_way": words.say_order(found),
        "said_searched": words.say_searched(found),
        "said_retraced": words.say_retraced(found),
        "said_note": words.say_note(found),
        "search_table": None if search is None else search_table(log, search, found.way),
        "retrace_table": retrace_table(back.log) if back is not None else None,
        "search": draw_search(found.way, found.turn, search) if isinstance(search, ExpandingSquare) else "",
        "caution": CAUTION,
    }
