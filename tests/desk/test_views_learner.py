"""What a learner does at the desk: a card, a pace count, the finish."""

from __future__ import annotations

import math
import re

import pytest

from pacewright.course.barred_land import BarredArea
from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.grading import grade
from pacewright.course.safety import Safety
from pacewright.desk.classes.courses import course_of, keep_course
from pacewright.desk.classes.entries import take_card, write_pace_count
from pacewright.desk.classes.grading import handed_of
from pacewright.desk.models import Entry, Exercise, Group, Member
from pacewright.desk.serving.access import new_guest
from support.desk_class import made_exercise, write_rows


@pytest.fixture
def exercise(owner_member) -> Exercise:
    return made_exercise(owner_member)


@pytest.fixture
def group(exercise) -> Group:
    return exercise.group


def test_a_learner_is_offered_the_next_free_card(guest, exercise):
    take_card(new_guest("Corin Ash"), exercise, 1)
    take_card(new_guest("Wyn Harrow"), exercise, 3)
    assert 'name="card" value="2"' in guest.get("/").content.decode()


def test_a_learner_takes_a_card_and_stands_on_its_page(guest, guest_member, exercise):
    page = guest.post(f"/cards/{exercise.pk}/take", {"card": "4"}, follow=True).content.decode()
    card = course_of(exercise.course).card(4)
    entry = Entry.objects.get()
    assert (entry.member, entry.card) == (guest_member, 4)
    assert f"start: {card.start}" in entry.log.heading
    assert f"walker: {guest_member.name}" in entry.log.heading
    for leg in card.legs:
        assert f'<td class="figure large">{leg.azimuth_deg:g}</td>' in page
        assert f'<td class="figure large">{leg.length_m:g}</td>' in page


def test_where_a_card_ends_is_not_told_to_the_learner(guest, exercise):
    page = guest.post(f"/cards/{exercise.pk}/take", {"card": "1"}, follow=True).content.decode()
    card = course_of(exercise.course).card(1)
    assert page.count(card.ends) == page.count(f"<option>{card.ends}</option>")


def test_a_card_that_is_taken_is_refused_in_one_sentence(guest, exercise):
    take_card(new_guest("Corin Ash"), exercise, 4)
    page = guest.post(f"/cards/{exercise.pk}/take", {"card": "4"}, follow=True).content.decode()
    assert "Card 4 is taken already" in page
    assert "Corin" not in page
    assert Entry.objects.count() == 1


@pytest.mark.parametrize(
    ("card", "said"), [("99", "no card 99"), ("", "no number of a card"), ("-1", "no number")]
)
def test_a_card_that_does_not_exist_is_refused(guest, exercise, card, said):
    assert said in guest.post(f"/cards/{exercise.pk}/take", {"card": card}, follow=True).content.decode()


def test_a_learner_has_one_open_card(guest, guest_member, exercise, owner_member):
    take_card(guest_member, exercise, 1)
    second = Exercise.objects.create(owner=owner_member, course=exercise.course, title="Second field")
    page = guest.post(f"/cards/{second.pk}/take", {"card": "2"}, follow=True).content.decode()
    assert "You still have card 1 of Morning field" in page
    guest.post(f"/cards/{exercise.pk}/take", {"card": "2"})
    assert [(one.exercise_id, one.card) for one in Entry.objects.all()] == [(exercise.pk, 1)]


def test_no_card_is_taken_in_an_exercise_that_is_closed(owner, guest, exercise):
    owner.post(f"/class/exercises/{exercise.pk}/change", {"do": "close"})
    page = guest.post(f"/cards/{exercise.pk}/take", {"card": "1"}, follow=True).content.decode()
    assert "Morning field is closed" in page
    assert "Take this card" not in page


def test_who_takes_a_card_comes_into_the_group_of_the_exercise(guest_member, exercise, group):
    take_card(guest_member, exercise, 1)
    guest_member.refresh_from_db()
    assert guest_member.group == group


