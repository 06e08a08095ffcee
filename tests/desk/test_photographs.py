"""Photographed pages on the desk: taken in within bounds, confirmed by a person, kept with the log."""

from __future__ import annotations

import html
import re
from typing import Any

import cv2
import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from pacewright.desk.books import backing_up
from pacewright.desk.books.backing_up import backup_of
from pacewright.desk.books.restoring import restore
from pacewright.desk.models import KeptLog, PagePhoto
from pacewright.desk.photographs import keeping, reading, views
from pacewright.desk.photographs.keeping import AS_SENT, FLAT, path_of
from pacewright.desk.photographs.kept_reading import is_read
from pacewright.desk.photographs.reading import photo_of_row
from pacewright.exceptions import NoAnswerComplaint
from support.page_scan import page_scan
from support.read_photo import number, read_photo, row
from support.scanned_pdf import scanned

JPEG = b"\xff\xd8\xff\xe0" + bytes(300)


def text_of(response: Any, status: int = 200) -> str:
    assert response.status_code == status, (response.status_code, response.content[:3000])
    body = response.content.decode("utf-8")
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def picture(name: str = "page.jpg", data: bytes = JPEG) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, "image/jpeg")


def fields_of(response: Any) -> dict[str, str]:
    """What the confirming page would send as it stands, nothing ticked."""
    body = response.content.decode("utf-8")
    found = dict(re.findall(r'<input[^>]*?name="([a-z]+-p[0-9a-fr]+|title|start|key)" value="([^"]*)"', body))
    return {name: html.unescape(value) for name, value in found.items()}


def confirmed(page: Any, how: str = "looked", **more: str) -> dict[str, str]:
    sent = fields_of(page)
    keys = {name.partition("-")[2] for name in sent if "-" in name}
    return {**sent, **{f"ok-{key}": how for key in keys}, "do": "keep", **more}


def four(**third: Any) -> list[dict[str, Any]]:
    return [
        row(1, "0", "300"),
        row(2, "90", "303"),
        row(3, "180", number("803", **third)),
        row(4, "270", "300", ticks=("at",), note=True),
    ]


def test_without_the_extra_the_line_to_run_stands_there_before_a_file_is_chosen(owner, monkeypatch):
    monkeypatch.setattr(views, "read_line", lambda: 'python -m pip install "pacewright[read]"')
    said = text_of(owner.get("/photographs"))
    assert 'pip install "pacewright[read]"' in said
    assert 'type="file"' not in owner.get("/photographs").content.decode()


def test_photographs_are_taken_in_and_bad_ones_told_a_sentence_each(owner, owner_member):
    files = [picture(), picture("scan.txt", b"azimuth,count"), picture("b.jpg")]
    sent = owner.post("/photographs", {"photographs": files, "log": ""}, follow=False)
    assert sent.status_code == 302
    assert [photo.name for photo in PagePhoto.objects.all()] == ["page.jpg", "b.jpg"]
    assert len({photo.batch for photo in PagePhoto.objects.all()}) == 1
    photo = PagePhoto.objects.first()
    path = path_of(photo.pk, AS_SENT)
    assert path.read_bytes() == JPEG and path.stat().st_mode & 0o077 == 0
    said = text_of(owner.get("/photographs"))
    assert "scan.txt: " in said and "no photograph in JPEG or PNG, and no PDF of scans" in said


def test_too_many_and_too_large_ones_are_refused(owner, owner_member, monkeypatch):
    monkeypatch.setattr(keeping, "MOST_PHOTOS", 2)
    monkeypatch.setattr(keeping, "MOST_PHOTO_BYTES", 1_000)
    files = [picture("a.jpg"), picture("b.jpg", JPEG + bytes(1_000)), picture("c.jpg")]
    owner.post("/photographs", {"photographs": files, "log": ""})
    assert [photo.name for photo in PagePhoto.objects.all()] == ["a.jpg"]


def test_a_guest_keeps_photographs_within_the_share_of_a_guest(guest, guest_member, monkeypatch):
    from pacewright.desk.notebook import kept_bytes

    monkeypatch.setattr(kept_bytes, "MOST_GUEST_BYTES", 150_000)
    for _ in range(3):
        guest.post("/photographs", {"photographs": [picture("a.jpg", JPEG + bytes(70_000))], "log": ""})
    assert PagePhoto.objects.count() == 2


