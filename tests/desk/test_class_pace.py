"""A pace course at the desk: counts handed in stand with the learner's walker, once, and can be undone."""

from __future__ import annotations

import pytest
from django.test import Client

from pacewright.course.pace_setting import PaceAsked, set_pace_course
from pacewright.desk.classes.card import entry_context
from pacewright.desk.classes.courses import keep_course
from pacewright.desk.classes.entries import take_card, write_pace_count
from pacewright.desk.classes.pace import hand_in_counted, open_counted
from pacewright.desk.models import Entry, Exercise, Member
from pacewright.desk.walkers.keeping import walker_in
from pacewright.exceptions import Complaint
from support.desk_class import write_rows

RUNS = [("90", "62"), ("270", "64"), ("90", "63"), ("270", "61"), ("90", "65")]


@pytest.fixture
def entry(owner_member: Member, guest_member: Member) -> Entry:
    kept = keep_course(owner_member, set_pace_course(PaceAsked(2, trials=5)))
    exercise = Exercise.objects.create(owner=owner_member, course=kept, title="Line")
    return take_card(guest_member, exercise, 1)


def fresh(entry: Entry) -> Entry:
    return Entry.objects.select_related("log__walker", "exercise__course", "member").get(pk=entry.pk)


def test_five_runs_are_the_learner_s_pace_count_when_handed_in(entry: Entry) -> None:
    write_rows(entry.log, RUNS)
    said = hand_in_counted(fresh(entry))
    assert said.startswith("Your pace count is 63.0 paces to 100 m")
    walker = walker_in(fresh(entry).log.walker)
    assert walker.per_100_m == pytest.approx(63.0)
    assert fresh(entry).handed_at is not None


def test_opened_and_handed_in_again_the_runs_stand_there_once(entry: Entry) -> None:
    write_rows(entry.log, RUNS)
    hand_in_counted(fresh(entry))
    open_counted(fresh(entry))
    assert walker_in(fresh(entry).log.walker).per_100_m is None
    hand_in_counted(fresh(entry))
    assert fresh(entry).log.walker.trials_csv.count("100") == len(RUNS)


def test_counts_that_make_no_pace_count_are_not_handed_in(entry: Entry, guest: Client) -> None:
    write_rows(entry.log, [("90", "6200")])
    with pytest.raises(Complaint):
        hand_in_counted(fresh(entry))
    answer = guest.post(f"/entries/{entry.pk}/finish", {"do": "hand"}, follow=True)
    assert "Not handed in: " in answer.content.decode()
    assert fresh(entry).handed_at is None


def test_no_count_is_expected_on_the_card_before_the_walk(entry: Entry, guest: Client) -> None:
    write_pace_count(entry, "62.5")
    told = entry_context(entry.member, fresh(entry).log)["card"]
    assert all(not row.counts for row in told["rows"])
    page = guest.get(f"/logs/{entry.log_id}").content.decode()
    assert "My pace count" not in page


def test_the_instructor_sees_every_count_and_no_marks(entry: Entry, owner: Client, guest: Client) -> None:
    write_rows(entry.log, RUNS)
    hand_in_counted(fresh(entry))
    page = owner.get(f"/class/exercises/{entry.exercise_id}/marks").content.decode()
    assert "63.0 paces to 100 m" in page
    assert "A pace course gives no marks" in page
    assert 'data-name="learner"' in page
    Exercise.objects.update(is_open=False)
    assert "63.0 paces to 100 m" in guest.get(f"/entries/{entry.pk}/debrief").content.decode()