def test_the_counts_on_a_card_are_its_metres_in_the_learners_paces(guest, guest_member, exercise):
    """Metres times the pace count over 100 (common practice), rounded to whole paces."""
    entry = take_card(guest_member, exercise, 1)
    page = guest.post(f"/entries/{entry.pk}/pace", {"pace_count": "62,5"}, follow=True).content.decode()
    counts = [str(round(leg.length_m * 0.625)) for leg in course_of(exercise.course).card(1).legs]
    assert re.findall(r'<td class="figure">(\d+)</td></tr>', page) == counts
    assert guest_member.walkers.count() == 1


@pytest.mark.parametrize("typed", ["", "many", "6", "29.9", "200.1", "1250", "nan"])
def test_a_pace_count_that_nobody_has_is_refused(guest, guest_member, exercise, typed):
    entry = take_card(guest_member, exercise, 1)
    page = guest.post(f"/entries/{entry.pk}/pace", {"pace_count": typed}, follow=True).content.decode()
    assert "is not a pace count" in page
    assert not guest_member.walkers.exists()


@pytest.mark.parametrize("typed", ["30", "200"])
def test_the_shortest_and_the_longest_pace_that_anybody_walks_are_kept(guest, guest_member, exercise, typed):
    entry = take_card(guest_member, exercise, 1)
    page = guest.post(f"/entries/{entry.pk}/pace", {"pace_count": typed}, follow=True).content.decode()
    assert "is not a pace count" not in page
    assert guest_member.walkers.count() == 1


def test_a_second_pace_count_keeps_the_first(guest_member, exercise):
    entry = take_card(guest_member, exercise, 1)
    for typed in ("62.5", "64"):
        write_pace_count(Entry.objects.get(pk=entry.pk), typed)
    walker = guest_member.walkers.get()
    assert "per_100_m = 64.0" in walker.toml
    assert "per_100_m = 62.5" in walker.past.get().toml


def test_a_learner_hands_in_and_only_the_instructor_opens_it_again(guest, owner, guest_member, exercise):
    entry = take_card(guest_member, exercise, 1)
    write_rows(entry.log)
    path = f"/entries/{entry.pk}/finish"
    guest.post(path, {"ends_at": "Cedar", "minutes": "24", "along_m": "-3", "off_m": "2,5", "do": "hand"})
    entry.refresh_from_db()
    assert (entry.ends_at, entry.minutes, entry.along_m, entry.off_m) == ("Cedar", "24", "-3", "2,5")
    assert entry.handed_at is not None
    page = guest.post(path, {"ends_at": "Elm", "do": "save"}, follow=True).content.decode()
    assert "This was handed in" in page
    entry.refresh_from_db()
    assert entry.ends_at == "Cedar"
    owner.post(f"/class/entries/{entry.pk}/change", {"do": "open"})
    guest.post(path, {"ends_at": "Elm", "do": "save"})
    entry.refresh_from_db()
    assert (entry.ends_at, entry.handed_at) == ("Elm", None)


def test_what_is_changed_after_handing_in_is_marked(owner, guest, guest_member, exercise):
    entry = take_card(guest_member, exercise, 1)
    guest.post(f"/entries/{entry.pk}/finish", {"ends_at": "Cedar", "do": "hand"})
    live = f"/class/exercises/{exercise.pk}/live"
    assert "changed since" not in owner.get(live).content.decode()
    write_rows(entry.log)
    assert "changed since" in owner.get(live).content.decode()


def test_what_is_no_number_stays_as_typed_and_is_told(guest, guest_member, exercise):
    entry = take_card(guest_member, exercise, 1)
    sent = {"minutes": "half an hour", "along_m": "3", "do": "save"}
    page = guest.post(f"/entries/{entry.pk}/finish", sent, follow=True).content.decode()
    assert 'value="half an hour"' in page
    assert "half an hour is not a number of minutes" in page
    assert "both numbers are needed" in page


def test_a_stake_that_the_course_does_not_have_is_refused(guest, guest_member, exercise):
    entry = take_card(guest_member, exercise, 1)
    page = guest.post(f"/entries/{entry.pk}/finish", {"ends_at": "Moon", "do": "hand"}, follow=True)
    assert "no post called Moon" in page.content.decode()
    entry.refresh_from_db()
    assert entry.handed_at is None


