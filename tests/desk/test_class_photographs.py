"""Photographed cards of a class: each to the learner of its number, confirmed, handed in, or asked about."""

from __future__ import annotations

import html
import re
import uuid
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext

from pacewright.desk.classes.card_photographs import waiting_pages
from pacewright.desk.classes.entries import add_on_paper
from pacewright.desk.classes.handing_in import hand_in
from pacewright.desk.models import Entry, Exercise, KeptLog, PagePhoto
from support.desk_class import field_course, made_exercise, write_rows
from support.read_photo import read_photo, row

JPEG = b"\xff\xd8\xff\xe0" + bytes(300)


@pytest.fixture
def exercise(owner_member) -> Exercise:
    return made_exercise(owner_member)


def card(exercise: Exercise, number: int, azimuth: str = "15", page: int = 1, **more: Any) -> PagePhoto:
    """A photographed card of the class that was read."""
    photo = read_photo(
        exercise.owner, [row(1, azimuth, "38"), row(2, "135", "28")], exercise=exercise, **more
    )
    photo.read |= {"card": number, "page": page}
    photo.save()
    return photo


def at(exercise: Exercise, batch: Any = "") -> str:
    return f"/class/exercises/{exercise.pk}/photographs{f'/{batch}' if batch else ''}"


def words(answer: Any) -> str:
    body = re.sub(r"<[^>]+>", " ", answer.content.decode("utf-8"))
    return " ".join(html.unescape(body).split())


def confirmed(owner: Any, exercise: Exercise, photo: PagePhoto, **more: str) -> Any:
    """Confirm every row of a page as it stands, and hand it in."""
    photo.refresh_from_db()
    address = at(exercise, photo.batch)
    body = owner.get(address).content.decode("utf-8")
    sent = dict(re.findall(r'<input[^>]*?name="([a-z]+-p[0-9a-fr]+|key)" value="([^"]*)"', body))
    ticked = {f"ok-{name.partition('-')[2]}": "looked" for name in sent if "-" in name}
    assert ticked, words(owner.get(address))
    return owner.post(address, {**sent, **ticked, "do": "keep", **more})


def told(owner: Any, exercise: Exercise, photo: PagePhoto) -> str:
    photo.refresh_from_db()
    return words(owner.get(at(exercise, photo.batch)))


def test_every_page_goes_to_the_learner_of_its_card_and_counts_as_handed_in(owner, exercise):
    entries = {number: add_on_paper(exercise, f"Learner {number}", number) for number in (2, 5)}
    batch = uuid.uuid4()
    photos = {number: card(exercise, number, str(10 * number), batch=batch) for number in (5, 2)}
    assert owner.get(at(exercise, batch)).url == at(exercise)
    listed = words(owner.get(at(exercise)))
    assert "Card 2, Learner 2 Card 5, Learner 5" in listed
    assert "card 5, Learner 5" in told(owner, exercise, photos[5])
    stake = field_course().posts[2].name
    answer = confirmed(owner, exercise, photos[5], ends_at=stake, minutes="31", pace_count="61")
    assert answer.status_code == 302, words(answer)
    assert answer.url == at(exercise, PagePhoto.objects.get(pk=photos[2].pk).batch)
    confirmed(owner, exercise, photos[2])
    for number, entry in entries.items():
        entry.refresh_from_db()
        assert entry.handed_at is not None and entry.back_at is not None
        assert [one["azimuth"] for one in entry.log.rows] == [str(10 * number), "135"]
        assert entry.frozen["page"]["rows"] == entry.log.rows
        assert entry.log.owner == entry.member
    assert (entries[5].ends_at, entries[5].minutes) == (stake, "31")
    assert "per_100_m = 61" in entries[5].frozen["walker"]["toml"]
    assert KeptLog.objects.count() == 2
    assert words(owner.get(f"/class/exercises/{exercise.pk}/live")).count("from paper") == 2
    marks = words(owner.get(f"/class/exercises/{exercise.pk}/marks"))
    assert "Learner 5, card 5, from paper" in marks


def test_a_page_without_a_number_or_with_one_that_nobody_has_is_asked_about(owner, exercise):
    add_on_paper(exercise, "Bea Lisk", 1)
    none, nobody = card(exercise, 0, name="loose.jpg"), card(exercise, 4)
    assert "No card number is on loose.jpg: say whose page it is." in told(owner, exercise, none)
    assert "Nobody has card 4 here" in told(owner, exercise, nobody)
    owner.post(at(exercise, nobody.batch), {"do": "whose", "name": "Tam Orrin", "card": "4"})
    owner.post(at(exercise, none.batch), {"do": "whose", "entry": str(Entry.objects.get(card=1).pk)})
    for photo, name in ((nobody, "Tam Orrin"), (none, "Bea Lisk")):
        confirmed(owner, exercise, photo)
        photo.refresh_from_db()
        assert Entry.objects.get(log=photo.log).member.name == name
    assert Entry.objects.filter(handed_at__isnull=False).count() == 2


