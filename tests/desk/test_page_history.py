"""The history of a page: who changed what, and every state as it was."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pacewright.desk.models import KeptLog, Member
from pacewright.desk.notebook.keeping import keep_change, new_log, state_of
from pacewright.desk.notebook.page_changes import Change, PageState
from pacewright.desk.notebook.page_history import state_at, steps_of
from pacewright.desk.serving.access import the_owner
from pacewright.exceptions import Complaint, MissingComplaint
from support.made_changes import CHANGES

MakeLog = Callable[..., KeptLog]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(changes=st.lists(CHANGES, max_size=8))
def test_every_state_that_a_page_was_in_is_given_back(changes: list[Change]) -> None:
    log = new_log(the_owner(), PageState("start: Gate", ()))
    states = [state_of(log)]
    for at, change in enumerate(changes):
        try:
            log = keep_change(log.pk, f"change-{at}", change, "Tamsin Vale").log
        except Complaint:
            continue
        states.append(state_of(log))
    assert [state_at(log, number) for number in range(len(states))] == states
    assert all(step.who == "Tamsin Vale" for step in steps_of(log))
    with pytest.raises(MissingComplaint):
        state_at(log, log.revision + 1)


def test_each_person_s_changes_are_told_apart(owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member, [("305", "240"), ("38", "185")])
    put = {"kind": "put", "id": "r1", "azimuth": "38", "notes": "", "only": ["count"]}
    keep_change(log.pk, "change-one", {**put, "count": "190"}, "Ines Rowe")
    keep_change(log.pk, "change-two", {"kind": "strike", "id": "r0"}, "Tamsin Vale")
    log = keep_change(log.pk, "change-six", {"kind": "remove", "ids": ["r0"]}, "Tamsin Vale").log
    told = [(step.who, step.said) for step in steps_of(log)]
    assert told == [
        ("Tamsin Vale", ("row 1 taken away: 305, 240",)),
        ("Ines Rowe", ("row 2, count: 185 to 190",)),
    ]


def test_a_row_that_came_and_was_struck_out_at_once_is_told_as_struck(owner_member: Member) -> None:
    log = new_log(owner_member, PageState("start: Gate", ()))
    put = {"kind": "put", "id": "r0", "azimuth": "38", "count": "185", "notes": ""}
    keep_change(log.pk, "change-one", put, "Ines Rowe")
    log = keep_change(log.pk, "change-two", {"kind": "strike", "id": "r0"}, "Ines Rowe").log
    assert [step.said for step in steps_of(log)] == [("row 1 new: 38, 185, struck out",)]


def test_another_s_log_has_no_history(owner_member: Member, guest: Client, make_log: MakeLog) -> None:
    log = make_log(owner_member, [("305", "240")])
    assert guest.get(f"/logs/{log.pk}/history").status_code == 404
    assert guest.post(f"/logs/{log.pk}/history/restore", {"at": "0", "key": "restore-0-0"}).status_code == 404
    assert guest.get(f"/logs/{log.pk}/since?revision=9").status_code == 404


def test_a_browser_that_has_the_latest_is_sent_nothing(
    owner_member: Member, owner: Client, make_log: MakeLog
) -> None:
    log = make_log(owner_member, [("305", "240")])
    assert owner.get(f"/logs/{log.pk}/since?revision=0").status_code == 204
    keep_change(log.pk, "change-one", {"kind": "heading", "heading": "title: New"})
    told = owner.get(f"/logs/{log.pk}/since?revision=0").json()
    assert (told["revision"], told["title"], told["refused"]) == (1, "New", [])
