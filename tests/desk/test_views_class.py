"""A class at the desk: who sees what, paper, the live table, records."""

from __future__ import annotations

import csv
import io
import re
import zipfile

import pytest
from django.contrib.sessions.models import Session

from pacewright.desk.classes.courses import course_of
from pacewright.desk.classes.entries import add_on_paper, take_card, write_pace_count
from pacewright.desk.models import Entry, Exercise, Group, KeptLog, Member
from pacewright.desk.serving.access import new_guest
from support.desk_class import ROWS, made_exercise, strike_row, write_rows


@pytest.fixture
def exercise(owner_member) -> Exercise:
    return made_exercise(owner_member)


@pytest.fixture
def group(exercise) -> Group:
    return exercise.group


def test_the_owner_types_in_a_learners_log_and_takes_it_back(owner, guest_member, exercise):
    entry = take_card(guest_member, exercise, 2)
    change = {"key": "k-paper-01", "kind": "put", "id": "a", "azimuth": "15", "count": "38", "notes": ""}
    path = f"/logs/{entry.log_id}"
    kept = owner.post(f"{path}/changes", {"changes": [change]}, content_type="application/json")
    assert kept.status_code == 200
    assert KeptLog.objects.get(pk=entry.log_id).rows[0]["count"] == "38"
    undo = {"key": "k-undo-001", "kind": "undo"}
    owner.post(f"{path}/changes", {"changes": [undo]}, content_type="application/json")
    assert KeptLog.objects.get(pk=entry.log_id).rows == []


def test_a_learner_sees_nothing_of_another(guest, exercise):
    other = take_card(new_guest("Corin Ash"), exercise, 1)
    assert guest.get(f"/logs/{other.log_id}").status_code == 404
    assert guest.post(f"/entries/{other.pk}/finish", {"do": "hand"}).status_code == 404
    assert guest.post(f"/entries/{other.pk}/pace", {"pace_count": "60"}).status_code == 404
    other.refresh_from_db()
    assert other.handed_at is None


def test_a_log_that_a_guest_keeps_for_themselves_stays_theirs(owner, guest_member, make_log):
    assert owner.get(f"/logs/{make_log(guest_member, ROWS).pk}").status_code == 404


def test_the_pages_of_the_class_do_not_exist_for_a_learner(guest, guest_member, exercise, group):
    entry = take_card(guest_member, exercise, 1)
    base = f"/class/exercises/{exercise.pk}"
    closed = [
        *("/class", "/class/courses/new/field", f"/class/courses/{exercise.course_id}", base),
        *(f"{base}/live", f"{base}/board", f"{base}/delete", f"/class/groups/{group.pk}"),
        *(f"/class/groups/{group.pk}/export", f"/class/learners/{guest_member.pk}"),
        *(f"/class/learners/{guest_member.pk}/delete", f"/class/entries/{entry.pk}/next"),
    ]
    assert {path: guest.get(path).status_code for path in closed} == dict.fromkeys(closed, 404)


def test_a_learner_on_paper_is_added_in_one_line_and_typed(owner, exercise, group):
    page = owner.post(
        f"/class/exercises/{exercise.pk}/add", {"name": " Corin  Ash ", "card": "5"}, follow=True
    )
    text = page.content.decode()
    entry = Entry.objects.get()
    assert (entry.member.name, entry.card, entry.member.group) == ("Corin Ash", 5, group)
    assert 'data-typing="yes"' in text and "Next learner" in text


def test_a_learner_of_the_group_who_hands_in_paper_is_the_same_learner(exercise, group):
    member = new_guest("Corin Ash")
    Member.objects.filter(pk=member.pk).update(group=group)
    assert add_on_paper(exercise, "corin ash", 2).member == member


