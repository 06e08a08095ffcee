"""The adjusted figure, and what the walker's own figures may learn from it."""

from __future__ import annotations

import hashlib
import uuid
from typing import TYPE_CHECKING, Any, Final, Literal

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from pacewright.desk.models import KeptLog, KeptWalker
from pacewright.desk.notebook.page_reading import FIGURE_MM, PROBABILITY, estimate_of
from pacewright.desk.notebook.reading import Reading, page_context, read_kept, whole_reading
from pacewright.desk.serving.access import own_log
from pacewright.desk.walkers.keeping import change_walker
from pacewright.desk.walkers.learning import learnt_logs, learnt_of, source_of
from pacewright.desk.workers.asking import (
    known_answer,
    nothing_new,
    of_log,
    shown_answer,
    still_waits,
)
from pacewright.exceptions import Complaint, MissingComplaint

if TYPE_CHECKING:
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker

Rule = Literal["least-squares", "compass", "transit"]
RULES: Final[tuple[tuple[Rule, str], ...]] = (
    ("least-squares", "least squares"),
    ("compass", "compass rule"),
    ("transit", "transit rule"),
)
AT_ONCE: Final = 60
"""Rows of a page that is adjusted, and learnt from, in the time of a page."""


@require_GET
def adjusted(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show a log adjusted as a whole, by least squares or by a textbook rule."""
    kept = own_log(request.member, log_id)
    rule = request.GET.get("rule", "")
    chosen = next((one for one, _ in RULES if one == rule), RULES[0][0])
    robust = "robust" in request.GET and chosen == "least-squares"
    question = of_log(adjusted_page, kept, chosen, robust, most_rows=AT_ONCE)
    if still_waits(request, question):
        return nothing_new()
    reading = read_kept(kept)
    context = {**page_context(reading, "adjusted"), "rules": RULES, "rule": chosen, "robust": robust}
    if reading.log is not None:
        found = shown_answer(request, question)
        context |= _shown(reading, found) if "told" in found else found
    return render(request, "desk/reading_adjusted.html", context)


def adjusted_page(kept: KeptLog, rule: Rule, robust: bool) -> dict[str, Any]:
    """A kept log adjusted, as the page shows it, and what its walker would learn from it.

    Raises
    ------
    Complaint
        The log cannot be adjusted so.
    """
    from pacewright.answers.closing import adjust_by_textbook, adjust_log, pulled_stations
    from pacewright.drawing.reconciled import figure_of_adjusted
    from pacewright.drawing.walk_map import walk_parts
    from pacewright.wording.adjusted_answer import say_adjusted
    from pacewright.wording.estimate import say_condemned

    log, walker = whole_reading(kept)
    estimate = estimate_of(kept, log, walker)
    known = estimate.known
    warned = say_condemned(estimate, is_spread=robust or rule != "least-squares")
    if rule != "least-squares":
        by_rule = adjust_by_textbook(log, walker, known, rule)
        told = say_adjusted(log, by_rule, PROBABILITY, known.said, walker, warned)
        figure = walk_parts(figure_of_adjusted(log, by_rule, PROBABILITY), FIGURE_MM)
        return {"told": told, "figure": figure, "is_least_squares": False}
    adjustment, pulled = adjust_log(estimate, known, robust=robust), pulled_stations(estimate)
    told = say_adjusted(log, adjustment, PROBABILITY, known.said, walker, warned, pulled)
    figure = walk_parts(figure_of_adjusted(log, adjustment, PROBABILITY), FIGURE_MM)
    learning = {} if robust or kept.walker is None else _learning(kept, log, walker)
    # Who lets outliers pull less learns nothing from them.
    return {"told": told, "figure": figure, "is_least_squares": not robust, **learning}


def _learning(kept: KeptLog, log: TravelLog, walker: Walker) -> dict[str, Any]:
    return learnt_of(walker, [(kept.title or "This log", source_of(kept, log, walker))])


def _shown(reading: Reading, found: dict[str, Any]) -> dict[str, Any]:
    """What is shown of it: nothing is learnt where there is no walker, or was learnt already."""
    walker = reading.kept.walker
    if "learn_said" not in found:
        is_alone = walker is None and found["is_least_squares"]
        said = ("This log has no walker of its own, and so no figures to set right by it.",)
        return {**found, **({"learn_said": said} if is_alone else {})}
    assert walker is not None
    if reading.kept.pk in learnt_logs(walker):
        again = f"{walker.name} has learnt from this log already: again would count the same walking twice."
        return {**found, "learn_said": (again,), "learn_table": None}
    return {**found, "learn_mark": _mark(walker, reading.kept) if found["learnt_toml"] else ""}


def _mark(walker: KeptWalker, log: KeptLog) -> str:
    """What stands for the figures and the log as shown; a page grown old bears another."""
    return hashlib.sha256(f"{walker.pk}\n{log.revision}\n{walker.toml}".encode()).hexdigest()[:32]


@require_POST
def learn_from(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Write what a log tells of its walker into the walker's figures, and keep how they stood."""
    kept = own_log(request.member, log_id)
    try:
        messages.success(request, _learn(kept, request.POST.get("mark", "")))
    except Complaint as complaint:
        messages.error(request, complaint.sentence)
    return redirect("adjusted", log_id=log_id)


def _learn(kept: KeptLog, mark: str) -> str:
    if kept.walker is None:
        raise MissingComplaint("there is nothing to learn here", "Give the log a walker, and legs")
    found = known_answer(of_log(adjusted_page, kept, RULES[0][0], False, most_rows=AT_ONCE))
    if found is None:
        raise MissingComplaint(
            "what this log tells is being worked out anew", "Wait until it stands here, then choose again"
        )
    with transaction.atomic():
        walker = KeptWalker.objects.select_for_update().get(pk=kept.walker.pk)
        if kept.pk in learnt_logs(walker):
            return f"{walker.name} has learnt from this log already; nothing was changed."
        if not found["learnt_toml"] or mark != _mark(walker, kept):
            raise MissingComplaint(
                "the log or the walker's figures were changed since they were shown",
                "Look at what would be learnt now, and choose again",
            )
        why = f"learnt from {kept.title or 'a log without a title'}"
        change_walker(walker.pk, why, toml=found["learnt_toml"], learnt_from=[kept])
    return f"Written into the figures of {walker.name}. How they stood before is kept."
