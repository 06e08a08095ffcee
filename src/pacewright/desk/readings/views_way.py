"""The way back: from any station to any station, aiming off, the search, leg by leg."""

from __future__ import annotations

import dataclasses
import uuid
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pacewright.desk.ask.fields import ReadField, number_field
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

AT_ONCE = 150
"""Rows of a page whose way is found in the time of a page."""


class WayForm(forms.Form):
    """What is asked of a way on a log; what cannot be read is said above the answer, and left out of it."""

    def __init__(self, sent: Mapping[str, Any], log: TravelLog) -> None:
        from pacewright.core.compass import parse_azimuth

        super().__init__(sent, use_required_attribute=False)
        unit = log.heading.azimuth_unit
        self.log = log
        self.fields = {
            "from": ReadField("from", log.find_station),
            "to": ReadField("to", str),
            "ground": ReadField("ground of the way", str),
            "line": ReadField("a line through the goal, azimuth", lambda text: parse_azimuth(text, unit)),
            "toward": ReadField("aim off toward", lambda text: parse_azimuth(text, unit)),
            "wrong_side": number_field("wrong side, per cent"),
            "sight": number_field("the goal is seen from"),
            "retrace": forms.BooleanField(label="also leg by leg", required=False),
        }

    @property
    def here(self) -> int:
        """The station from which the way leads: where it was left empty or is not read, the last."""
        found = self.cleaned_data.get("from")
        return len(self.log.legs) if found is None else int(found)

    def clean_to(self) -> int:
        """The goal: of several of one name the one that is nearest to where the way begins."""
        typed = self.cleaned_data["to"]
        try:
            return 0 if typed is None else int(self.log.find_station(typed, near=self.here))
        except Complaint as complaint:
            raise forms.ValidationError(complaint.sentence) from None

    def clean(self) -> None:
        """Say that a side without its line is none."""
        if self["toward"].value() and not self["line"].value():
            self.add_error("toward", "This is a side of a line. Give the line's azimuth too.")

    def asked(self) -> WayAsked:
        """What is asked, as far as it can be read."""
        from pacewright.answers.way import WayAsked

        self.full_clean()
        read = self.cleaned_data
        line_deg = read.get("line")
        return WayAsked(
            from_station=self.here,
            to=read.get("to", 0),
            probability=PROBABILITY,
            ground=read.get("ground"),
            line_deg=line_deg,
            toward_deg=None if line_deg is None else read.get("toward"),
            wrong_side=2.0 / 100 if read.get("wrong_side") is None else read["wrong_side"] / 100,
            sighting_distance=read.get("sight"),
            with_retrace=bool(read.get("retrace")),
        )


@require_GET
def way(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show the way from one station of a log to another, and what to do at its end."""
    kept = own_log(request.member, log_id)
    reading = read_kept(kept)
    context = page_context(reading, "way")
    if reading.log is None:
        return render(request, "desk/reading_way.html", context)
    form = WayForm(request.GET, reading.log)
    asked = form.asked()
    question = of_log(way_page, kept, asked, most_rows=AT_ONCE)
    if "shown" in request.GET and still_waits(request, question):
        return nothing_new()
    found = answer_to(request, question)
    context |= {
        "form": form,
        "asked": asked,
        "places": places_of(reading.log),
        "grounds": sorted({one.ground for one in reading.walker.classes if one.ground}),
    }
    context |= {"ask_again": asks_again_at(request, shown="form")} if found is None else found
    return render(request, "desk/reading_way.html", context)


def way_page(kept: KeptLog, asked: WayAsked) -> dict[str, Any]:
    """The answer; where a number beside the way cannot be, the way is given without it."""
    from pacewright.answers.way import answer_way

    log, walker = whole_reading(kept)
    estimate = estimate_of(kept, log, walker)
    try:
        found = answer_way(estimate, asked)
    except Complaint as complaint:
        bare = dataclasses.replace(asked, line_deg=None, toward_deg=None, sighting_distance=None)
        said = {"refused": complaint.sentence}
        if bare == asked:
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