def test_a_hand_in_is_never_written_over(owner, exercise):
    entry = add_on_paper(exercise, "Bea Lisk", 1)
    write_rows(entry.log)
    hand_in(entry)
    photo = card(exercise, 1)
    assert "Card 1 of Bea Lisk is handed in already" in told(owner, exercise, photo)
    answer = owner.post(at(exercise, photo.batch), {"do": "keep", "key": "k"})
    assert answer.status_code == 422 and "It is not said yet whose page this is" in words(answer)
    refused = owner.post(at(exercise, photo.batch), {"do": "whose", "entry": str(entry.pk)})
    assert refused.status_code == 422 and "No card was chosen" in words(refused)
    entry.log.refresh_from_db()
    assert len(entry.log.rows) == 3


def test_rows_that_a_learner_typed_are_asked_about_and_stay(owner, exercise):
    entry = add_on_paper(exercise, "Bea Lisk", 1)
    write_rows(entry.log)
    photo = card(exercise, 1, "44")
    assert "Card 1 of Bea Lisk has 3 rows already: choose it to add these below" in told(
        owner, exercise, photo
    )
    owner.post(at(exercise, photo.batch), {"do": "whose", "entry": str(entry.pk)})
    confirmed(owner, exercise, photo)
    entry.log.refresh_from_db()
    assert [one["azimuth"] for one in entry.log.rows] == ["15", "135", "210", "44", "135"]


def test_one_page_in_two_photographs_is_asked_about_until_one_is_thrown_away(owner, exercise):
    add_on_paper(exercise, "Bea Lisk", 1)
    batch = uuid.uuid4()
    one, two = card(exercise, 1, batch=batch), card(exercise, 1, "99", batch=batch)
    owner.get(at(exercise, batch))
    for photo in (one, two):
        assert "Two photographs show the same page of card 1" in told(owner, exercise, photo)
    owner.post(at(exercise, PagePhoto.objects.get(pk=two.pk).batch), {"do": "throw"})
    confirmed(owner, exercise, one)
    assert [log.rows[0]["azimuth"] for log in KeptLog.objects.all()] == ["15"]


def test_the_photographs_that_wait_are_asked_for_once_however_many_they_are(owner, exercise):
    for number in range(1, 5):
        add_on_paper(exercise, f"Learner {number}", number)
        card(exercise, number)
    with CaptureQueriesContext(connection) as asked:
        assert len(waiting_pages(exercise)) == 4
    assert sum('FROM "desk_pagephoto"' in one["sql"] for one in asked) == 1


def test_a_loose_page_said_to_be_somebodys_is_confirmed_with_the_card(owner, exercise):
    entry = add_on_paper(exercise, "Bea Lisk", 1)
    first, loose = card(exercise, 1), card(exercise, 0, "77")
    for photo in (first, loose):
        owner.post(at(exercise, photo.batch), {"do": "whose", "entry": str(entry.pk)})
    loose.refresh_from_db()
    assert loose.batch == first.batch
    confirmed(owner, exercise, first)
    entry.log.refresh_from_db()
    assert [one["azimuth"] for one in entry.log.rows] == ["15", "135", "77", "135"]


def test_a_finish_that_cannot_be_kept_keeps_nothing_and_loses_nothing(owner, exercise):
    entry = add_on_paper(exercise, "Bea Lisk", 1)
    answer = confirmed(owner, exercise, card(exercise, 1), pace_count="999", minutes="31")
    assert answer.status_code == 422 and "999 is not a pace count" in words(answer)
    assert 'value="31"' in answer.content.decode() and 'value="999"' in answer.content.decode()
    entry.refresh_from_db()
    entry.log.refresh_from_db()
    assert entry.handed_at is None and entry.log.rows == []


def test_photographs_are_taken_in_by_the_instructor_alone(owner, guest, exercise, monkeypatch):
    files = [SimpleUploadedFile(f"IMG_{k}.jpg", JPEG, "image/jpeg") for k in range(24)]
    assert guest.get(at(exercise)).status_code in (403, 404)
    assert guest.post(at(exercise), {"photographs": files}).status_code in (403, 404)
    assert not PagePhoto.objects.exists()
    for file in files:
        file.seek(0)
    answer = owner.post(at(exercise), {"photographs": files})
    assert PagePhoto.objects.filter(exercise=exercise).count() == 24
    batch = PagePhoto.objects.first().batch
    assert answer.url == at(exercise, batch)
    # They are nobody's log until they are confirmed in the class.
    assert str(batch) not in owner.get("/photographs").content.decode()
    assert owner.get(f"/photographs/{batch}").url == at(exercise, batch)
    assert owner.post(f"/photographs/{batch}/rows", {"do": "keep"}).status_code == 404
    assert guest.get(at(exercise, batch)).status_code in (403, 404)
