"""Before the hand-in a learner's phone shows no answer that gives the exercise away, unless told to."""

from __future__ import annotations

import pytest

from pacewright.desk.classes.entries import take_card
from pacewright.desk.classes.handing_in import hand_in
from pacewright.desk.models import Entry, Exercise
from pacewright.desk.notebook.hidden_answers import HIDDEN
from support.desk_class import made_exercise, write_rows

TELLING = ("way", "closing", "adjusted", "map", "sheets", "files/gpx", "files/geojson", "sheets/way-back")


@pytest.fixture
def exercise(owner_member) -> Exercise:
    return made_exercise(owner_member)


@pytest.fixture
def entry(guest_member, exercise) -> Entry:
    taken = take_card(guest_member, exercise, 1)
    write_rows(taken.log)
    return taken


def page_of(client, entry: Entry) -> str:
    return client.get(f"/logs/{entry.log_id}").content.decode()


def changed(client, entry: Entry) -> str:
    change = {"key": "k-a-new-row", "kind": "put", "id": "z", "azimuth": "15", "count": "38", "notes": ""}
    sent = client.post(
        f"/logs/{entry.log_id}/changes", {"changes": [change]}, content_type="application/json"
    )
    return str(sent.json()["answer"])


def test_nothing_is_shown_before_the_hand_in_and_all_after_it(guest, owner, entry):
    for told in (page_of(guest, entry), guest.get(f"/logs/{entry.log_id}/answer").content.decode()):
        assert HIDDEN in told
        assert "You are" not in told and "<svg" not in told.split('id="answer"')[-1]
    assert HIDDEN in changed(guest, entry)
    for path in TELLING:
        led = guest.get(f"/logs/{entry.log_id}/{path}")
        assert (led.status_code, led["Location"]) == (302, f"/logs/{entry.log_id}")
    assert guest.post(f"/logs/{entry.log_id}/copy").status_code == 302
    assert HIDDEN not in page_of(owner, entry)
    page_of(guest, entry)
    hand_in(entry)
    assert HIDDEN not in page_of(guest, entry)
    assert guest.get(f"/logs/{entry.log_id}/way").status_code == 200


def test_the_instructor_switches_rows_and_all_on(guest, owner, exercise, entry):
    change = f"/class/exercises/{exercise.pk}/change"
    owner.post(change, {"do": "shows", "shows": "rows"})
    assert f"rows understood. {HIDDEN}" in page_of(guest, entry)
    owner.post(change, {"do": "shows", "shows": "all"})
    assert HIDDEN not in page_of(guest, entry)
    owner.post(change, {"do": "shows", "shows": "everything"})
    exercise.refresh_from_db()
    assert exercise.shows == "all"


def test_a_learner_cannot_switch(guest, exercise, entry):
    refused = guest.post(f"/class/exercises/{exercise.pk}/change", {"do": "shows", "shows": "all"})
    assert refused.status_code == 404
    assert HIDDEN in page_of(guest, entry)


def test_a_log_of_ones_own_is_answered(guest, guest_member, entry, make_log):
    own = make_log(guest_member, [("15", "38", ""), ("120", "70", "")])
    assert HIDDEN not in guest.get(f"/logs/{own.pk}").content.decode()
