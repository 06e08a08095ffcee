"""A PDF of scans on the desk: a worker takes its pages out, within bounds, and each is a photograph."""

from __future__ import annotations

import html
import re
from typing import Any

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from pacewright.desk.books.backing_up import backup_of
from pacewright.desk.books.restoring import restore
from pacewright.desk.models import PagePhoto
from pacewright.desk.photographs import keeping, reading
from pacewright.desk.photographs.keeping import AS_SENT, path_of
from support.scanned_pdf import scanned

JPEG = b"\xff\xd8\xff\xe0" + bytes(300)


def text_of(response: Any) -> str:
    assert response.status_code == 200, (response.status_code, response.content[:3000])
    body = response.content.decode("utf-8")
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def picture(name: str, data: bytes = JPEG) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, "image/jpeg")


@pytest.fixture
def only_split(monkeypatch):
    """What a worker would do with a PDF is done here; no photograph is read."""

    def answer(request: Any, question: Any) -> Any:
        return question.work(*question.arguments) if question.work is reading.split_scans else None

    monkeypatch.setattr(reading, "answer_to", answer)


def blank_scans(*shades: int) -> bytes:
    return scanned([np.full((900, 700), shade, np.uint8) for shade in shades])


def test_every_page_of_a_pdf_of_scans_is_a_photograph_in_the_order_of_the_files(owner, only_split):
    files = [picture("a.jpg"), picture("scan.pdf", blank_scans(90, 200)), picture("b.jpg")]
    led = owner.post("/photographs", {"photographs": files, "log": ""})
    pdf = PagePhoto.objects.get(name="scan.pdf")
    first = PagePhoto.objects.get(name="a.jpg")
    first.refused = "no log page is to be seen."
    first.save()
    # Nobody is shown the PDF as a picture, and no corners are set on it.
    assert owner.get(f"/photographs/{pdf.pk}/picture/photograph").status_code == 404
    assert owner.get(f"/photographs/{pdf.pk}/frame").status_code == 404
    said = text_of(owner.get(led.url))
    names = ["a.jpg", "scan.pdf, page 1", "scan.pdf, page 2", "b.jpg"]
    assert [photo.name for photo in reading.of_batch(pdf.owner, pdf.batch)] == names
    assert "3 of 4 still to be read" in said and "scan.pdf, page 2: waiting" in said
    pages = [PagePhoto.objects.get(name=name) for name in names[1:3]]
    pictures = [owner.get(f"/photographs/{page.pk}/picture/photograph") for page in pages]
    assert [answer.headers["Content-Type"] for answer in pictures] == ["image/jpeg"] * 2
    assert [page.kept_bytes for page in pages] == [len(answer.content) for answer in pictures]


def test_a_pdf_is_split_once_and_leaves_no_file(owner, only_split):
    led = owner.post("/photographs", {"photographs": [picture("s.pdf", blank_scans(90))], "log": ""})
    pdf = PagePhoto.objects.get()
    assert path_of(pdf.pk, AS_SENT).exists()
    owner.get(led.url)
    assert [photo.name for photo in PagePhoto.objects.all()] == ["s.pdf, page 1"]
    assert not path_of(pdf.pk, AS_SENT).exists()
    # Another tab that asked at the same time finds it done.
    keeping.put_pages(pdf, [JPEG])
    assert PagePhoto.objects.count() == 1


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (blank_scans(*range(13)), "scan.pdf: This PDF has 13 pages. Give at most 12 scans at a time."),
        (blank_scans(1, 2)[:900], "scan.pdf: This PDF is cut off or damaged. Copy or scan it again."),
    ],
)
def test_a_pdf_that_cannot_be_split_is_told_in_one_sentence_and_asks_for_no_corners(
    owner, only_split, data, said
):
    led = owner.post("/photographs", {"photographs": [picture("scan.pdf", data)], "log": ""})
    page = owner.get(led.url)
    assert said in text_of(page) and b"Show where its rows are" not in page.content
    assert [photo.name for photo in PagePhoto.objects.all()] == ["scan.pdf"]


def test_pages_that_a_member_has_no_room_for_are_not_kept(owner, only_split, monkeypatch):
    data = blank_scans(90, 200)
    led = owner.post("/photographs", {"photographs": [picture("scan.pdf", data)], "log": ""})
    monkeypatch.setattr(keeping, "MOST_OWN_BYTES", 100)
    assert "take at most 0 MB at this desk" in text_of(owner.get(led.url))
    assert [photo.name for photo in PagePhoto.objects.all()] == ["scan.pdf"]


def test_a_backup_keeps_a_pdf_that_was_not_split_yet(owner, owner_member):
    data = blank_scans(90)
    owner.post("/photographs", {"photographs": [picture("scan.pdf", data)], "log": ""})
    made = backup_of(owner_member)
    PagePhoto.objects.all().delete()
    restore(owner_member, made.data)
    assert path_of(PagePhoto.objects.get().pk, AS_SENT).read_bytes() == data
