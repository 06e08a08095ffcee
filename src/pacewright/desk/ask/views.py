"""The pages of questions: one view shows any of them, with its answer once it is asked."""

from __future__ import annotations

from typing import Final

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from pacewright.desk.ask.fix_pages import FIX_PAGES
from pacewright.desk.ask.leg_pages import LEG_PAGES
from pacewright.desk.ask.north_page import NORTH_PAGE
from pacewright.desk.ask.pages import AskPage
from pacewright.desk.ask.range_pages import RANGE_PAGES
from pacewright.desk.ask.sun_page import SUN_PAGE
from pacewright.exceptions import Complaint

PAGES: Final = (*LEG_PAGES, *FIX_PAGES, *RANGE_PAGES, SUN_PAGE, NORTH_PAGE)
GROUPS: Final = (
    ("leg", "From place to place"),
    ("fix", "A fix by bearings"),
    ("range", "A distance that cannot be walked"),
    ("sun", "Sun and daylight"),
    ("norths", "The three norths"),
)
ASKED: Final = "asked"
"""The field that a form sends with what it asks."""


@require_GET
def ask_index(request: HttpRequest) -> HttpResponse:
    """Show which questions can be asked without a log."""
    groups = [(title, [page for page in PAGES if page.of == name]) for name, title in GROUPS]
    return render(request, "desk/ask_index.html", {"groups": groups})


@require_GET
def ask_page(request: HttpRequest, name: str) -> HttpResponse:
    """Show the form of a question, and the answer to what was asked."""
    page = next((one for one in PAGES if one.name == name), None)
    if page is None:
        raise Http404
    return _shown(request, page)


def _shown(request: HttpRequest, page: AskPage) -> HttpResponse:
    is_asked = ASKED in request.GET
    form = page.form(request.GET if is_asked else None, request.member)
    if not is_asked:
        # A link may bring what is known already.
        form.initial |= {name: value for name, value in request.GET.items() if name in form.fields}
    found = None
    if is_asked and form.is_valid():
        try:
            found = page.answer(form)
        except Complaint as complaint:
            form.complain(complaint)
    context = {
        "page": page,
        "others": [one for one in PAGES if one.of == page.of],
        "form": form,
        "found": found,
        "asked_name": ASKED,
    }
    return render(request, "desk/ask.html", context, status=422 if form.errors else 200)
