"""What was handed in is what is marked: nothing typed, learnt or deleted later changes it unseen."""

from __future__ import annotations

import pytest
from django.test import Client

from pacewright.desk.classes.backup import check_entry
from pacewright.desk.classes.entries import take_card, write_pace_count
from pacewright.desk.classes.handing_in import CHANGED, changed_since, hand_in, open_again
from pacewright.desk.classes.marks import marks_of
from pacewright.desk.models import Entry, Exercise, KeptWalker, Member
from pacewright.desk.notebook.keeping import undo_last
from pacewright.exceptions import FormatComplaint
from support.desk_class import field_course, made_exercise, write_rows

WIDE = 'name = "Tamsin Vale"\n[compass]\nazimuth_sd_deg = 60.0\n[pace]\nper_100_m = 62.5\n'


@pytest.fixture
def exercise(owner_member: Member) -> Exercise:
    return made_exercise(owner_member)


@pytest.fixture
def handed(exercise: Exercise, guest_member: Member) -> Entry:
    """A card with a far finish, its log and a pace count, handed in."""
    entry = take_card(guest_member, exercise, 1)
    write_rows(entry.log)
    write_pace_count(entry, "62.5")
    Entry.objects.filter(pk=entry.pk).update(ends_at=field_course().posts[0].name, along_m="35", off_m="20")
    hand_in(Entry.objects.get(pk=entry.pk))
    return fresh(entry)


def fresh(entry: Entry) -> Entry:
    return Entry.objects.select_related("log__walker", "exercise__course", "member").get(pk=entry.pk)


def told(exercise: Exercise, entry: Entry) -> tuple[float | None, tuple[str, ...]]:
    marks = marks_of(Exercise.objects.get(pk=exercise.pk))
    grade = marks.grade_of(entry)
    assert grade is not None and grade.handed.log is not None
    return grade.mark, marks.handed[0].doubts


def test_a_scatter_of_60_degrees_set_later_changes_no_mark_and_is_flagged(
    exercise: Exercise, handed: Entry
) -> None:
    before, doubts = told(exercise, handed)
    assert doubts == ()
    KeptWalker.objects.filter(pk=handed.log.walker_id).update(toml=WIDE)
    after, doubts = told(exercise, handed)
    assert after == before
    assert doubts[0] == CHANGED["walker"]


def test_rows_written_later_are_not_marked_and_are_flagged(
    exercise: Exercise, handed: Entry, owner: Client
) -> None:
    undo_last(handed.log.pk, "key-of-undo")
    assert changed_since(fresh(handed)) == (CHANGED["log"],)
    marks = marks_of(exercise)
    assert len(marks.handed[0].handed.log.legs) == 3
    assert "changed since" in owner.get(f"/class/exercises/{exercise.pk}").content.decode()
    assert CHANGED["log"] in owner.get(f"/class/exercises/{exercise.pk}/marks").content.decode()


def test_a_log_deleted_later_is_still_marked_and_is_flagged(exercise: Exercise, handed: Entry) -> None:
    handed.log.delete()
    mark, doubts = told(exercise, fresh(handed))
    assert mark is not None
    assert doubts[0] == CHANGED["gone"]


def test_opened_and_handed_in_anew_the_change_counts(exercise: Exercise, handed: Entry) -> None:
    undo_last(handed.log.pk, "key-of-undo")
    open_again(handed)
    assert changed_since(fresh(handed)) == ()
    hand_in(fresh(handed))
    assert len(marks_of(exercise).handed[0].handed.log.legs) == 2
    assert changed_since(fresh(handed)) == ()


def test_a_second_hand_in_keeps_the_first(handed: Entry) -> None:
    undo_last(handed.log.pk, "key-of-undo")
    hand_in(fresh(handed))
    assert fresh(handed).frozen == handed.frozen


def test_after_the_hand_in_a_learner_states_no_pace_count(handed: Entry, guest: Client) -> None:
    told = guest.post(f"/entries/{handed.pk}/pace", {"pace_count": "90"}, follow=True).content.decode()
    assert "This was handed in. Ask the instructor to open it again." in told
    assert KeptWalker.objects.get(pk=handed.log.walker_id).past.count() == 0


@pytest.mark.parametrize(
    "held", [[], {"page": {}, "walker": None}, {"page": None}, {"page": None, "walker": 3}]
)
def test_a_backup_brings_back_only_what_can_be_marked(held: object, handed: Entry) -> None:
    check_entry({"frozen": handed.frozen})
    with pytest.raises(FormatComplaint, match="a card of this backup does not hold what was handed in"):
        check_entry({"frozen": held})