@pytest.fixture
def among_posts(owner_member) -> Exercise:
    """Three posts in the land; the first leg of the card ends on open ground."""
    posts = (
        Post("Gate", (0.0, 0.0), word="KTF"),
        Post("Split oak", (100.0, 100.0), word="BDG"),
        Post("Fire tower", (100.0, 0.0), word="<b>"),
    )
    legs = (CourseLeg(90.0, 100.0), CourseLeg(0.0, 100.0, "Split oak"), CourseLeg(180.0, 100.0, "Fire tower"))
    course = Course("Cinder Fen", "posts", "magnetic", posts, (Card(1, "Gate", legs, "Fire tower"),))
    return Exercise.objects.create(
        owner=owner_member, course=keep_course(owner_member, course), title="<script>alert(1)</script>"
    )


def test_words_of_posts_are_asked_by_leg_and_kept_by_post(guest, guest_member, among_posts):
    entry = take_card(guest_member, among_posts, 1)
    page = guest.get(f"/logs/{entry.log_id}").content.decode()
    assert re.findall(r"Word at the end of leg (\d)", page) == ["2", "3"]
    assert "BDG" not in page
    guest.post(f"/entries/{entry.pk}/finish", {"word_2": "bdg", "word_3": "x", "do": "hand-sure"})
    entry.refresh_from_db()
    assert entry.words == {"Split oak": "bdg", "Fire tower": "x"}
    (found,) = handed_of(among_posts)
    assert grade(found.handed, course_of(among_posts.course)).points == (
        ("Split oak", True),
        ("Fire tower", False),
    )


def test_nothing_that_was_typed_becomes_a_part_of_a_page(owner, guest, guest_member, among_posts):
    entry = take_card(guest_member, among_posts, 1)
    Member.objects.filter(pk=guest_member.pk).update(name="<script>alert(2)</script>")
    pages = [guest.get("/"), guest.get(f"/logs/{entry.log_id}"), owner.get("/class")]
    base = f"/class/exercises/{among_posts.pk}"
    pages += [
        owner.get(base),
        owner.get(f"{base}/marks"),
        owner.get(f"/class/courses/{among_posts.course_id}"),
    ]
    for page in pages:
        assert page.status_code == 200
        assert "<script>alert" not in page.content.decode()


def test_the_phones_card_carries_what_paper_carries(owner, guest, guest_member, owner_member):
    posts = (Post("Gate", (0.0, 0.0)), Post("Fen", (-640.3, 700.2), word="KTF"))
    leg = CourseLeg(math.degrees(math.atan2(-640.3, 700.2)) % 360, math.hypot(640.3, 700.2), "Fen")
    pit = BarredArea("Marl pit", ((0.0, 90.0), (9.0, 90.0), (9.0, 99.0)))
    safety = Safety("Mill road", 187.0, None, "15:30", "three long blasts", "")
    course = Course(
        "Fen", "posts", "magnetic", posts, (Card(1, "Gate", (leg,), "Fen"),), barred=(pit,), safety=safety
    )
    kept = keep_course(owner_member, course)
    exercise = Exercise.objects.create(owner=owner_member, course=kept, title="Fen")
    entry = take_card(guest_member, exercise, 1)
    page = guest.get(f"/logs/{entry.log_id}").content.decode()
    assert "Keep out of: Marl pit." in page
    assert '<td class="figure large">318</td><td class="figure large">949</td>' in page
    strip = re.search(r'<dl class="card-strip".*?</dl>', page, re.S)
    assert strip
    for one in ("187 deg", "Mill road", "15:30", "three long blasts", "not set: ask"):
        assert one in strip[0]
    # What the instructor changes stands on the phone from then on.
    owner.post(f"/class/courses/{kept.pk}", {"back_by": "16:00", "call": "4711"})
    page = guest.get(f"/logs/{entry.log_id}").content.decode()
    assert "16:00" in page and "4711" in page
    told = owner.post(f"/class/courses/{kept.pk}", {"back_by": "soon"})
    assert told.status_code == 422
    assert "Soon is not a time of day" in told.content.decode()
