"""Books: several logs at once, renamed in place, found by walker and place, kept twice, left empty."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pymupdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

from pacewright.desk.models import KeptLog, Member
from pacewright.desk.notebook.keeping import keep_change
from pacewright.desk.walkers.keeping import named_walker
from support.page_words import words_of

MakeLog = Callable[..., KeptLog]
LEGS = [("305", "240"), ("38", "185", "[at Split oak] dry")]
HEADING = "title: {}\nazimuth: magnetic degrees\ncount: paces\nstart: {}"


@pytest.fixture
def two(owner_member: Member, make_log: MakeLog) -> list[KeptLog]:
    return [
        make_log(owner_member, LEGS, heading=HEADING.format("Fen", "Gate")),
        make_log(owner_member, LEGS[:1], heading=HEADING.format("Moor", "Mill")),
    ]


def several(client: Client, logs: list[KeptLog], do: str, **more: str) -> Any:
    sent = {"log": [str(one.pk) for one in logs], "do": do, **more}
    return client.post("/books/several", sent, follow=True)


def test_the_files_of_the_ticked_come_in_one_archive_each_as_by_itself(
    owner: Client, two: list[KeptLog]
) -> None:
    archive = zipfile.ZipFile(io.BytesIO(several(owner, two, "files", file="log").content))
    assert archive.namelist() == ["01-fen.csv", "02-moor.csv"]
    for name, log in zip(archive.namelist(), two, strict=True):
        assert archive.read(name) == owner.get(f"/logs/{log.pk}/files/log").content


def test_a_log_that_has_no_such_file_is_named_beside_the_others(
    owner: Client, owner_member: Member, two: list[KeptLog], make_log: MakeLog
) -> None:
    wrong = make_log(owner_member, [("400", "10")], heading=HEADING.format("Wrong", "Gate"))
    archive = zipfile.ZipFile(io.BytesIO(several(owner, [*two, wrong], "files", file="stations").content))
    assert archive.namelist() == ["01-fen.stations.csv", "02-moor.stations.csv", "left-out.txt"]
    assert archive.read("left-out.txt").decode().startswith("Wrong: Row 1 is not understood")
    assert "No log of these has such a file" in words_of(several(owner, [wrong], "files", file="stations"))


def test_sheets_of_the_ticked_are_one_pdf_with_a_page_or_more_of_each(
    owner: Client, two: list[KeptLog]
) -> None:
    response = several(owner, two, "sheets", sheet="leg-card", paper="a5")
    with pymupdf.open(stream=response.content, filetype="pdf") as pages:
        said = [page.get_text() for page in pages]
        assert (round(pages[0].rect.width), round(pages[0].rect.height)) == (420, 595)
    assert len(said) >= 2
    assert "Fen" in said[0]
    assert "Moor" in said[-1]


def test_the_ticked_are_thrown_away_at_once_and_come_back(owner: Client, two: list[KeptLog]) -> None:
    assert "Thrown away: 2 logs." in words_of(several(owner, two, "throw"))
    assert KeptLog.objects.filter(thrown_at__isnull=True).count() == 0


@pytest.mark.parametrize("do", ["files", "sheets", "throw"])
def test_what_is_not_ones_own_and_what_is_nothing_is_not_done(
    guest: Client, two: list[KeptLog], do: str
) -> None:
    several(guest, two, do, file="log", sheet="log")
    assert KeptLog.objects.filter(thrown_at__isnull=True).count() == 2
    for logs in ([], ["x"]):
        response = guest.post("/books/several", {"log": logs, "do": do})
        assert (response.status_code, "No log was ticked" in response.content.decode()) == (422, True)


def test_a_log_is_renamed_where_it_stands_and_undone_on_its_page(owner: Client, two: list[KeptLog]) -> None:
    log = two[0]
    back = "/books?q=dry"
    response = owner.post(f"/logs/{log.pk}/rename", {"title": "Fen, again", "back": back})
    assert response.headers["Location"] == back
    log.refresh_from_db()
    assert (log.title, log.heading) == ("Fen, again", HEADING.format("Fen, again", "Gate"))
    assert log.edits.count() == 1
    elsewhere = owner.post(f"/logs/{log.pk}/rename", {"title": "X", "back": "https://elsewhere.example/"})
    assert elsewhere.headers["Location"] == "/books"


def test_a_log_with_no_title_is_called_by_place_and_day(owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member, LEGS, heading="title:\ndate: 2026-05-14\ncount: paces\nstart: Gate")
    assert log.title == "Gate, 2026-05-14"


def test_logs_are_found_by_walker_and_by_place(
    owner: Client, owner_member: Member, two: list[KeptLog]
) -> None:
    odo = named_walker(owner_member, "Odo Lark")
    KeptLog.objects.filter(pk=two[0].pk).update(walker=odo)

    def found(**asked: str) -> list[bool]:
        page = owner.get("/books", asked).content.decode()
        return [f'/logs/{one.pk}"' in page for one in two]

    assert found() == [True, True]
    assert found(walker=str(odo.pk)) == [True, False]
    assert found(walker="nobody") == [False, True]
    assert found(walker="x") == [False, False]
    assert found(place="Split oak") == [True, False]
    assert found(place="mill") == [False, True]
    # A word in the notes is no place.
    assert found(place="dry") == [False, False]


def test_a_log_that_is_kept_already_is_said_to_be(owner: Client) -> None:
    data = b"# title: Plain\n# start: Gate\nazimuth,count,notes\n305,240,\n"
    for name in ("walk.csv", "again.csv"):
        sent = {"files": [SimpleUploadedFile(name, data)]}
        said = words_of(owner.post("/books/import", sent, follow=True))
        assert ("holds the very same page" in said) == (name == "again.csv")
    changed = data.replace(b"240", b"241")
    said = words_of(
        owner.post("/books/import", {"files": [SimpleUploadedFile("c.csv", changed)]}, follow=True)
    )
    assert "holds the very same page" not in said


def test_beginning_leaves_no_empty_logs_behind(owner: Client, owner_member: Member) -> None:
    addresses = [owner.post("/logs/new", {"what": "empty"}).headers["Location"] for _ in range(3)]
    used, fresh, old = [KeptLog.objects.get(pk=one.rpartition("/")[2]) for one in addresses]
    assert "No log is kept yet" in words_of(owner.get("/books"))
    assert str(used.pk) not in owner.get("/").content.decode()
    put = {"kind": "put", "id": "r0", "azimuth": "10", "count": "", "notes": ""}
    keep_change(used.pk, "change-one", put)
    assert str(used.pk) in owner.get("/books").content.decode()
    KeptLog.objects.exclude(pk=fresh.pk).update(made_at=timezone.now() - timedelta(days=2))
    owner.post("/logs/new", {"what": "empty"})
    left = set(KeptLog.objects.values_list("pk", flat=True))
    assert {used.pk, fresh.pk} < left
    assert old.pk not in left
