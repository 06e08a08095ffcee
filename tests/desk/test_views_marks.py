"""Marks at the desk: the rule, the class at a glance, a learner's own debrief."""

from __future__ import annotations

import math

import pytest

from pacewright.course.answer_key import answer_key
from pacewright.course.grading import grade
from pacewright.course.marking import READY_RULES
from pacewright.desk.classes.courses import course_of
from pacewright.desk.classes.entries import add_on_paper, take_card, write_finish
from pacewright.desk.classes.grading import handed_of
from pacewright.desk.classes.handing_in import hand_in
from pacewright.desk.classes.marks import marks_of
from pacewright.desk.models import Entry, Exercise
from pacewright.files.marking_toml import write_rule
from support.desk_class import made_exercise, write_rows
from support.pdf_pages import words


@pytest.fixture
def exercise(owner_member) -> Exercise:
    return made_exercise(owner_member)


def perfect(entry: Entry) -> None:
    """Let a learner write what the key says and end where the card ends."""
    course = course_of(entry.exercise.course)
    key = answer_key(course, entry.card)
    write_rows(entry.log, [(f"{row.azimuth_deg:g}", str(row.count)) for row in key.rows])
    write_finish(entry, {"ends_at": key.card.ends, "along_m": "0", "off_m": "0", "minutes": "20"})
    hand_in(entry)


def test_what_was_handed_in_is_read_for_the_grader_as_typed(exercise):
    entry = add_on_paper(exercise, "Corin Ash", 2)
    write_rows(entry.log)
    course = course_of(exercise.course)
    write_finish(entry, {"ends_at": course.posts[3].name, "along_m": "3", "off_m": "-2,5", "minutes": "24"})
    hand_in(entry)
    (found,) = handed_of(exercise)
    # The base line of this course leads due east, so that along is east and off to the right is south.
    assert found.handed.finish_m == pytest.approx((3.0, 2.5), abs=1e-9)
    assert (found.handed.learner, found.handed.card, found.handed.minutes) == ("Corin Ash", 2, 24.0)
    assert [(leg.azimuth_deg, leg.count) for leg in found.handed.log.legs] == [(15, 38), (135, 28), (210, 19)]
    assert found.doubts == ()


def test_what_is_not_understood_counts_for_nothing_and_is_told(exercise):
    entry = add_on_paper(exercise, "Corin Ash", 2)
    write_rows(entry.log, [("15", "38"), ("400", "28"), ("210", "19")])
    write_finish(entry, {"minutes": "long"})
    hand_in(entry)
    (found,) = handed_of(exercise)
    assert len(found.handed.log.legs) == 1
    assert found.handed.minutes is None
    assert any("up to row 1" in doubt for doubt in found.doubts)
    assert "long is not a number of minutes." in found.doubts


def test_who_has_not_handed_in_is_not_marked_but_named(owner, exercise):
    perfect(add_on_paper(exercise, "Corin Ash", 2))
    write_rows(add_on_paper(exercise, "Wyn Harrow", 3).log)
    page = owner.get(f"/class/exercises/{exercise.pk}/marks").content.decode()
    assert "Not handed in yet, and not marked: Wyn Harrow (card 3)." in page
    assert [one.handed.learner for one in handed_of(exercise)] == ["Corin Ash"]


def test_two_learners_of_one_name_are_told_apart(exercise):
    for card in (2, 5):
        perfect(add_on_paper(exercise, "Corin Ash", card))
    assert [one.handed.learner for one in handed_of(exercise)] == ["Corin Ash", "Corin Ash (2)"]


def test_the_mark_on_the_page_is_the_graders_mark(owner, exercise):
    perfect(add_on_paper(exercise, "Corin Ash", 2))
    (found,) = handed_of(exercise)
    expected = grade(found.handed, course_of(exercise.course))
    assert expected.mark == READY_RULES[0].full_marks
    page = owner.get(f"/class/exercises/{exercise.pk}/marks").content.decode()
    assert f"Mark: {expected.mark:g} of {expected.rule.full_marks:g}" in page
    assert page.count('class="drawing') == 3 and "style=" not in page


def test_marks_follow_what_is_typed_and_the_rule(owner, exercise):
    entry = add_on_paper(exercise, "Corin Ash", 2)
    perfect(entry)
    assert marks_of(exercise).report.rows[0].multiple == pytest.approx(0.0, abs=1e-9)
    write_finish(entry, {"ends_at": course_of(exercise.course).card(2).ends, "along_m": "40", "off_m": "0"})
    assert marks_of(exercise).report.rows[0].multiple > 1.0
    owner.post(f"/class/exercises/{exercise.pk}/marks", {"do": "ready", "ready": "points found"})
    exercise.refresh_from_db()
    assert marks_of(exercise).report.fit.grades[0].rule.name == "points found"


