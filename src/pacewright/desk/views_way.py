"""The way back: from any station to any station, aiming off, the search, leg by leg."""

from __future__ import annotations

import dataclasses
import math
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, TypeVar

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pacewright.desk.page_reading import FIGURE_MM, PROBABILITY, short_way
from pacewright.desk.reading import Reading, line_of, page_context, places_of, reading_of
from pacewright.exceptions import Complaint, ValueComplaint

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate
    from pacewright.answers.way import WayAnswer, WayAsked
    from pacewright.core.log.travel_log import TravelLog

T = TypeVar("T")
LONGEST_FIELD = 200


@dataclass(slots=True)
class WayForm:
    """What was asked for: each field as typed, what it means, and what is wrong with it."""

    typed: dict[str, str]
    asked: WayAsked
    wrong: dict[str, str] = field(default_factory=dict)


@require_GET
def way(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show the way from one station of a log to another, and what to do at its end."""
    reading = reading_of(request, log_id)
    context = page_context(reading, "way")
    if reading.log is not None:
        form = way_form(request.GET, reading.log)
        context |= {
            "form": form,
            "places": places_of(reading.log),
            "grounds": sorted({one.ground for one in reading.walker.classes if one.ground}),
            **_answered(reading, reading.log, form),
        }
    return render(request, "desk/reading_way.html", context)


def way_form(sent: QueryDict, log: TravelLog) -> WayForm:
    """Read what was asked of the way; what cannot be read is said beside its field and left out."""
    from pacewright.answers.way import WayAsked
    from pacewright.core.compass import parse_azimuth

    names = ("from", "to", "ground", "line", "toward", "wrong_side", "sight", "retrace")
    typed = {name: sent.get(name, "").strip()[:LONGEST_FIELD] for name in names}
    form = WayForm(typed, WayAsked(from_station=len(log.legs)))
    unit = log.heading.azimuth_unit

    def read(name: str, parse: Callable[[str], T], otherwise: T) -> T:
        if not typed[name]:
            return otherwise
        try:
            return parse(typed[name])
        except Complaint as complaint:
            form.wrong[name] = line_of(complaint)
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
        wrong_side=read("wrong_side", _number, 2.0) / 100,
        sighting_distance=read("sight", _number, None),
        with_retrace=bool(typed["retrace"]),
    )
    return form


def _number(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ValueComplaint(f"{text[:40]} is not a number", "Write it in figures, such as 40")
    return value


def _answered(reading: Reading, log: TravelLog, form: WayForm) -> dict[str, Any]:
    """Give the answer; where a number beside the way cannot be, the way is given without it."""
    from pacewright.answers.way import answer_way
    from pacewright.files.known_places import open_estimate

    estimate = open_estimate(log, reading.walker)
    try:
        found = answer_way(estimate, form.asked)
    except Complaint as complaint:
        bare = dataclasses.replace(form.asked, line_deg=None, toward_deg=None, sighting_distance=None)
        said = {"refused": line_of(complaint)}
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
    from pacewright.drawing.walk_map import draw_walk_map
    from pacewright.drawing.walk_of import walk_of
    from pacewright.wording import way_answer as words
    from pacewright.wording.walk import CAUTION, retrace_table, search_table

    log, search, back = found.log, words.search_of(found), found.retraced
    stations = estimate.stations("walker")
    # Only the way to walk is drawn: beside one that is aimed off the direct one is a note.
    way = None if found.aimed is not None else found.way
    figure = walk_of(log, stations, regions=named_regions(stations, PROBABILITY), way=way)
    return {
        "found": found,
        "short": short_way(log, found.way, found.aimed),
        "figure": draw_walk_map(figure, FIGURE_MM),
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
