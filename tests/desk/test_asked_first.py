"""Before a card is handed in the desk asks about what is odd: no finish, a strange word, a strange post."""

from __future__ import annotations

import pytest
from django.test import Client

from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.desk.classes.asked_first import asked_first
from pacewright.desk.classes.courses import course_of, keep_course
from pacewright.desk.classes.entries import take_card, write_finish
from pacewright.desk.models import Entry, Exercise, Member
from support.desk_class import made_exercise, write_rows

POSTS = (
    Post("Split oak", (0.0, 0.0), word="GORSE"),
    Post("Gate", (0.0, 300.0), word="HERON"),
    Post("Weir", (300.0, 300.0), word="ALDER"),
)
LEGS = (CourseLeg(0.0, 300.0, "Gate"),)
FEN = Course("Fen", "posts", "magnetic", POSTS, (Card(1, "Split oak", LEGS, "Gate"),))


@pytest.fixture
def entry(owner_member: Member, guest_member: Member) -> Entry:
    return take_card(guest_member, made_exercise(owner_member), 1)


@pytest.fixture
def among_posts(owner_member: Member, guest_member: Member) -> Entry:
    kept = keep_course(owner_member, FEN)
    return take_card(guest_member, Exercise.objects.create(owner=owner_member, course=kept, title="Fen"), 1)


def fresh(entry: Entry) -> Entry:
    return Entry.objects.select_related("exercise__course").get(pk=entry.pk)


def test_no_finish_is_asked_about_and_handed_in_when_that_is_right(entry: Entry, guest: Client) -> None:
    write_rows(entry.log)
    path = f"/entries/{entry.pk}/finish"
    page = guest.post(path, {"minutes": "20", "do": "hand"}, follow=True).content.decode()
    assert "Not handed in yet. Nothing says where the walk ended." in page
    assert "Hand in all the same" in page
    assert fresh(entry).handed_at is None
    guest.post(path, {"minutes": "20", "do": "hand-sure"})
    assert fresh(entry).handed_at is not None


def test_the_instructor_is_asked_as_well_and_then_goes_on(entry: Entry, owner: Client) -> None:
    path = f"/entries/{entry.pk}/finish"
    assert "Is that right?" in owner.post(path, {"do": "hand-next"}, follow=True).content.decode()
    assert fresh(entry).handed_at is None
    owner.post(path, {"do": "hand-next-sure"})
    assert fresh(entry).handed_at is not None and fresh(entry).back_at is not None


def test_a_word_of_no_post_and_a_post_of_no_card_are_asked_about(among_posts: Entry) -> None:
    write_finish(among_posts, {"word_1": "GOOSE", "ends_at": "Weir"})
    assert asked_first(fresh(among_posts)) == [
        "GOOSE is the word of no post of this course.",
        "Weir is no post of card 1.",
    ]
    write_finish(among_posts, {"word_1": " heron ", "ends_at": "Gate"})
    assert asked_first(fresh(among_posts)) == []


def test_what_is_in_order_is_handed_in_at_once(entry: Entry, guest: Client) -> None:
    name = course_of(fresh(entry).exercise.course).posts[3].name
    guest.post(f"/entries/{entry.pk}/finish", {"ends_at": name, "do": "hand"})
    assert fresh(entry).handed_at is not None