def test_what_is_unsure_comes_first_and_is_marked(owner, owner_member):
    photo = read_photo(owner_member, four(sure=0.7, other=3, at=0))
    body = owner.get(f"/photographs/{photo.batch}").content.decode()
    said = text_of(owner.get(f"/photographs/{photo.batch}"))
    assert "1 of 4 rows must be looked at" in said
    assert body.index("Row 3 <span") < body.index("<h2>Row 1")
    assert "count 803, or 303 (30 %)" in said
    assert 'viewBox="0 ' in body and f"/photographs/{photo.pk}/picture/page" in body
    assert "style=" not in body and "<script>" not in body
    assert "on the page, not read: type them" in said


def test_confirmed_rows_go_into_a_new_log_in_the_order_of_the_page(owner, owner_member):
    photo = read_photo(owner_member, four(sure=0.7, other=3, at=0))
    page = owner.get(f"/photographs/{photo.batch}")
    key = f"p{photo.pk.hex}r3"
    sent = confirmed(page, **{f"count-{key}": "303", "title": "Fen loop", "start": "Gate"})
    answer = owner.post(f"/photographs/{photo.batch}/rows", sent)
    log = KeptLog.objects.get()
    assert answer.status_code == 302 and answer.url == f"/logs/{log.pk}"
    assert [(one["azimuth"], one["count"]) for one in log.rows] == [
        ("0", "300"),
        ("90", "303"),
        ("180", "303"),
        ("270", "300"),
    ]
    assert log.title == "Fen loop" and "start: Gate" in log.heading
    assert log.rows[3]["notes"] == "[at row 4]"
    assert photo_of_row(log.rows[2]["id"]) == (photo.pk, 3)
    photo.refresh_from_db()
    assert photo.log_id == log.pk and photo.confirmed_at is not None
    # Sent once more, nothing is written twice.
    again = owner.post(f"/photographs/{photo.batch}/rows", sent)
    assert again.url == f"/logs/{log.pk}" and len(KeptLog.objects.get().rows) == 4


def test_pages_with_the_same_numbers_follow_each_other_and_their_places_are_not_one(owner, owner_member):
    first = read_photo(owner_member, [row(1, "0", "300"), row(2, "90", "310", ticks=("at",))])
    read_photo(
        owner_member,
        [row(1, "180", number("320", sure=0.7)), row(2, "270", "330", ticks=("at",))],
        batch=first.batch,
        number=1,
        name="other.jpg",
    )
    page = owner.get(f"/photographs/{first.batch}")
    said = text_of(page)
    assert "Pages with the same number: they are taken in the order given." in said
    assert "Row 1 of other.jpg" in said
    owner.post(f"/photographs/{first.batch}/rows", confirmed(page))
    log = KeptLog.objects.get()
    assert [one["count"] for one in log.rows] == ["300", "310", "320", "330"]
    assert [one["notes"] for one in log.rows] == ["", "[at row 2]", "", "[at row 2 of photo 2]"]
    # Another page for the same log: none of its places is one that stands there.
    third = read_photo(owner_member, [row(2, "10", "340", ticks=("see",))], log)
    assert "[see row 2 of photo 3]" in owner.get(f"/photographs/{third.batch}").content.decode()


def test_photographs_of_several_cards_become_a_log_each(owner, owner_member, make_log):
    log = make_log(owner_member)
    first = card_photo(owner_member, 7, "300", log=log)
    other = card_photo(owner_member, 3, "310", log=log, batch=first.batch, number=1)
    again = card_photo(owner_member, 7, "320", log=log, batch=first.batch, number=2)
    page = owner.get(f"/photographs/{first.batch}")
    assert "These photographs are of several cards." in text_of(page)
    assert "310" not in fields_of(page).values()
    owner.post(f"/photographs/{first.batch}/rows", confirmed(page))
    other.refresh_from_db(), again.refresh_from_db()
    assert "Card 3: 1 photograph" in text_of(owner.get("/photographs"))
    page = owner.get(f"/photographs/{other.batch}")
    owner.post(f"/photographs/{other.batch}/rows", confirmed(page))
    kept = {one.title: [row["count"] for row in one.rows] for one in KeptLog.objects.exclude(pk=log.pk)}
    assert kept == {"card 7": ["300", "320"], "card 3": ["310"]}


def card_photo(owner_member: Any, card: int, count: str, **more: Any) -> PagePhoto:
    photo = read_photo(owner_member, [row(1, "0", count)], **more)
    photo.read = {**photo.read, "card": card}
    photo.save()
    return photo


def test_a_row_that_nobody_confirmed_keeps_everything_from_being_kept_and_nothing_typed_is_lost(
    owner, owner_member
):
    photo = read_photo(owner_member, four(sure=0.7, other=3, at=0))
    key = f"p{photo.pk.hex}r3"
    sent = confirmed(owner.get(f"/photographs/{photo.batch}"), **{f"notes-{key}": "dry ditch"})
    del sent[f"ok-{key}"]
    page = owner.post(f"/photographs/{photo.batch}/rows", sent)
    assert "row 3 is not confirmed yet" in text_of(page, 422).lower()
    assert "dry ditch" in page.content.decode() and not KeptLog.objects.exists()


