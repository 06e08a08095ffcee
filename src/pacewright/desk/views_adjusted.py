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
from pacewright.desk.page_reading import FIGURE_MM, PROBABILITY
from pacewright.desk.reading import Reading, line_of, page_context, reading_of
from pacewright.desk.walker_keeping import change_walker
from pacewright.exceptions import Complaint, MissingComplaint

if TYPE_CHECKING:
    from pacewright.core.adjust.adjustment import Adjustment
    from pacewright.core.learn.learning import Learnt, Source
    from pacewright.core.log.travel_log import TravelLog

Rule = Literal["least-squares", "compass", "transit"]
RULES: Final[tuple[tuple[Rule, str], ...]] = (
    ("least-squares", "least squares"),
    ("compass", "compass rule"),
    ("transit", "transit rule"),
)


@require_GET
def adjusted(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Show a log adjusted as a whole, by least squares or by a textbook rule."""
    reading = reading_of(request, log_id)
    rule = request.GET.get("rule", "")
    chosen = next((one for one, _ in RULES if one == rule), RULES[0][0])
    robust = "robust" in request.GET and chosen == "least-squares"
    context = {**page_context(reading, "adjusted"), "rules": RULES, "rule": chosen, "robust": robust}
    if reading.log is not None:
        try:
            context |= _adjusted(reading, reading.log, chosen, robust)
        except Complaint as complaint:
            context["refused"] = line_of(complaint)
    return render(request, "desk/reading_adjusted.html", context)


def _adjusted(reading: Reading, log: TravelLog, rule: Rule, robust: bool) -> dict[str, Any]:
    from pacewright.answers.closing import adjust_log, pulled_stations
    from pacewright.core.adjust.rule_adjustment import adjust_by_rule
    from pacewright.drawing.reconciled import draw_adjusted
    from pacewright.files.known_places import open_estimate, open_known
    from pacewright.wording.adjusted_answer import say_adjusted
    from pacewright.wording.estimate import say_condemned

    known, estimate = open_known(log, reading.walker, None), open_estimate(log, reading.walker)
    warned = say_condemned(estimate, is_spread=robust or rule != "least-squares")
    if rule != "least-squares":
        by_rule = adjust_by_rule(log, reading.walker, known.frame, rule=rule, placed=known.placed)
        told = say_adjusted(log, by_rule, PROBABILITY, known.said, reading.walker, warned)
        return {"told": told, "figure": draw_adjusted(log, by_rule, PROBABILITY, page_mm=FIGURE_MM)}
    adjustment, pulled = adjust_log(estimate, known, robust=robust), pulled_stations(estimate)
    told = say_adjusted(log, adjustment, PROBABILITY, known.said, reading.walker, warned, pulled)
    figure = draw_adjusted(log, adjustment, PROBABILITY, page_mm=FIGURE_MM)
    return {"told": told, "figure": figure, **({} if robust else _learning(reading, log))}


def _to_learn(reading: Reading, log: TravelLog) -> Adjustment:
    from pacewright.answers.closing import adjust_to_learn
    from pacewright.files.known_places import open_known

    return adjust_to_learn(log, reading.walker, open_known(log, reading.walker, None))


def _learning(reading: Reading, log: TravelLog) -> dict[str, Any]:
    """Give what the walker would learn; nothing where the log has no walker or was learnt from already."""
    from pacewright.core.learn.learning import learn
    from pacewright.wording.adjustment import learnt_table, say_learnt

    walker = reading.kept.walker
    if walker is None:
        return {"learn_said": ("This log has no walker of its own, and so no figures to set right by it.",)}
    if _was_learnt_from(walker, reading.kept):
        return {
            "learn_said": (
                f"{walker.name} has learnt from this log already: again would count the same walking twice.",
            )
        }
    learnt = learn(reading.walker, _source(reading, _to_learn(reading, log)))
    return {
        "learn_said": say_learnt(learnt, reading.walker),
        "learn_table": learnt_table(learnt) if learnt.changes else None,
        "learn_mark": _mark(walker, reading.kept) if learnt.changes else "",
    }


def _source(reading: Reading, adjustment: Adjustment) -> Source:
    """Give the log as it is learnt from, or why it is not."""
    from pacewright.files.known_places import open_known
    from pacewright.wording.left_out import find_left_out, find_other_left_out

    assert reading.log is not None
    other = find_other_left_out(reading.log, reading.walker)
    if other is not None:
        return other
    known = open_known(reading.log, reading.walker, None)
    return find_left_out(reading.log, reading.walker, known.frame, known.placed) or adjustment


def _mark(walker: KeptWalker, log: KeptLog) -> str:
    """Give what stands for the figures and the log as shown; a page grown old bears another."""
    return hashlib.sha256(f"{walker.pk}\n{log.revision}\n{walker.toml}".encode()).hexdigest()[:32]


def _was_learnt_from(walker: KeptWalker, log: KeptLog) -> bool:
    """Tell whether a log is in the figures as they stand; a state gone back to holds what it held then."""
    past = list(walker.past.order_by("at", "pk"))
    held: dict[str, frozenset[uuid.UUID]] = {}
    states = [*(one.toml for one in past), walker.toml]
    for change, after in zip(past, states[1:], strict=True):
        before = held.setdefault(change.toml, frozenset())
        if change.learnt_from_id is not None:
            held[after] = before | {change.learnt_from_id}
        else:
            held.setdefault(after, before)
    return log.pk in held.get(walker.toml, frozenset())


@require_POST
def learn_from(request: HttpRequest, log_id: uuid.UUID) -> HttpResponse:
    """Write what a log tells of its walker into the walker's figures, and keep how they stood."""
    reading = reading_of(request, log_id)
    try:
        messages.success(request, _learn(reading, request.POST.get("mark", "")))
    except Complaint as complaint:
        messages.error(request, line_of(complaint))
    return redirect("adjusted", log_id=log_id)


def _learn(reading: Reading, mark: str) -> str:
    from pacewright.core.learn.learning import learn
    from pacewright.files.walker_toml import write_walker

    if reading.log is None or reading.kept.walker is None:
        raise MissingComplaint("there is nothing to learn here", "Give the log a walker, and legs")
    learnt: Learnt = learn(reading.walker, _source(reading, _to_learn(reading, reading.log)))
    with transaction.atomic():
        walker = KeptWalker.objects.select_for_update().get(pk=reading.kept.walker.pk)
        if _was_learnt_from(walker, reading.kept):
            return f"{walker.name} has learnt from this log already; nothing was changed."
        if not learnt.changes or mark != _mark(walker, reading.kept):
            raise MissingComplaint(
                "the log or the walker's figures were changed since they were shown",
                "Look at what would be learnt now, and choose again",
            )
        why = f"learnt from {reading.kept.title or 'a log without a title'}"
        toml = write_walker(learnt.walker).decode("utf-8")
        change_walker(walker.pk, why, toml=toml, learnt_from=reading.kept)
    return f"Written into the figures of {walker.name}. How they stood before is kept."
