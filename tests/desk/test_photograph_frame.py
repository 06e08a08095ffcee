"""Where the rows are on a page that was not printed here: set by a person, refused where it is no page."""

from __future__ import annotations

import html
import re
from typing import Any

import pytest

from pacewright.desk.models import PagePhoto
from pacewright.desk.photographs import reading
from pacewright.desk.photographs.framing import BEGUN, frame_of, is_frame
from pacewright.exceptions import ValueComplaint
from support.read_photo import read_photo, row

SENT = {
    **{f"{axis}{at}": str(BEGUN["corners"][at][i]) for at in range(4) for i, axis in enumerate("xy")},
    "column0": "0.25",
    "column1": "0,45",
    "rows": "",
}


def text_of(response: Any, status: int = 200) -> str:
    assert response.status_code == status, (response.status_code, response.content[:3000])
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode("utf-8"))).split())


@pytest.fixture
def refused(owner_member: Any) -> PagePhoto:
    """A photograph in which no page was found."""
    return read_photo(owner_member, [], read={}, refused="no log page is to be seen in this photograph.")


def test_a_frame_that_was_sent_is_the_frame_that_is_kept():
    found = frame_of(SENT)
    assert found == {**BEGUN, "rows": 0} and is_frame(found)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"x0": "here"}, "here is no share of the picture"),
        ({"x0": "1.2"}, "1.2 is no share of the picture"),
        ({"x0": "nan"}, "nan is no share of the picture"),
        ({"x0": "0.9", "x1": "0.1"}, "these four corners enclose no page"),
        ({"x2": "0.1", "y2": "0.2"}, "these four corners enclose no page"),
        ({"column0": "0.5"}, "the two column lines stand in the wrong order"),
        ({"rows": "81"}, "81 is no number of rows"),
        ({"rows": "-1"}, "-1 is no number of rows"),
    ],
)
def test_what_is_no_frame_is_said_in_a_sentence(wrong, said):
    with pytest.raises(ValueComplaint, match=said):
        frame_of({**SENT, **wrong})


def test_corners_of_a_mirrored_page_are_refused():
    mirrored = {f"{axis}{at}": SENT[f"{axis}{(1, 0, 3, 2)[at]}"] for at in range(4) for axis in "xy"}
    with pytest.raises(ValueComplaint, match="as the page is read"):
        frame_of({**SENT, **mirrored})


@pytest.mark.parametrize("found", [None, {}, {"corners": [[0, 0]] * 4, "columns": [0.2, 0.4], "rows": 3}, 7])
def test_what_a_backup_states_is_a_frame_only_if_a_form_could_have_sent_it(found):
    assert not is_frame(found)


def test_a_photograph_with_no_page_leads_to_where_its_rows_are_set(owner, refused):
    page = owner.get(f"/photographs/{refused.batch}")
    address = f"/photographs/{refused.pk}/frame"
    assert "no log page is to be seen" in text_of(page) and address in page.content.decode()
    body = owner.get(address).content.decode()
    assert "style=" not in body and f"/photographs/{refused.pk}/picture/photograph" in body
    assert 'name="x0" value="0.1"' in body and 'name="column1" value="0.45"' in body


def test_what_was_set_is_read_so_and_a_wrong_one_shown_again(owner, refused, monkeypatch):
    asked = []

    def answer(request: Any, question: Any) -> dict[str, Any]:
        asked.append(question.arguments)
        read = {"page": 1, "rows": [row(1, "12", "34")], "size": [100, 90], "tops": [10, 50], "first": 1}
        return {"read": read, "flat": b"\xff\xd8\xff"}

    monkeypatch.setattr(reading, "answer_to", answer)
    wrong = owner.post(f"/photographs/{refused.pk}/frame", {**SENT, "x0": "here"})
    assert "here is no share" in text_of(wrong, 422).lower() and 'value="here"' in wrong.content.decode()
    led = owner.post(f"/photographs/{refused.pk}/frame", SENT)
    assert led.url == f"/photographs/{refused.batch}"
    assert "Confirm what was read" in text_of(owner.get(led.url))
    assert asked == [(refused.pk, frame_of(SENT))]
    assert PagePhoto.objects.get().read["frame"] == frame_of(SENT)


def test_rows_that_were_confirmed_are_framed_no_more(owner, owner_member, guest):
    from django.utils import timezone

    photo = read_photo(owner_member, [row(1, "12", "34")], confirmed_at=timezone.now())
    assert owner.get(f"/photographs/{photo.pk}/frame").status_code == 404
    assert guest.get(f"/photographs/{photo.pk}/frame").status_code == 404