def test_a_rule_can_be_edited_and_a_wrong_one_is_told_and_stays_as_written(owner, exercise):
    path = f"/class/exercises/{exercise.pk}/marks"
    own = write_rule(READY_RULES[0]).decode().replace("ordinary scatter", "our own")
    owner.post(path, {"do": "write", "rule": own})
    assert "Our own:" in owner.get(path).content.decode()
    answer = owner.post(path, {"do": "write", "rule": 'name = "broken"'})
    assert answer.status_code == 422
    assert "The key kind is missing" in answer.content.decode()
    assert "name = &quot;broken&quot;" in answer.content.decode()
    exercise.refresh_from_db()
    assert exercise.rule["toml"] == own


def test_a_learner_reads_the_debrief_when_the_exercise_is_closed_and_not_before(
    owner, guest, guest_member, exercise
):
    entry = take_card(guest_member, exercise, 1)
    perfect(entry)
    path = f"/entries/{entry.pk}/debrief"
    assert guest.get(path).status_code == 404
    assert owner.get(path).status_code == 200
    owner.post(f"/class/exercises/{exercise.pk}/change", {"do": "close"})
    page = guest.get(path).content.decode()
    assert course_of(exercise.course).card(1).ends in page
    assert "Mark: 10 of 10" in page
    assert path in guest.get(f"/logs/{entry.log_id}").content.decode()


def test_a_debrief_names_nobody_else(owner, guest, guest_member, exercise):
    entry = take_card(guest_member, exercise, 1)
    perfect(entry)
    perfect(add_on_paper(exercise, "Corin Ash", 2))
    owner.post(f"/class/exercises/{exercise.pk}/change", {"do": "close"})
    assert "Corin" not in guest.get(f"/entries/{entry.pk}/debrief").content.decode()


def test_a_group_is_read_over_all_its_exercises(owner, owner_member, exercise):
    first = add_on_paper(exercise, "Corin Ash", 2)
    perfect(first)
    second = Exercise.objects.create(
        owner=owner_member, course=exercise.course, group=exercise.group, title="Second field"
    )
    again = add_on_paper(second, "Corin Ash", 4)
    assert again.member == first.member
    perfect(again)
    page = owner.get(f"/class/groups/{exercise.group_id}/progress").content.decode()
    assert "Corin Ash, 2 walks" in page


def test_the_base_line_of_the_made_course_leads_east(exercise):
    first, last = course_of(exercise.course).posts[0], course_of(exercise.course).posts[-1]
    east, north = last.place_m[0] - first.place_m[0], last.place_m[1] - first.place_m[1]
    assert math.degrees(math.atan2(east, north)) == pytest.approx(90.0, abs=1e-9)


def test_the_debrief_speaks_to_the_learner_draws_both_walks_and_prints(guest, guest_member, exercise):
    entry = take_card(guest_member, exercise, 1)
    perfect(entry)
    sheet = f"/entries/{entry.pk}/debrief/sheet?paper=a5"
    assert guest.get(sheet).status_code == 404
    exercise.is_open = False
    exercise.save()
    page = guest.get(f"/entries/{entry.pk}/debrief").content.decode()
    assert "You ended at" in page
    assert "Your walk beside the ideal one" in page
    assert "the likely way in full lines" in page
    pdf = guest.get(sheet)
    assert pdf.headers["Content-Type"] == "application/pdf"
    assert "You ended at" in words(pdf.content)


def test_the_instructor_prints_all_debriefs_and_the_class_and_no_guest_does(owner, guest, exercise):
    names = ("Corin Ash", "Wren Moss")
    for card, name in enumerate(names, start=1):
        perfect(add_on_paper(exercise, name, card))
    for kind in ("debriefs", "class"):
        path = f"/class/exercises/{exercise.pk}/marks/{kind}/sheet?paper=a4"
        assert (
            path.replace("&", "&amp;") in owner.get(f"/class/exercises/{exercise.pk}/marks").content.decode()
        )
        said = words(owner.get(path).content)
        assert all(name in said for name in names)
        assert guest.get(path).status_code in (302, 403, 404)
    assert owner.get(f"/class/exercises/{exercise.pk}/marks/other/sheet").status_code == 404


def test_two_of_one_name_bear_the_same_names_on_the_board_in_the_group_and_in_the_marks(owner, exercise):
    for card in (2, 5):
        perfect(add_on_paper(exercise, "Corin Ash", card))
    for path in (
        f"/class/exercises/{exercise.pk}",
        f"/class/exercises/{exercise.pk}/marks",
        f"/class/groups/{exercise.group_id}",
        f"/class/groups/{exercise.group_id}/progress",
    ):
        page = owner.get(path).content.decode()
        assert "Corin Ash (2)" in page, path
        assert "Corin Ash (card" not in page, path
    second = exercise.entries.get(card=5)
    assert "Corin Ash (2)" in owner.get(f"/entries/{second.pk}/debrief").content.decode()
    assert "Corin Ash (2)" in owner.get(f"/logs/{second.log_id}").content.decode()
