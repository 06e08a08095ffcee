"""What a learner's phone shows of the answers to a card that is not handed in: as the instructor chose."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from pacewright.desk.models import Entry, KeptLog, Member
from pacewright.desk.notebook.page_reading import PageAnswer, read_page

SHOWS: Final = {"nothing": "nothing", "rows": "how many rows are understood", "all": "all answers"}
"""What an exercise may show before the hand-in, by the word that is kept; the first is the usual one."""
HIDDEN: Final = "Answers stand here when you have handed in."
_OPEN: Final = frozenset(
    (
        *("notebook", "changes", "since", "answer", "save_page", "history", "restore_state", "throw_log"),
        "known_places",
    )
)
"""The pages of a log that tell nothing but what was typed."""


def shown_of(member: Member, log_id: uuid.UUID) -> str:
    """What a member may see of the answers to a log: a word of `SHOWS`."""
    if member.is_owner:
        return "all"
    # Of another's log nothing is said, not even that it is there: its page finds none.
    own = Entry.objects.filter(log_id=log_id, log__owner=member, handed_at__isnull=True)
    entry = own.select_related("exercise").first()
    return "all" if entry is None else str(entry.exercise.shows)


def answer_instead(member: Member, log: KeptLog) -> PageAnswer | None:
    """What stands in place of a log's answer; None where the answer may be seen."""
    shows = shown_of(member, log.pk)
    if shows == "all":
        return None
    if shows != "rows":
        return PageAnswer(not_yet=HIDDEN)
    page = read_page(log)
    rows = 0 if page.log is None else len(page.log.legs)
    return PageAnswer(not_yet=f"{rows} row{'' if rows == 1 else 's'} understood. {HIDDEN}")


class HiddenAnswersMiddleware:
    """Lead a learner back to the page where another would give the exercise away."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass on."""
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, _view: Any, _args: Any, kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        """Look at the log that is asked for, before the page is made."""
        log_id, member = kwargs.get("log_id"), getattr(request, "member", None)
        match = request.resolver_match
        if log_id is None or member is None or match is None or match.url_name in _OPEN:
            return None
        if shown_of(member, log_id) == "all":
            return None
        messages.info(request, HIDDEN)
        return redirect("notebook", log_id=log_id)
