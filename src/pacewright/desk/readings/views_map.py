"""The log in both frames, on the map, and on its ground."""

from __future__ import annotations

import contextlib
import uuid
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, ClassVar, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from pacewright.core.plain_text import clean_line
from pacewright.desk.ask.fields import A_NUMBER, AskForm, ReadField, choice_field, read_number
from pacewright.desk.models import Ground, KeptLog
from pacewright.desk.notebook.ground_keeping import keep_ground, terrain_line, terrain_of, throw_ground
from pacewright.desk.notebook.keeping import check_not_thrown
from pacewright.desk.notebook.page_reading import FIGURE_MM, PROBABILITY, estimate_of
from pacewright.desk.notebook.reading import Reading, page_context, read_kept, reading_of, whole_reading
from pacewright.desk.serving.access import own, own_log, owner_only
from pacewright.desk.workers.asking import (
    Question,
    nothing_new,
    of_log,
    shown_answer,
    still_waits,
)
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate
    from pacewright.answers.placing import PlacedLog
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.way.frames import FrameKind
    from pacewright.core.way.way_back import WayBack
    from pacewright.drawing.walk_map import WalkParts
    from pacewright.drawing.walk_on_ground import WalkOnGround
    from pacewright.ground.grid_text import Position

GROUNDS_MM: Final = ((88.0, 112.0), (130.0, 165.0), (190.0, 240.0), (297.0, 360.0))
"""Pictures of a log on its ground; on the smallest letters are large enough on a phone."""
AT_ONCE: Final = 150
"""Rows of a page whose frames are drawn in the time of a page."""
GROUND_AT_ONCE: Final = -1
"""Land is large: it is always drawn by a worker."""
LEAST_SD_M: Final = 0.01
MOST_SD_M: Final = 100_000.0


class StartForm(AskForm):
    """Where a log starts, how sure that is, and the ground under it."""

    begins: ClassVar[Mapping[str, str]] = {"sd_m": "10"}
    place = ReadField(
        "where the log starts",
        lambda text: _checked_place(text),
        "latitude longitude, UTM, or MGRS",
        attrs={"size": 24, "placeholder": "37.3566 -119.3054"},
    )
    sd_m = ReadField(
        "unsure by, metres", lambda text: _checked_sd_m(text), "standard deviation", attrs=A_NUMBER
    )
    ground = choice_field("ground under it", ())

    def __init__(self, sent: Mapping[str, Any] | None, kept: KeptLog) -> None:
        super().__init__(sent, kept.owner)
        self.auto_id = "start-%s"
        grounds = Ground.objects.filter(owner=kept.owner).order_by("made_at")
        self.fields["ground"].choices = [("", "none"), *((str(one.pk), one.name) for one in grounds)]
        self.initial = {
            "place": kept.start_place,
            "sd_m": f"{kept.start_sd_m:g}",
            "ground": str(kept.ground_id or ""),
        }


