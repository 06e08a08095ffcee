"""A learner over weeks at the desk: by date, like courses beside like ones; the instructor's alone."""

from __future__ import annotations

import re

from django.test import Client

from pacewright.course.pace_setting import PaceAsked, set_pace_course
from pacewright.desk.classes.courses import keep_course
from pacewright.desk.classes.entries import take_card, write_finish
from pacewright.desk.classes.handing_in import hand_in
from pacewright.desk.classes.learner_progress import days_of
from pacewright.desk.classes.pace import hand_in_counted
from pacewright.desk.models import Entry, Exercise, Member
from support.desk_class import made_exercise, write_rows
from support.pdf_pages import words


def walked(owner: Member, guest: Member) -> None:
    entry = take_card(guest, made_exercise(owner), 1)
    write_rows(entry.log)
    write_finish(entry, {"along_m": "3", "off_m": "-2"})
    hand_in(entry)
    line = keep_course(owner, set_pace_course(PaceAsked(2, trials=3)))
    entry = take_card(guest, Exercise.objects.create(owner=owner, course=line, title="Line"), 1)
    write_rows(entry.log, [("90", "62"), ("270", "64"), ("90", "63")])
    hand_in_counted(Entry.objects.select_related("exercise__course", "member", "log").get(pk=entry.pk))


def test_every_exercise_of_a_learner_stands_by_its_date_and_kind(
    owner_member: Member, guest_member: Member, owner: Client, guest: Client
) -> None:
    walked(owner_member, guest_member)
    assert [day.kind for day in days_of(guest_member)] == ["field", "pace"]
    path = f"/class/learners/{guest_member.pk}/progress"
    page = owner.get(path).content.decode()
    assert "On fields of stakes" in page and "On pace lines" in page
    assert "63.0" in page
    # On a phone a row stands as a card, and the chart is no wider than its one date needs.
    assert 'data-name="compass off, deg"' in page
    assert re.search(r'viewBox="0 0 100(\.0)? ', page)
    assert "Print this" in page
    assert "63.0" in words(owner.get(f"{path}/sheet?paper=a4").content)
    assert guest.get(path).status_code == 404
    assert guest.get(f"{path}/sheet").status_code == 404


def test_a_learner_who_handed_in_nothing_has_no_sheet(owner: Client, guest_member: Member) -> None:
    path = f"/class/learners/{guest_member.pk}/progress"
    assert "was handed in yet" in owner.get(path).content.decode()
    told = owner.get(f"{path}/sheet", follow=True)
    assert "There is nothing to print yet" in told.content.decode()
