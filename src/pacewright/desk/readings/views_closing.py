"""Does it close: by how much, which slip may be why, and putting it right on the page."""

from __future__ import annotations

import secrets
import uuid
from typing import TYPE_CHECKING, Any, Final

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from pacewright.desk.models import KeptLog
from pacewright.desk.notebook.keeping import keep_change, undo_last
from pacewright.desk.notebook.page_corrections import (
    change_to,
    leg_of_row,
    on_its_page,
    row_of_leg,
    suspect_name,
)
from pacewright.desk.notebook.page_reading import FIGURE_MM, known_of
from pacewright.desk.notebook.reading import (
    Reading,
    page_context,
    read_kept,
    reading_of,
    whole_reading,
)
from pacewright.desk.photographs.reading import has_photographs, pages_of
from pacewright.desk.serving.access import own_log
from pacewright.desk.workers.asking import (
    Question,
    answer_to,
    asks_again_at,
    known_answer,
    nothing_new,
    of_log,
    still_waits,
)
from pacewright.exceptions import Complaint, MissingComplaint, NoAnswerComplaint

if TYPE_CHECKING:
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.slips.suspects import Suspect

CLOSURES_AT_ONCE: Final = 150
SEARCH_AT_ONCE: Final = 60
TWO_AT_ONCE: Final = 16
"""Rows of a page whose closures, whose mistake, and whose two mistakes are found in the time of a page."""


