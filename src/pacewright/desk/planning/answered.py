"""A form of the planning pages and what a worker answers to it, on one page."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from pacewright.desk.ask.fields import AskForm
from pacewright.desk.workers.asking import Question, answer_to, asks_again_at, nothing_new, still_waits
from pacewright.exceptions import Complaint


def answered(
    request: HttpRequest,
    template: str,
    form: AskForm,
    asked: Callable[[], Question],
    context: Mapping[str, Any],
) -> HttpResponse:
    """The page of a form, with the answer where something is asked and known already.

    Parameters
    ----------
    request
        Of the page.
    template
        It shows `form`, `found`, and `ask_again` while a worker is at it.
    form
        Bound where something is asked.
    asked
        The question of a form that is filled in rightly.
    context
        What else the template shows.
    """
    shown = {**context, "form": form}
    if form.is_bound and form.is_valid():
        try:
            question = asked()
            if still_waits(request, question):
                return nothing_new()
            found = answer_to(request, question)
            shown |= {"ask_again": asks_again_at(request)} if found is None else {"found": found}
        except Complaint as complaint:
            form.complain(complaint)
    return render(request, template, shown, status=422 if form.errors else 200)
