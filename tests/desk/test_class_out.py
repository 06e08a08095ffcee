"""Who is out, when expected back, and who is overdue; kept through a kill of the desk."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.safety import Safety, Timing
from pacewright.desk.classes.courses import keep_course
from pacewright.desk.classes.entries import take_card
from pacewright.desk.classes.out import whereabouts
from pacewright.desk.models import Entry, Exercise
from pacewright.desk.serving.access import new_guest
from support.class_phones import Phone, begin_exercise

POSTS = (Post("Gate", (0.0, 0.0), word="KTF"), Post("Ford", (0.0, 1000.0), word="BDG"))
CARDS = tuple(
    Card(k, "Gate", (CourseLeg(0.0, 1000.0, "Ford"),), "Ford", start_minute=4.0 * (k - 1)) for k in (1, 2, 3)
)
# 1,000 m at 2,000 m an hour, one post of 5 minutes and 10 to search: back 45 minutes after the start.
COURSE = Course("Fen", "posts", "magnetic", POSTS, CARDS, timing=Timing(2000.0, 600.0, 5.0, 10.0))
START = datetime(2026, 5, 14, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("minutes", "state", "late"),
    [(-1, "starts", 0), (0, "out", 0), (45, "out", 0), (46, "overdue", 1), (90, "overdue", 45)],
)
def test_a_learner_is_overdue_a_minute_after_the_expected_return(minutes, state, late):
    found = whereabouts(Entry(card=1, out_at=START), COURSE, START + timedelta(minutes=minutes))
    assert (found.state, found.overdue_min) == (state, late)
    assert found.due_at == START + timedelta(minutes=45)


def test_the_clock_by_which_all_are_back_comes_first():
    start = timezone.make_aware(datetime(2026, 5, 14, 9, 0))
    for clock, minutes in (("09:30", 30), ("15:00", 45)):
        course = Course(
            "Fen", "posts", "magnetic", POSTS, CARDS, timing=COURSE.timing, safety=Safety(back_by=clock)
        )
        found = whereabouts(Entry(card=1, out_at=start), course, start)
        assert found.due_at == start + timedelta(minutes=minutes)


def test_a_night_course_is_back_after_midnight():
    start = timezone.make_aware(datetime(2026, 5, 14, 23, 50))
    course = Course(
        "Fen", "posts", "magnetic", POSTS, CARDS, timing=COURSE.timing, safety=Safety(back_by="00:20")
    )
    found = whereabouts(Entry(card=1, out_at=start), course, start)
    assert found.due_at == start + timedelta(minutes=30)


@pytest.fixture
def exercise(owner_member) -> Exercise:
    return Exercise.objects.create(owner=owner_member, course=keep_course(owner_member, COURSE), title="Fen")


def test_the_live_board_counts_who_is_out_and_names_who_is_overdue(owner, guest, guest_member, exercise):
    first = take_card(guest_member, exercise, 1)
    take_card(new_guest("Corin Ash"), exercise, 2)
    live = f"/class/exercises/{exercise.pk}/live"
    assert "0 out; 0 back, 2 not yet out." in owner.get(live).content.decode()
    guest.post(f"/entries/{first.pk}/out")
    assert "1 out; 0 back, 1 not yet out." in owner.get(live).content.decode()
    Entry.objects.filter(pk=first.pk).update(out_at=timezone.now() - timedelta(minutes=50, seconds=5))
    page = owner.get(live).content.decode()
    assert "1 overdue" in page and "Overdue by 5 min" in page
    assert "2,000 m an hour" in page or "2000 m an hour" in page
    # Handing in is not being back.
    guest.post(f"/entries/{first.pk}/finish", {"do": "hand-sure"})
    assert "1 overdue" in owner.get(live).content.decode()
    owner.post(f"/class/entries/{first.pk}/change", {"do": "back"})
    assert "0 out; 1 back, 1 not yet out." in owner.get(live).content.decode()
    owner.post(f"/class/entries/{first.pk}/change", {"do": "not"})
    assert "1 overdue" in owner.get(live).content.decode()


def test_a_learner_cannot_say_of_themselves_that_they_are_back(guest, guest_member, exercise):
    entry = take_card(guest_member, exercise, 1)
    guest.post(f"/entries/{entry.pk}/out")
    was = Entry.objects.get().out_at
    assert guest.post(f"/class/entries/{entry.pk}/change", {"do": "back"}).status_code == 404
    guest.post(f"/entries/{entry.pk}/out")
    assert (Entry.objects.get().out_at, Entry.objects.get().back_at) == (was, None)


def test_one_press_starts_all_by_the_minutes_of_their_cards(owner, guest_member, exercise):
    take_card(guest_member, exercise, 3)
    take_card(new_guest("Corin Ash"), exercise, 1)
    owner.post(f"/class/exercises/{exercise.pk}/change", {"do": "clock"})
    third, first = Entry.objects.get(card=3), Entry.objects.get(card=1)
    assert third.out_at is not None and first.out_at is not None
    assert (third.out_at - first.out_at).total_seconds() == pytest.approx(8 * 60, abs=1)
    assert "Starts " in owner.get(f"/class/exercises/{exercise.pk}/live").content.decode()


@pytest.mark.slow
def test_a_killed_desk_is_told_and_comes_back_with_who_is_out(
    browser: Any, browser_page: Any, new_desk: Any
) -> None:
    server = new_desk(network=True)
    owner = browser_page(390, server=server)
    exercise, _ = begin_exercise(owner)
    owner.goto(f"{exercise}/board")
    phone = Phone(browser, server.base)
    phone.come_in(owner.inner_text(".board-code"), "Ada Quill", 1)
    owner.goto(exercise)
    owner.click("button[aria-label='Ada Quill sets out']")
    owner.wait_for_selector("text=Out since")
    assert owner.evaluate("document.documentElement.scrollWidth") <= 390
    told = owner.inner_text(".where")
    server.kill()
    owner.wait_for_selector("#silent:not([hidden])", timeout=20_000)
    new_desk(network=True, port=server.port)
    owner.wait_for_selector("#silent", state="hidden", timeout=20_000)
    assert owner.inner_text(".where") == told
    phone.context.close()
