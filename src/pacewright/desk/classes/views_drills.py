"""Paper drills at the desk: a worksheet by kind, level and number; typed answers are marked; the key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from pacewright.course.drills.making import Worksheet, make_worksheet
from pacewright.course.drills.problem import LEVELS, PAPER_DRILLS, Answer, Problem, read_answer
from pacewright.desk.classes.printing import FLAT, paper_asked, printed
from pacewright.desk.serving.file_names import handed_out
from pacewright.exceptions import Complaint
from pacewright.wording.paper_drills import (
    HOW,
    SOURCES,
    TITLES,
    say_asked,
    say_choices,
    say_marked,
    say_problem,
)

LARGEST_SEED: Final = 999_999


@dataclass(frozen=True, slots=True)
class Typed:
    """One answer on the page: its name in the form, what is asked, what was typed, and what is said of it."""

    name: str
    asked: str
    choices: tuple[str, ...]
    text: str
    told: str
    is_right: bool


@require_http_methods(["GET", "POST"])
def drills(request: HttpRequest) -> HttpResponse:
    """Show a worksheet, and mark the answers that were typed."""
    asked = request.POST if request.method == "POST" else request.GET
    context: dict[str, Any] = {"kinds": TITLES.items(), "levels": LEVELS, "papers": FLAT}
    if not asked.get("kind"):
        return render(request, "desk/drills.html", context)
    made = _made(asked)
    is_marked = request.method == "POST"
    problems = [
        (number, say_problem(problem), problem.rows, _typed(number, problem, asked, is_marked=is_marked))
        for number, problem in enumerate(made.problems, start=1)
    ]
    answers = [one for *_, typed in problems for one in typed]
    context |= {
        "made": made,
        "title": TITLES[made.kind],
        "how": HOW[made.kind],
        "source": SOURCES[made.kind],
        "problems": problems,
        "next_seed": (made.seed + 1) % LARGEST_SEED,
        "right": sum(one.is_right for one in answers) if is_marked else None,
        "asked": len(answers),
    }
    return render(request, "desk/drills.html", context)


@require_GET
def drill_sheet(request: HttpRequest) -> HttpResponse:
    """Print a worksheet; its key for the owner alone."""
    from pacewright.sheets.paper_drills import answer_sheet, worksheet

    what, paper = request.GET.get("what", "worksheet"), paper_asked(request.GET)
    if what not in ("worksheet", "key") or (what == "key" and not request.member.is_owner):
        raise Http404
    made = _made(request.GET)
    sheet = (worksheet if what == "worksheet" else answer_sheet)(made, paper)
    pdf = printed(sheet, paper)
    return handed_out(pdf, f"{TITLES[made.kind]} {made.seed} {what}", ".pdf", otherwise=what, inline=True)


def _made(asked: Mapping[str, Any]) -> Worksheet:
    import numpy as np

    kind = str(asked.get("kind", ""))
    level, seed = (_whole(str(asked.get(name, "")) or "1") for name in ("level", "seed"))
    if kind not in PAPER_DRILLS or level not in LEVELS or not 0 <= seed <= LARGEST_SEED:
        raise Http404
    try:
        return make_worksheet(kind, level, seed, np.random.default_rng(seed))
    except Complaint:
        raise Http404 from None


def _whole(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 8 else -1


def _typed(number: int, problem: Problem, asked: Mapping[str, Any], *, is_marked: bool) -> list[Typed]:
    """The answers of one problem, marked where they were sent."""
    found = []
    for k, answer in enumerate(problem.answers):
        name = f"answer_{number}_{k}"
        text = str(asked.get(name, ""))[:40] if is_marked else ""
        told, is_right = _marked(answer, text)
        found.append(Typed(name, say_asked(answer), say_choices(answer), text, told, is_right))
    return found


def _marked(answer: Answer, text: str) -> tuple[str, bool]:
    try:
        # What is chosen stands in words.
        value = read_answer(replace(answer, choices=say_choices(answer)), text)
    except Complaint as complaint:
        return complaint.sentence, False
    return ("", False) if value is None else (say_marked(answer, value), answer.is_right(value))