@require_GET
def on_map(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show a log in the walker's frame and in the map frame, and where it lies on the map."""
    kept = own_log(request.member, log_id)
    if still_waits(request, _map_question(kept)):
        return nothing_new()
    return render(request, "desk/reading_map.html", _page(request, read_kept(kept)))


def _map_question(kept: KeptLog) -> Question:
    return of_log(map_page, kept, most_rows=AT_ONCE)


def _page(request: HttpRequest, reading: Reading) -> dict[str, Any]:
    kept = reading.kept
    context = {
        **page_context(reading, "map"),
        "form": StartForm(None, kept),
        "grounds": Ground.objects.filter(owner=request.member).order_by("made_at"),
        "terrain_line": terrain_line() if request.member.is_owner else "",
    }
    if reading.log is None:
        return context
    return context | shown_answer(request, _map_question(kept), "not_yet")


def map_page(kept: KeptLog) -> dict[str, Any]:
    """What the page of the map shows of a kept log.

    Raises
    ------
    Complaint
        There is no leg, or no answer.
    """
    log, walker = whole_reading(kept)
    estimate = estimate_of(kept, log, walker)
    return _frames(estimate) | _placed(kept, estimate)


def _frames(estimate: Estimate) -> dict[str, Any]:
    """Both frames: the figure, its table, and what is said of it."""
    from pacewright.answers.way import WayAsked, answer_way
    from pacewright.wording.walk import CAUTION
    from pacewright.wording.way_answer import say_doubt

    found = answer_way(estimate, WayAsked(len(estimate.log.legs), probability=PROBABILITY))
    frames = {"walkers": _frame(estimate, "walker", found.way)}
    try:
        frames["maps"] = _frame(estimate, "map", None)
    except MissingComplaint as complaint:
        frames["maps"] = {"said": [f"There is no figure in metres: {complaint.what}. {complaint.do}."]}
    doubts = say_doubt(found)
    return {"frames": frames, "doubt": doubts, "caution": CAUTION}


def _frame(estimate: Estimate, kind: FrameKind, way: WayBack | None) -> dict[str, Any]:
    from pacewright.core.way.regions import named_regions
    from pacewright.drawing.walk_map import walk_parts
    from pacewright.drawing.walk_of import walk_of
    from pacewright.wording.estimate import say_in_metres, say_rests_on
    from pacewright.wording.walk import say_reckoned, station_table

    log, walker, reckoning = estimate.log, estimate.walker, estimate.stations(kind)
    figure = walk_of(log, reckoning, regions=named_regions(reckoning, PROBABILITY), way=way)
    is_own = kind == "walker"
    beside = [*say_in_metres(estimate, PROBABILITY), *say_rests_on(estimate)] if is_own else []
    return {
        "said": [*say_reckoned(log, reckoning, PROBABILITY, walker), *beside],
        "figure": walk_parts(figure, FIGURE_MM),
        "table": station_table(log, reckoning, PROBABILITY),
    }


def _placed(kept: KeptLog, estimate: Estimate) -> dict[str, Any]:
    """The place on the map, and the norths there; or why there is none."""
    from pacewright.answers.placing import place_log
    from pacewright.ground.map_frame import has_places
    from pacewright.wording.placing import say_not_placed, say_placed

    log, known = estimate.log, estimate.known
    is_known = has_places(log)
    if known.anchor is None and known.refused is None:
        return {"is_known": is_known}
    try:
        start = _start(kept)
        placed = place_log(estimate)
    except Complaint as complaint:
        return {"is_known": is_known, "not_placed": say_not_placed(complaint)}
    return {
        "is_known": is_known,
        "placed_said": say_placed(log, placed, PROBABILITY),
        "has_ground": kept.ground is not None,
        **_norths(log, placed, start),
    }


def _start(kept: KeptLog) -> Position | None:
    from pacewright.ground.grid_text import parse_place

    return parse_place(kept.start_place) if kept.start_place else None


def _norths(log: TravelLog, placed: PlacedLog, start: Position | None) -> dict[str, Any]:
    """The three norths at the start, on the day of the log."""
    from pacewright.drawing.north_diagram import draw_norths
    from pacewright.files.field_model import bundled_field_model
    from pacewright.ground.grid_text import Position, format_place
    from pacewright.ground.norths_at import norths_at
    from pacewright.wording.norths import rule_table, say_norths

    if log.heading.date is None:
        return {"no_norths": "The heading has no date, and declination changes from year to year."}
    latitude_deg, longitude_deg = float(placed.latitude_deg[0]), float(placed.longitude_deg[0])
    position = start or Position(latitude_deg, longitude_deg, zone=placed.on_grid.zone)
    when = log.heading.date.isoformat()
    try:
        here = norths_at(bundled_field_model(), position, when)
    except Complaint as complaint:
        return {"no_norths": complaint.sentence}
    unit, title = log.heading.azimuth_unit, f"{format_place(position)}, {when}"
    return {
        "norths_said": say_norths(here),
        "norths_figure": draw_norths(here.relation, title, unit=unit, dial_only=True),
        "norths_table": rule_table(here.relation, unit),
    }


@require_GET
def ground_sheet(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show a log on its ground: the part of the map page that takes longest to draw."""
    kept = own_log(request.member, log_id)
    question = of_log(ground_page, kept, most_rows=GROUND_AT_ONCE)
    if still_waits(request, question):
        return nothing_new()
    reading = read_kept(kept)
    context = page_context(reading, "map")
    if reading.log is not None:
        context |= shown_answer(request, question)
    return render(request, "desk/reading_ground.html", context)


def ground_page(kept: KeptLog) -> dict[str, Any]:
    """The sheet of a kept log on its ground.

    Raises
    ------
    Complaint
        There is no ground, or the log does not lie on it.
    """
    from pacewright.answers.placing import place_log
    from pacewright.answers.way import WayAsked, answer_way
    from pacewright.drawing.walk_on_ground import walk_on_ground
    from pacewright.wording.walk import CAUTION
    from pacewright.wording.way_answer import say_doubt

    log, walker = whole_reading(kept)
    ground = kept.ground
    if ground is None:
        raise MissingComplaint("no ground is chosen for this log", "Choose one on the map page")
    estimate = estimate_of(kept, log, walker)
    placed = place_log(estimate)
    found = answer_way(estimate, WayAsked(len(log.legs), probability=PROBABILITY))
    walk = walk_on_ground(log, placed, terrain_of(ground), probability=PROBABILITY, way=found.way)
    return {"sheet": _smallest(walk), "doubt": say_doubt(found), "caution": CAUTION}


def _smallest(walk: WalkOnGround) -> WalkParts:
    """The smallest picture that a log fits on: the smaller it is, the larger are its letters on a phone."""
    from pacewright.drawing.walk_on_ground import ground_parts

    for size_mm in GROUNDS_MM[:-1]:
        with contextlib.suppress(ValueComplaint):
            return ground_parts(walk, size_mm)
    return ground_parts(walk, GROUNDS_MM[-1])


@require_POST
def save_start(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Keep where a log starts, how sure that is, and the ground it is drawn on."""
    kept = own_log(request.member, log_id)
    check_not_thrown(kept)
    form = StartForm(request.POST, kept)
    if not form.is_valid():
        context = _page(request, reading_of(request, log_id)) | {"form": form}
        return render(request, "desk/reading_map.html", context, status=422)
    KeptLog.objects.filter(pk=kept.pk).update(
        start_place=form.given("place") or "",
        start_sd_m=form.given("sd_m"),
        ground=form.given("ground") or None,
    )
    return redirect("on_map", log_id=log_id)


def _checked_place(text: str) -> str:
    from pacewright.ground.grid_text import parse_place

    place = clean_line(text)
    parse_place(place)
    return place


def _checked_sd_m(text: str) -> float:
    sd_m = read_number(text)
    if not LEAST_SD_M <= sd_m <= MOST_SD_M:
        raise ValueComplaint(
            f"{text[:40]} is no standard deviation in metres",
            f"Write a number from {LEAST_SD_M:g} to {MOST_SD_M:.0f}, such as 10",
        )
    return sd_m


@require_POST
@owner_only
def hand_in_ground(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Keep a terrain file, and draw the log on it."""
    kept = own_log(request.member, log_id)
    check_not_thrown(kept)
    sent = request.FILES.get("file")
    try:
        if sent is None:
            raise MissingComplaint("no file came with the form", "Choose a GeoTIFF of heights first")
        ground = keep_ground(request.member, request.POST.get("name", ""), sent)
    except Complaint as complaint:
        context = {**_page(request, reading_of(request, log_id)), "wrong_file": complaint.sentence}
        return render(request, "desk/reading_map.html", context, status=422)
    KeptLog.objects.filter(pk=kept.pk).update(ground=ground)
    return redirect("on_map", log_id=log_id)


@require_POST
@owner_only
def throw_away_ground(request: HttpRequest, ground_id: uuid.UUID) -> HttpResponse:
    """Take a terrain file off the desk."""
    ground = own(Ground, request.member, ground_id)
    name = ground.name
    throw_ground(ground)
    messages.success(request, f"{name} is taken off the desk.")
    back = request.POST.get("log", "")
    log = KeptLog.objects.filter(pk=_uuid(back), owner=request.member).first()
    return redirect(reverse("on_map", kwargs={"log_id": log.pk}) if log else reverse("home"))


def _uuid(text: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(text)
    except ValueError:
        return None