def test_rows_confirmed_together_keep_what_their_digits_may_be_besides(owner, owner_member):
    photo = read_photo(owner_member, four(sure=0.94, other=3, at=0))
    page = owner.get(f"/photographs/{photo.batch}")
    owner.post(f"/photographs/{photo.batch}/rows", confirmed(page, how="together"))
    assert KeptLog.objects.get().rows[2]["notes"] == "[or 303 count 6%]"


def test_rows_looked_at_one_by_one_are_doubted_no_more(owner, owner_member):
    photo = read_photo(owner_member, four(sure=0.94, other=3, at=0))
    owner.post(f"/photographs/{photo.batch}/rows", confirmed(owner.get(f"/photographs/{photo.batch}")))
    assert KeptLog.objects.get().rows[2]["notes"] == ""


def test_rows_go_to_the_end_of_a_log_that_was_chosen_and_its_names_are_offered(owner, owner_member, make_log):
    log = make_log(owner_member, [("12", "200", "[at Split oak]")])
    photo = read_photo(owner_member, four(), log)
    page = owner.get(f"/photographs/{photo.batch}")
    assert '<option value="[at Split oak]">' in page.content.decode()
    owner.post(f"/photographs/{photo.batch}/rows", confirmed(page))
    log.refresh_from_db()
    assert [one["azimuth"] for one in log.rows] == ["12", "0", "90", "180", "270"]


def test_an_emptied_row_is_left_out(owner, owner_member):
    photo = read_photo(owner_member, four())
    key = f"p{photo.pk.hex}r2"
    empty = {f"{name}-{key}": "" for name in ("azimuth", "count", "notes")}
    owner.post(
        f"/photographs/{photo.batch}/rows", confirmed(owner.get(f"/photographs/{photo.batch}"), **empty)
    )
    assert len(KeptLog.objects.get().rows) == 3


def test_nobody_sees_the_photograph_of_another(owner_member, guest, guest_member):
    photo = read_photo(owner_member, four())
    for address in (
        f"/photographs/{photo.batch}",
        f"/photographs/{photo.pk}/picture/page",
        f"/photographs/{photo.pk}/picture/photograph",
        f"/photographs/{photo.pk}/row/3",
    ):
        assert guest.get(address).status_code == 404


def test_a_row_is_shown_on_its_page_and_its_photograph_handed_out(owner, owner_member):
    photo = read_photo(owner_member, four())
    assert "Row 3 on the page" in text_of(owner.get(f"/photographs/{photo.pk}/row/3"))
    assert owner.get(f"/photographs/{photo.pk}/row/99").status_code == 404
    for kind in ("page", "photograph"):
        picture = owner.get(f"/photographs/{photo.pk}/picture/{kind}")
        assert picture.headers["Content-Type"] == "image/jpeg" and picture.content[:3] == b"\xff\xd8\xff"


def test_thrown_away_photographs_leave_no_file(owner, owner_member):
    photo = read_photo(owner_member, four())
    owner.post(f"/photographs/{photo.batch}/rows", {"do": "throw"})
    assert not PagePhoto.objects.exists()
    assert not path_of(photo.pk, AS_SENT).exists() and not path_of(photo.pk, FLAT).exists()


def test_a_suspect_leads_to_its_row_on_the_page(owner, owner_member):
    photo = read_photo(owner_member, four(sure=0.94, other=3, at=0))
    key = f"p{photo.pk.hex}r4"
    page = owner.get(f"/photographs/{photo.batch}")
    owner.post(
        f"/photographs/{photo.batch}/rows",
        confirmed(page, how="together", **{f"notes-{key}": "[at Gate]", "start": "Gate"}),
    )
    closing = owner.get(f"/logs/{KeptLog.objects.get().pk}/closing")
    assert "count read as 803, closes with 303" in text_of(closing)
    assert f'href="/photographs/{photo.pk}/row/3"' in closing.content.decode()


@pytest.mark.parametrize("how", ["throw", "delete"])
def test_with_its_log_a_photograph_goes(owner, owner_member, how):
    photo = read_photo(owner_member, four())
    owner.post(f"/photographs/{photo.batch}/rows", confirmed(owner.get(f"/photographs/{photo.batch}")))
    log = KeptLog.objects.get()
    owner.post(f"/logs/{log.pk}/throw", {"do": "throw"})
    assert path_of(photo.pk, FLAT).exists()
    if how == "delete":
        log.refresh_from_db()
        log.delete()
        assert not PagePhoto.objects.exists() and not path_of(photo.pk, FLAT).exists()


