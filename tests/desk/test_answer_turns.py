"""Saving goes before drawing: with many at once a row is kept and told, and its answer follows."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import ExitStack

import pytest
from django.test import Client

from pacewright.desk.models import KeptLog, Member
from pacewright.desk.notebook.views_notebook import TURNS
from pacewright.desk.serving.answer_turns import MOST_SERVED, AnswerTurns


def test_one_answer_is_worked_out_at_a_time() -> None:
    turns = AnswerTurns()
    with turns.answering() as first, turns.answering() as second:
        assert (first, second) == (True, False)
    with turns.answering() as again:
        assert again


def test_no_answer_is_begun_while_many_are_served() -> None:
    turns = AnswerTurns()
    with ExitStack() as served:
        for _ in range(MOST_SERVED):
            served.enter_context(turns.served())
        with turns.answering() as few:
            assert few
        with turns.served(), turns.answering() as many:
            assert not many
        with turns.answering() as few_again:
            assert few_again


def test_a_turn_ends_where_the_answer_failed() -> None:
    turns = AnswerTurns()
    with pytest.raises(ValueError, match="broken"), turns.served(), turns.answering():
        raise ValueError("broken")
    with turns.answering() as again:
        assert again


def test_a_row_is_kept_and_told_without_its_answer_while_another_is_answered(
    owner: Client, owner_member: Member, make_log: Callable[..., KeptLog]
) -> None:
    log = make_log(owner_member)
    row = {"key": "key-number-1", "kind": "put", "id": "a", "azimuth": "305", "count": "240", "notes": ""}

    def told(*changes: dict[str, str]) -> dict[str, object]:
        sent = json.dumps({"changes": changes})
        return owner.post(f"/logs/{log.pk}/changes", sent, content_type="application/json").json()

    with TURNS.answering():
        while_another = told(row)
    assert while_another["answer"] is None
    assert [one["azimuth"] for one in while_another["rows"]] == ["305"]
    assert "The way back" in str(told()["answer"])