@require_GET
def closing(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show how a log closes, and what a search says of it as soon as it does."""
    kept = own_log(request.member, log_id)
    closures, search = _questions(kept, two="two" in request.GET)
    if still_waits(request, search if "shown" in request.GET else closures):
        return nothing_new()
    reading = read_kept(kept)
    context = page_context(reading, "closing")
    if reading.log is not None:
        try:
            context |= _closed(reading, reading.log, request)
        except Complaint as complaint:
            context["not_yet"] = complaint.sentence
    return render(request, "desk/reading_closing.html", context)


def _questions(kept: KeptLog, *, two: bool) -> tuple[Question, Question]:
    """What the page asks: how the log closes, and what may be wrong in it."""
    return (
        of_log(said_closures, kept, most_rows=CLOSURES_AT_ONCE),
        of_log(searched, kept, two, most_rows=TWO_AT_ONCE if two else SEARCH_AT_ONCE),
    )


def _closed(reading: Reading, log: TravelLog, request: HttpRequest) -> dict[str, Any]:
    from pacewright.core.slips.corrected_log import is_corrected
    from pacewright.wording.findings import CAUTION
    from pacewright.wording.walk import say_not_possible

    closures, search = _questions(reading.kept, two="two" in request.GET)
    said = answer_to(request, closures)
    if said is None:
        return {"ask_again": asks_again_at(request)}
    context: dict[str, Any] = {
        "closures": said,
        "form_key": secrets.token_urlsafe(12),
        "can_undo": _can_undo_correction(reading.kept),
        "put_back": _put_back(reading.kept, log),
        "is_corrected": is_corrected(on_its_page(reading.kept, log)),
        "caution": CAUTION,
        "has_photographs": has_photographs(reading.kept),
    }
    try:
        found = answer_to(request, search)
    except NoAnswerComplaint as complaint:
        return {**context, "no_search": say_not_possible("search", complaint)}
    return {**context, **(found or {"ask_again": asks_again_at(request, shown="closures")})}


def said_closures(kept: KeptLog) -> tuple[str, ...]:
    """Say how a kept log closes."""
    from pacewright.wording.check_answer import answer_closures

    log, walker = whole_reading(kept)
    known = known_of(kept, log, walker)
    return tuple(answer_closures(log, walker, known.frame, known.placed, known.said).said)


def searched(kept: KeptLog, two: bool) -> dict[str, Any]:
    """What a search for mistakes in a kept log found, as the page shows it.

    Raises
    ------
    NoAnswerComplaint
        The log is too long to be searched.
    """
    from pacewright.answers.closing import search_log
    from pacewright.drawing.reconciled import figure_of_findings
    from pacewright.drawing.walk_map import walk_parts
    from pacewright.wording.check_answer import answer_check

    log, walker = whole_reading(kept)
    known = known_of(kept, log, walker)
    found = answer_check(search_log(log, walker, known), known.said, two=two)
    heading, rows = found.table or ((), [])
    suspects = found.findings.suspects
    offers = {suspect_name(one, log, kept): one for one in suspects if one.is_told}
    names = {id(one): name for name, one in offers.items()}
    return {
        "found": {
            "said_search": found.said_search,
            "said_rest": found.said_rest,
            "corrected_readings": found.corrected_readings,
        },
        "suspect_heading": heading,
        "suspects": [
            (
                list(zip(heading, row, strict=True)),
                names.get(id(suspects[int(row[0]) - 1]), ""),
                f"{row[0]}: {row[2]}, {row[4]}",
                _places(suspects[int(row[0]) - 1]),
                pages_of(suspects[int(row[0]) - 1], log, kept),
            )
            for row in rows
        ],
        "figure": walk_parts(figure_of_findings(found.findings, found.closures, found.islands), FIGURE_MM),
        "can_search_two": found.pairs is None and found.is_shown,
        "offers": offers,
    }


def _can_undo_correction(kept: KeptLog) -> bool:
    """Whether the latest change that stands put another page in place, as a correction does."""
    last = kept.edits.filter(is_undone=False, is_undo=False).order_by("-number").first()
    return last is not None and last.change.get("kind") == "replace"


def _places(suspect: Suspect) -> range:
    """The legs after which a missing leg may be: it is asked for where there are several."""
    if suspect.after_legs is None:
        return range(0)
    first, last = suspect.after_legs
    return range(first, last + 1) if last > first else range(0)


def _put_back(kept: KeptLog, log: TravelLog) -> list[tuple[str, int, int, str]]:
    """Every row that holds a struck entry: its identity, leg, number on the page, and notes."""
    from pacewright.core.slips.corrected_log import corrected_legs

    found = []
    for leg in corrected_legs(log):
        row = log.legs[leg - 1]
        found.append((row_of_leg(kept, log, leg), leg, row.line or 0, row.cells.notes))
    return found


@require_POST
def correct(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Put a suspect right on the page, put a struck entry back, or undo; each once."""
    reading = reading_of(request, log_id)
    key, do = request.POST.get("key", ""), request.POST.get("do", "")
    try:
        if not reading.kept.edits.filter(key=key).exists():
            what, after = request.POST.get("what", ""), request.POST.get("after", "")
            messages.success(request, _corrected(reading, key, do, what, after))
    except Complaint as complaint:
        messages.error(request, complaint.sentence)
    return redirect("closing", log_id=log_id)


def _corrected(reading: Reading, key: str, do: str, what: str, after: str) -> str:
    from pacewright.core.slips.corrected_log import undo_all

    kept, log = reading.kept, reading.log
    if do == "undo":
        undo_last(kept.pk, key)
        return "The last change is taken back."
    if log is None:
        raise MissingComplaint("the page holds no log that can be put right", "Look at the page first")
    if do == "accept":
        return _accept(reading, log, key, what, after)
    if do == "put_back_all":
        _keep(kept, key, log, undo_all(on_its_page(kept, log)))
        return "Every struck entry is put back."
    if do == "put_back":
        return _put_one_back(kept, log, key, what)
    raise MissingComplaint("this is nothing that can be done here", "Load the page again")


def _accept(reading: Reading, log: TravelLog, key: str, what: str, after: str) -> str:
    from pacewright.core.slips.corrected_log import accept_suspect
    from pacewright.wording.check_answer import say_accepted_on_page

    kept = reading.kept
    # The page that showed the suspects asked this very question, with two mistakes or without.
    asked = [_questions(kept, two=two)[1] for two in (False, True)]
    found = known_answer(asked[0]) or known_answer(asked[1])
    if found is None:
        raise MissingComplaint(
            "the suspects are being searched for anew", "Wait until they stand here, then choose again"
        )
    suspect = found["offers"].get(what)
    if suspect is None:
        raise MissingComplaint(
            "this suspect is no longer there: the page has changed since it was shown",
            "Look at the suspects as they stand now",
        )
    after_leg = int(after) if after.isdecimal() and len(after) < 8 else None
    _keep(kept, key, log, accept_suspect(on_its_page(kept, log), suspect, after_leg))
    return say_accepted_on_page(suspect, log)


def _put_one_back(kept: KeptLog, log: TravelLog, key: str, identity: str) -> str:
    from pacewright.core.slips.corrected_log import undo_leg

    leg = leg_of_row(kept, log, identity)
    if leg is None:
        raise MissingComplaint("this row is no longer there", "Look at the page as it stands now")
    _keep(kept, key, log, undo_leg(on_its_page(kept, log), leg))
    return f"The last struck entry of leg {leg} is put back."


def _keep(kept: KeptLog, key: str, log: TravelLog, corrected: TravelLog) -> None:
    """Write a corrected log onto its page, unless the page was changed since it was read."""
    with transaction.atomic():
        now = KeptLog.objects.select_for_update().get(pk=kept.pk)
        if now.revision != kept.revision:
            raise MissingComplaint(
                "the page was changed in the meantime", "Look at it as it stands now, and choose again"
            )
        keep_change(kept.pk, key, change_to(kept, log, corrected))
