"""A page asks: what is quick is answered at once, what is not by a worker, and the page comes again."""

from __future__ import annotations

import hashlib
import os
import pickle
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from django.http import HttpRequest, HttpResponse

from pacewright.desk.models import KeptLog
from pacewright.desk.workers.progress import Progress
from pacewright.desk.workers.workshop import Outcome, Workshop
from pacewright.exceptions import Complaint, NoAnswerComplaint

HOLD_S = 0.6
"""A page that comes within this is not sent without its answer first."""
MOST_HELD: Final = 2
"""Of the threads that serve, so many may wait for a worker; the others save."""
MOST_MB: Final = int(os.environ.get("PACEWRIGHT_MEMORY_MB") or 1500)
"""What all processes of the desk together take at the most; more lets more workers work at once."""
DESK_MB: Final = 400
WORKER_MB: Final = 140
"""What the desk itself holds, and a worker at its start (measured)."""
LENT_MB: Final = 400
"""What an answer may take beyond that."""


def cores() -> int:
    """How many processors this process may use."""
    usable = getattr(os, "sched_getaffinity", None)
    return len(usable(0)) if usable is not None else os.cpu_count() or 1


def workers_for(cores: int, most_mb: int = MOST_MB) -> int:
    """How many workers work at once: a core stays free for those who save, and memory is bounded."""
    return max(1, min(cores - 1, (most_mb - DESK_MB) // (WORKER_MB + LENT_MB)))


WORKSHOP: Final = Workshop(workers_for(cores()), LENT_MB)
_HELD: Final = threading.BoundedSemaphore(MOST_HELD)
_SAID: Final = {
    "memory": (
        "this answer needs more memory than the desk gives one",
        "Split the log into parts, and ask for each",
    ),
    "time": (
        "this answer takes longer than the desk gives one",
        "Split the log into parts, and ask for each",
    ),
    "fair": (
        "this answer takes long, and others were waiting for theirs",
        "Ask again when fewer are at the desk",
    ),
}
_STOPPED: Final = ("this answer was not worked out to its end", "Ask once more")


@dataclass(frozen=True, slots=True)
class Question:
    """What a page asks.

    Attributes
    ----------
    work
        A function of a module: it gives the answer, from its arguments alone.
    arguments
        What it is called with; pickled where a worker is asked.
    rests_on
        All that the answer depends on: the same is the same answer.
    is_quick
        True where it is worked out in the time that a page takes anyway.
    """

    work: Callable[..., Any]
    arguments: tuple[Any, ...]
    rests_on: tuple[Any, ...]
    is_quick: bool

    @property
    def key(self) -> str:
        """What its answer is known by."""
        named = (self.work.__module__, self.work.__name__, *self.rests_on)
        return hashlib.sha256(repr(named).encode("utf-8", "backslashreplace")).hexdigest()

    def message(self) -> bytes:
        """What a worker is sent."""
        sent = (self.work.__module__, self.work.__name__, self.arguments)
        return pickle.dumps(sent, pickle.HIGHEST_PROTOCOL)


def of_log(work: Callable[..., Any], kept: KeptLog, *asked: Any, most_rows: int) -> Question:
    """A question about a kept log: quick where its page has no more than so many rows.

    Parameters
    ----------
    work
        Called with the kept log, its walker and ground with it, and what is asked. It asks no database.
    kept
        The log.
    asked
        What else is asked; its `repr` says all of it.
    most_rows
        Up to so many rows the answer is quick.
    """
    walker = kept.walker
    rests_on = (
        *(str(kept.pk), kept.revision, kept.start_place, kept.start_sd_m, str(kept.ground_id), asked),
        *(() if walker is None else (walker.name, walker.toml)),
    )
    if kept.ground_id is not None:
        # Loaded now: a worker asks no database.
        _ = kept.ground
    if kept.came_as is not None:
        kept.came_as = bytes(kept.came_as)
    return Question(work, (kept, *asked), rests_on, len(kept.rows) <= most_rows)


def answer_to(request: HttpRequest, question: Question) -> Any:
    """The answer to a question; None where it is still being worked out.

    Raises
    ------
    Complaint
        There is no answer, or not within what the desk lends one.
    """
    if question.is_quick:
        return question.work(*question.arguments)
    is_held = _HELD.acquire(blocking=False)
    try:
        outcome = WORKSHOP.ask(request.member.pk, question.key, question.message, HOLD_S if is_held else 0.0)
    finally:
        if is_held:
            _HELD.release()
    return None if outcome is None else _opened(outcome)


def shown_answer(request: HttpRequest, question: Question, refused: str = "refused") -> dict[str, Any]:
    """What a page shows of an answer: the answer, where to ask for it again, or why there is none.

    Parameters
    ----------
    request
        For the page.
    question
        One whose answer is a dict, by what the page calls it.
    refused
        What the page calls the reason.
    """
    try:
        found = answer_to(request, question)
    except Complaint as complaint:
        return {refused: complaint.sentence}
    return {"ask_again": asks_again_at(request)} if found is None else dict(found)


def how_far(question: Question) -> Progress | None:
    """How far the work at a question is; None where it does not tell."""
    return WORKSHOP.how_far(question.key)


def known_answer(question: Question) -> Any:
    """The answer that a page has shown already; None where it is not at hand any more.

    Raises
    ------
    Complaint
        There is none.
    """
    if question.is_quick:
        return question.work(*question.arguments)
    outcome = WORKSHOP.known(question.key)
    return None if outcome is None else _opened(outcome)


def _opened(outcome: Outcome) -> Any:
    if outcome.kind == "done":
        return outcome.opened()
    if outcome.kind == "complaint":
        raise outcome.opened()
    raise NoAnswerComplaint(*_SAID.get(outcome.kind, _STOPPED))


def still_waits(request: HttpRequest, *questions: Question) -> bool:
    """Whether a page that asks again would be shown nothing new: one of its answers is not there yet."""
    return bool(request.htmx) and any(_waits(request, one) for one in questions)


def _waits(request: HttpRequest, question: Question) -> bool:
    if question.is_quick or WORKSHOP.known(question.key) is not None:
        return False
    return WORKSHOP.ask(request.member.pk, question.key, question.message) is None


def nothing_new() -> HttpResponse:
    """Answer a page that asks again before its answer is there: it stays as it is, and asks once more."""
    return HttpResponse(status=204)


def asks_again_at(request: HttpRequest, **shown: str) -> str:
    """The address at which a page asks again.

    Parameters
    ----------
    request
        For the page.
    shown
        What is shown already, so that the page is sent anew only with more.
    """
    sent = request.GET.copy()
    for name in ("shown", *shown):
        sent.pop(name, None)
    sent.update(shown)
    return f"{request.path}?{sent.urlencode()}" if sent else request.path