def test_a_card_conflict_on_paper_leaves_the_line_as_typed(owner, exercise):
    add_on_paper(exercise, "Corin Ash", 5)
    answer = owner.post(f"/class/exercises/{exercise.pk}/add", {"name": "Wyn Harrow", "card": "5"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Card 5 is taken already" in page
    assert 'value="Wyn Harrow"' in page
    assert not Member.objects.filter(name="Wyn Harrow").exists()


def test_next_learner_goes_by_the_cards_and_ends_at_the_class(owner, exercise):
    second, first = add_on_paper(exercise, "Corin Ash", 5), add_on_paper(exercise, "Wyn Harrow", 2)
    assert owner.get(f"/class/entries/{first.pk}/next")["Location"] == f"/logs/{second.log_id}"
    assert owner.get(f"/class/entries/{second.pk}/next")["Location"] == f"/class/exercises/{exercise.pk}"


def test_the_live_table_shows_rows_typed_but_none_struck_or_empty(owner, guest_member, exercise):
    entry = take_card(guest_member, exercise, 1)
    write_rows(entry.log, [*ROWS, ("", "")])
    strike_row(entry.log, "r1")
    page = owner.get(f"/class/exercises/{exercise.pk}/live").content.decode()
    cells = re.findall(r'<td class="figure"[^>]*>([^<]*)</td>', page)
    assert cells[:3] == ["1", "0", "2"]
    assert guest_member.name in page


def test_a_card_with_rows_is_not_taken_away(owner, guest_member, exercise):
    entry = take_card(guest_member, exercise, 1)
    write_rows(entry.log)
    owner.post(f"/class/entries/{entry.pk}/change", {"do": "remove"})
    assert Entry.objects.filter(pk=entry.pk).exists()
    empty = add_on_paper(exercise, "Corin Ash", 2)
    owner.post(f"/class/entries/{empty.pk}/change", {"do": "remove"})
    assert not Entry.objects.filter(pk=empty.pk).exists()


def test_deleting_a_learner_leaves_nothing_of_them(owner, guest, guest_member, exercise, make_log):
    entry = take_card(guest_member, exercise, 1)
    write_rows(entry.log)
    write_pace_count(entry, "62")
    make_log(guest_member, ROWS)
    path = f"/class/learners/{guest_member.pk}/delete"
    assert "2 logs, 1 card" in owner.get(path).content.decode()
    assert Member.objects.filter(pk=guest_member.pk).exists()
    owner.post(path)
    assert not KeptLog.objects.exists() and not Entry.objects.exists()
    assert not Member.objects.filter(pk=guest_member.pk).exists()
    assert all(one.get_decoded()["member"] != str(guest_member.pk) for one in Session.objects.all())
    assert guest.get("/").status_code == 403


def test_the_owner_is_no_learner_who_could_be_deleted(owner, owner_member):
    assert owner.post(f"/class/learners/{owner_member.pk}/delete").status_code == 404


def test_an_exercise_goes_with_its_logs_after_asking(owner, guest_member, exercise, make_log):
    take_card(guest_member, exercise, 1)
    own = make_log(guest_member, ROWS)
    owner.get(f"/class/exercises/{exercise.pk}/delete")
    assert Exercise.objects.exists()
    owner.post(f"/class/exercises/{exercise.pk}/delete")
    assert [log.pk for log in KeptLog.objects.all()] == [own.pk]
    assert Member.objects.filter(pk=guest_member.pk).exists()


def test_a_group_goes_out_as_logs_and_one_table(owner, exercise, group):
    entry = add_on_paper(exercise, "=HYPERLINK(1)", 2)
    write_rows(entry.log)
    strike_row(entry.log, "r1")
    Entry.objects.filter(pk=entry.pk).update(ends_at="Cedar", along_m="-3", minutes="24")
    archive = zipfile.ZipFile(io.BytesIO(owner.get(f"/class/groups/{group.pk}/export").content))
    (row,) = csv.DictReader(io.StringIO(archive.read("cards.csv").decode("utf-8")))
    assert (row["card"], row["rows"], row["ends_at"], row["along_m"]) == ("2", "2", "Cedar", "-3")
    assert row["learner"] == "'=HYPERLINK(1)"
    log = archive.read(row["log"]).decode("utf-8")
    assert "15,38,\n" in log and "210,19,\n" in log
    assert "# struck 135 | 28 |" in log


def test_groups_are_made_renamed_filled_and_deleted_without_their_learners(owner, guest_member):
    owner.post("/class/groups/new", {"name": "Tuesday", "term": "Autumn"})
    group = Group.objects.get()
    path = f"/class/groups/{group.pk}/change"
    owner.post(path, {"do": "take", "member": [str(guest_member.pk)]})
    owner.post(path, {"do": "name", "name": "Wednesday", "term": "Spring"})
    group.refresh_from_db()
    assert (group.name, group.term, group.members.get()) == ("Wednesday", "Spring", guest_member)
    owner.post(path, {"do": "delete"})
    assert not Group.objects.exists()
    assert Member.objects.filter(pk=guest_member.pk).exists()


def test_a_class_comes_back_from_a_backup(owner, owner_member, guest_member, exercise):
    from pacewright.desk.books.backing_up import backup_of
    from pacewright.desk.books.restoring import restore

    entry = take_card(guest_member, exercise, 1)
    write_rows(entry.log)
    Entry.objects.filter(pk=entry.pk).update(ends_at="Cedar", words={"Cedar": "KTF"})
    data = backup_of(owner_member)
    owner.post(f"/class/exercises/{exercise.pk}/delete")
    owner.post(f"/class/learners/{guest_member.pk}/delete")
    exercise.course.delete()
    restore(owner_member, data.data)
    back = Entry.objects.get()
    assert (back.ends_at, back.words, back.member.name) == ("Cedar", {"Cedar": "KTF"}, guest_member.name)
    assert [(row["azimuth"], row["count"]) for row in back.log.rows] == ROWS
    assert (back.exercise.group.name, back.member.group) == ("Tuesday", back.exercise.group)
    assert course_of(back.exercise.course).card(1).legs


def test_a_group_goes_out_by_a_clock_before_archives(owner, exercise, group, monkeypatch):
    write_rows(add_on_paper(exercise, "Ada", 2).log)
    monkeypatch.setattr(zipfile.time, "time", lambda: 9.0)
    archive = zipfile.ZipFile(io.BytesIO(owner.get(f"/class/groups/{group.pk}/export").content))
    assert {info.date_time for info in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
