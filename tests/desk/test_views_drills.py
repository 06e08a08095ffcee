"""Paper drills at the desk: marked as typed; the key for the owner alone."""

from __future__ import annotations

import re

import numpy as np
import pytest
from django.test import Client

from pacewright.course.drills.making import make_worksheet
from pacewright.course.drills.problem import PAPER_DRILLS
from pacewright.wording.paper_drills import say_choices
from support.pdf_pages import words


def right_answers(kind: str, level: int) -> dict[str, str]:
    made = make_worksheet(kind, level, 1, np.random.default_rng(1))
    found = {}
    for number, problem in enumerate(made.problems, start=1):
        for k, answer in enumerate(problem.answers):
            word = say_choices(answer)[int(answer.value)] if answer.choices else f"{answer.value:.3f}"
            found[f"answer_{number}_{k}"] = word
    return found


@pytest.mark.parametrize("kind", PAPER_DRILLS)
def test_right_answers_are_marked_right_and_a_wrong_one_is_not(guest: Client, kind: str) -> None:
    answers = right_answers(kind, 2)
    form = {"kind": kind, "level": "2", "seed": "1", **answers}
    page = guest.post("/drills", form).content.decode()
    assert f"{len(answers)} of {len(answers)} right." in page
    first = next(name for name, text in answers.items() if text[0].isdigit())
    form[first] = str(float(answers[first]) + 99.0)
    page = guest.post("/drills", form).content.decode()
    assert f"{len(answers) - 1} of {len(answers)} right." in page
    assert "Not yet" in page


def test_the_page_gives_no_answer_away_before_it_is_marked(guest: Client) -> None:
    page = guest.get("/drills?kind=plot&level=2&seed=1").content.decode()
    shown = re.sub(r"\s+", " ", page)
    assert "Right" not in shown
    for text in right_answers("plot", 2).values():
        assert text.split(".")[0] + "." not in re.findall(r"value=\"([^\"]*)\"", page)
    assert "98 deg" not in shown


def test_what_is_typed_wrongly_stays_and_is_told(guest: Client) -> None:
    form = {"kind": "back", "level": "1", "seed": "1", "answer_1_0": "<b>north</b>"}
    page = guest.post("/drills", form).content.decode()
    assert "is not a number. Write digits" in page
    assert "&lt;b&gt;north&lt;/b&gt;" in page
    assert "<b>north" not in page


def test_the_worksheet_prints_for_all_and_the_key_for_the_owner(owner: Client, guest: Client) -> None:
    asked = "/drills/sheet?kind=slip&level=1&seed=1&paper=a5&what="
    for client in (owner, guest):
        assert "Find the slip: level 1, sheet 1" in words(client.get(asked + "worksheet").content)
    assert "For the instructor alone." in words(owner.get(asked + "key").content)
    assert guest.get(asked + "key").status_code == 404


@pytest.mark.parametrize(
    "query", ["kind=fly", "kind=back&level=9", "kind=back&seed=-1", "kind=back&seed=99999999"]
)
def test_what_is_no_drill_is_not_found(guest: Client, query: str) -> None:
    assert guest.get(f"/drills?{query}").status_code == 404