def test_a_backup_keeps_photographs_and_what_was_read_and_brings_them_back(owner, owner_member):
    photo = read_photo(owner_member, four(sure=0.94, other=3, at=0))
    owner.post(f"/photographs/{photo.batch}/rows", confirmed(owner.get(f"/photographs/{photo.batch}")))
    flat, sent = (path_of(photo.pk, kind).read_bytes() for kind in (FLAT, AS_SENT))
    made = backup_of(owner_member)
    assert not made.left_out and not made.faults
    KeptLog.objects.all().delete()
    assert not PagePhoto.objects.exists() and not path_of(photo.pk, FLAT).exists()
    assert any("1 photograph" in sentence for sentence in restore(owner_member, made.data))
    back = PagePhoto.objects.get()
    assert back.pk == photo.pk and back.log_id == KeptLog.objects.get().pk
    assert back.read["rows"] == photo.read["rows"]
    assert (path_of(photo.pk, FLAT).read_bytes(), path_of(photo.pk, AS_SENT).read_bytes()) == (flat, sent)
    assert owner.get(f"/photographs/{photo.pk}/row/3").status_code == 200


def test_a_backup_with_no_room_for_photographs_says_so_and_keeps_every_row(owner, owner_member, monkeypatch):
    monkeypatch.setattr(backing_up, "MOST_PHOTO_BYTES", 10)
    photo = read_photo(owner_member, four())
    owner.post(f"/photographs/{photo.batch}/rows", confirmed(owner.get(f"/photographs/{photo.batch}")))
    made = backup_of(owner_member)
    assert "keep the photographs yourself" in made.left_out[0]
    KeptLog.objects.all().delete()
    said = restore(owner_member, made.data)
    assert len(KeptLog.objects.get().rows) == 4 and not PagePhoto.objects.exists()
    assert any("page.jpg is not in this backup" in sentence for sentence in said)


@pytest.mark.parametrize(
    "read",
    [
        [],
        {"page": 1},
        {"page": 1, "rows": [{}]},
        {"page": 1, "rows": [row(1, "1", "2") | {"number": "1"}]},
        {"page": 1, "rows": [row(1, number("1") | {"chances": []}, "2")]},
        {"page": 1, "rows": [row(1, number("1") | {"text": "x"}, "2")]},
        {"page": 1, "rows": [], "size": [1, "2"], "tops": []},
    ],
)
def test_what_was_never_read_so_is_taken_from_no_backup(read):
    assert not is_read(read)
    assert is_read({}) and is_read({"page": 1, "rows": four()})


@pytest.mark.slow
def test_a_page_that_is_handed_in_is_read_by_a_worker_and_a_blank_picture_told_in_a_sentence(owner):
    page = page_scan((("12", "240"), ("95", "310"), ("88", "150")))
    blank = page_scan(())[:2000]
    grey = cv2.imdecode(np.frombuffer(page, np.uint8), cv2.IMREAD_GRAYSCALE)
    files = [picture("walk.jpg", page), picture("torn.jpg", blank), picture("scan.pdf", scanned([grey]))]
    led = owner.post("/photographs", {"photographs": files, "log": ""})
    for _ in range(30):
        answer = owner.get(led.url)
        if b"Confirm what was read" in answer.content:
            break
    said = text_of(answer)
    assert "torn.jpg: this picture is cut off or damaged" in said.lower()
    for name in ("walk.jpg", "scan.pdf, page 1"):
        read = PagePhoto.objects.get(name=name).read
        # One digit in fifteen may be read as another: it is the worker that is under test.
        digits = "".join(one["azimuth"]["text"] + one["count"]["text"] for one in read["rows"])
        assert sum(one != other for one, other in zip(digits, "122409531088150", strict=True)) <= 1
    assert "Row 3" in said and answer.content.count(b'class="strip"') == 6


def test_a_photograph_that_a_busy_desk_could_not_read_is_tried_again_before_it_is_given_up(
    owner, owner_member, monkeypatch
):
    photo = read_photo(owner_member, [], read={})
    asked = []

    def busy(request: Any, question: Any) -> None:
        asked.append(question)
        raise NoAnswerComplaint("this answer takes long, and others were waiting for theirs", "Ask again")

    monkeypatch.setattr(reading, "answer_to", busy)
    for _ in range(4):
        said = text_of(owner.get(f"/photographs/{photo.batch}"))
    assert len(asked) == reading.MOST_TRIES and "was not read to its end" in said
    photo.refresh_from_db()
    assert is_read(photo.read)
