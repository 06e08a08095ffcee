"""Everything put away in one file, and brought back: what can be kept is, the rest is listed."""

from __future__ import annotations

import io
import json
import uuid
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client

from pacewright.desk.books.backup_records import KINDS, record_of
from pacewright.desk.models import (
    Entry,
    Exercise,
    Ground,
    Group,
    KeptLog,
    KeptWalker,
    Member,
    WalkerPast,
)
from pacewright.desk.notebook import keeping
from pacewright.desk.notebook.beginning import example_log
from pacewright.desk.notebook.ground_keeping import ground_bytes, keep_ground
from pacewright.desk.notebook.keeping import keep_change, new_log, undo_last
from pacewright.desk.notebook.page_changes import PageState, new_row
from pacewright.desk.serving.access import new_guest, the_owner
from pacewright.desk.walkers.keeping import change_walker, new_walker
from pacewright.files.bundled import bundled
from pacewright.files.walker_toml import read_walker
from support.desk_class import made_course
from support.desk_setup import HOST, wipe
from support.kept_lanes import kept_lanes
from support.read_photo import read_photo

SEMICOLON = b"\xef\xbb\xbf# title: Sheet;;\r\nazimuth;count;notes\r\n305;240;\r\n"


def client_of(member: Member) -> Client:
    client = Client(headers={"host": HOST})
    session = client.session
    session["member"] = str(member.pk)
    session.save()
    return client


def backup(client: Client) -> bytes:
    found = client.get("/books/backup/file")
    assert found.status_code == 200
    return found.content


def restored(client: Client, data: bytes) -> tuple[int, str]:
    found = client.post("/books/backup/restore", {"file": SimpleUploadedFile("b.zip", data)}, follow=True)
    return found.status_code, found.content.decode()


def changed(data: bytes, change: Callable[[dict[str, Any]], None]) -> bytes:
    """A backup with its manifest changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            text = old.read(name)
            if name == "manifest.json":
                manifest = json.loads(text)
                change(manifest)
                text = json.dumps(manifest).encode("utf-8")
            new.writestr(name, text)
    return out.getvalue()


def everything() -> dict[str, list[dict[str, Any]]]:
    """Every record that a backup should hold, and the bytes that logs came as; the owner is named so."""
    owner = str(the_owner().pk)
    held = {}
    for kind, model in {"members": Member, **KINDS}.items():
        records = []
        for kept in model._default_manager.all():
            record = record_of(kept)
            if isinstance(kept, KeptLog):
                record["came_as"] = None if kept.came_as is None else bytes(kept.came_as)
            if isinstance(kept, Ground):
                record["file"] = ground_bytes(kept)
            if kind == "members" and record["id"] == owner:
                del record["joined_at"]
            records.append({key: "owner" if value == owner else value for key, value in record.items()})
        held[kind] = sorted(records, key=lambda one: json.dumps(one, default=repr, sort_keys=True))
    return held


@pytest.fixture
def full_desk(owner_member: Member, guest_member: Member) -> None:
    """One or more of everything that the desk keeps, of the owner's and of a guest's."""
    log = example_log(owner_member)
    keep_change(log.pk, "change-one", {"kind": "strike", "id": "r1", "struck": True})
    keep_change(log.pk, "change-two", {"kind": "remove", "ids": ["r2"]})
    undo_last(log.pk, "undo-them-1")
    assert log.walker is not None
    toml = log.walker.toml.replace("2.5", "3.5")
    change_walker(
        log.walker.pk, "compass figures typed", toml=toml, trials_csv=bundled("pace_trials.csv").decode()
    )
    WalkerPast.objects.update(learnt_from=log)
    ground = keep_ground(owner_member, "Fen", SimpleUploadedFile("x.tif", bundled("demo_ground.tif")))
    sheet = new_log(
        owner_member, PageState("title: Sheet", (new_row("r0", ("305", "240", "")),)), came_as=SEMICOLON
    )
    KeptLog.objects.filter(pk=sheet.pk).update(ground=ground, thrown_at=log.made_at)
    kept_lanes(owner_member)
    group = Group.objects.create(owner=owner_member, name="Thursday", term="spring")
    Member.objects.filter(pk=guest_member.pk).update(group=group)
    course = made_course(owner_member)
    exercise = Exercise.objects.create(
        owner=owner_member, course=course, group=group, title="First", rule={"a": 1}
    )
    card = new_log(
        guest_member, PageState("title: Card 1", (new_row("r0", ("38", "185", "[at Split oak]")),))
    )
    Entry.objects.create(exercise=exercise, member=guest_member, card=1, log=card, words={"7": "heron"})
    read_photo(guest_member, [], card, exercise=exercise)


@pytest.mark.usefixtures("full_desk")
def test_an_empty_desk_gets_everything_back(owner: Client) -> None:
    before, data = everything(), backup(owner)
    assert all(before.values())
    wipe()
    again = client_of(the_owner())
    status, page = restored(again, data)
    assert status == 200 and "Added: 1 walker, 2 grounds, 1 set of lines, 3 logs, 1 course" in page
    assert "1 exercise, 1 photograph, 1 card of a learner" in page
    after = everything()
    for kind in before:
        assert after[kind] == before[kind], kind
    undone = undo_last(KeptLog.objects.get(title__startswith="Cinder").pk, "undo-them-2").log
    assert [row["struck"] for row in undone.rows] == [False] * 6


@pytest.mark.usefixtures("full_desk")
def test_the_files_in_a_backup_are_those_of_the_commands(owner: Client) -> None:
    with zipfile.ZipFile(io.BytesIO(backup(owner))) as archive:
        names = archive.namelist()
        assert archive.read("walkers/001-ines-rowe.trials.csv") == bundled("pace_trials.csv")
        (sheet,) = [archive.read(name) for name in names if name.endswith("-sheet.csv")]
        assert read_walker(archive.read("walkers/001-ines-rowe.toml")).compass.azimuth_sd_deg == 3.5
    assert sheet == SEMICOLON


@pytest.mark.usefixtures("full_desk")
def test_what_is_there_is_never_written_over(owner: Client) -> None:
    data = backup(owner)
    log = KeptLog.objects.get(title__startswith="Cinder")
    keep_change(log.pk, "change-new", {"kind": "heading", "heading": "title: Newer"})
    KeptLog.objects.get(title="Card 1").delete()
    before = everything()
    _, page = restored(owner, data)
    assert "1 log, 1 photo" in page and "stand: 1 walker, 2 grounds, 1 set of lines, 2 logs" in page
    log.refresh_from_db()
    assert log.title == "Newer" and KeptLog.objects.get(title="Card 1").rows[0]["azimuth"] == "38"
    assert [kind for kind, held in everything().items() if held != before[kind]] == ["logs", "photographs"]
    before = everything()
    assert "Nothing was added" in restored(owner, data)[1]
    assert everything() == before


@pytest.mark.usefixtures("full_desk")
def test_a_guest_gets_only_their_own(guest: Client, guest_member: Member) -> None:
    data = backup(guest)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert [name[:8] for name in archive.namelist()[:-1]] == ["logs/000", "photogra", "photogra"]
        text = archive.read("manifest.json").decode()
    assert "Cinder" not in text and "Ines" not in text and str(the_owner().pk) not in text
    assert "Thursday" not in text and "heron" not in text
    guest_member.logs.all().delete()
    assert "Added: 1 log, 1 photograph." in restored(guest, data)[1]
    assert guest_member.logs.get().title == "Card 1"


@pytest.mark.usefixtures("full_desk")
def test_a_guest_who_holds_the_owners_backup_gets_copies_and_touches_nothing(
    owner: Client, guest: Client, guest_member: Member
) -> None:
    data, before = backup(owner), everything()
    status, page = restored(guest, data)
    assert status == 200 and "Added: 1 walker, 1 ground, 2 logs." in page
    assert "The ground Fen was left out: only the owner of the desk brings one in." in page
    after = everything()
    assert after["members"] == before["members"] and after["exercises"] == before["exercises"]
    for kind in ("walkers", "grounds", "logs"):
        assert all(record in after[kind] for record in before[kind])
    assert "Nothing was added" in restored(guest, data)[1]
    assert guest_member.walkers.get().past.count() == 1


@pytest.mark.usefixtures("full_desk")
def test_a_guest_restores_no_more_logs_than_a_guest_keeps(
    owner: Client, guest: Client, guest_member: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pacewright.desk.books.restoring.MOST_GUEST_LOGS", 2)
    status, page = restored(guest, backup(owner))
    assert status == 200 and "Added: 1 walker, 1 ground, 1 log." in page
    assert page.count(" guest of this desk keeps at most 2 logs") == 1
    assert guest_member.logs.count() == 2 and keeping.MOST_GUEST_LOGS == 200


@pytest.mark.usefixtures("full_desk")
def test_the_land_of_the_demo_is_there_once(owner: Client) -> None:
    data = backup(owner)
    wipe()
    member = the_owner()
    example_log(member)
    _, page = restored(client_of(member), data)
    assert "Here already, and left as they stand: 1 ground." in page
    assert Ground.objects.filter(is_demo=True).count() == 1
    assert all(
        log.ground == Ground.objects.get(is_demo=True)
        for log in KeptLog.objects.filter(title__startswith="Cinder")
    )
    assert example_log(member).ground is not None


def _put(kind: str, **values: Any) -> Callable[[dict[str, Any]], None]:
    return lambda manifest: manifest[kind][0].update(values)


def _rows(*rows: Any) -> Callable[[dict[str, Any]], None]:
    return _put("logs", rows=list(rows))


ROW = {"id": "r0", "azimuth": "", "count": "", "notes": "", "struck": False}
HOSTILE: list[tuple[Any, str, str]] = [
    (_rows({**ROW, "id": "<script>"}), "logs", "has no identity"),
    (_rows({"id": "r0"}), "logs", "KeptLog (rows)"),
    (_put("logs", rows={"id": "r0"}), "logs", "KeptLog (rows)"),
    (_rows({**ROW, "azimuth": 3}), "logs", "KeptLog (rows)"),
    (_rows({**ROW, "notes": "x" * 2001}), "logs", " cell of row 1 holds more than 2000"),
    (_rows(ROW, ROW), "logs", "KeptLog (rows)"),
    (_put("logs", heading="x" * 10_001), "logs", " heading is at most 10000"),
    (_put("logs", title="x" * 201), "logs", "KeptLog (title)"),
    (_put("logs", revision=-1), "logs", "KeptLog (revision)"),
    (_put("logs", made_at="yesterday"), "logs", "KeptLog (made_at)"),
    (_put("logs", made_at="2026-13-45T00:00:00+00:00"), "logs", "KeptLog (made_at)"),
    (_put("logs", id="../../etc/passwd"), "logs", "KeptLog (id)"),
    (_put("logs", id=None), "logs", "KeptLog (id)"),
    (_put("logs", came_as="manifest.json"), "logs", "KeptLog (came_as)"),
    (_put("logs", came_as="../../secret"), "logs", "KeptLog (came_as)"),
    (_put("logs", start_sd_m=True), "logs", "KeptLog (start_sd_m)"),
    (_put("walkers", toml="[compass]\nazimuth_sd_deg = -1\n"), "walkers", "-1 is not a scatter of azimuths"),
    (_put("edits", change={"kind": "drop"}), "edits", "not a change that a page knows"),
    (_put("edits", inverse="x"), "edits", "Edit (inverse)"),
    (_put("edits", key="change-two"), "edits", "it contradicts another record"),
    (_put("exercises", course_id=str(uuid.uuid4())), "exercises", "Exercise (course_id)"),
    (_put("entries", card="first"), "entries", "Entry (card)"),
    (_put("members", role=7), "members", "Member (role)"),
    (lambda manifest: manifest.update(groups={}), "groups", "they are no list"),
    (lambda manifest: manifest["members"].append(3), "", "Member"),
    (lambda manifest: manifest["logs"].append(manifest["logs"][0]), "", "it stands in the backup twice"),
]
FOLLOW = {"logs": {"edits", "walker_pasts"}, "walkers": {"walker_pasts", "logs"}, "exercises": {"entries"}}
"""Kinds whose records are parts of a record of another kind, or name one."""


@pytest.mark.usefixtures("full_desk")
@pytest.mark.parametrize(("change", "kind", "says"), HOSTILE, ids=[says for *_, says in HOSTILE])
def test_a_record_that_cannot_be_kept_is_skipped_and_named_and_the_rest_comes_back(
    owner: Client, change: Any, kind: str, says: str
) -> None:
    before, data = everything(), changed(backup(owner), change)
    wipe()
    status, page = restored(client_of(the_owner()), data)
    assert status == 200 and says in page and "Skipped. " in page
    after = everything()
    lost = {one: len(before[one]) - len(after[one]) for one in before if len(before[one]) > len(after[one])}
    if kind in ("", "members"):
        assert lost == {}
    else:
        assert lost.pop(kind) == 1
        assert set(lost) <= FOLLOW.get(kind, set())


@pytest.mark.usefixtures("full_desk")
def test_names_of_an_older_backup_are_cleaned_and_any_time_with_a_zone_is_taken(owner: Client) -> None:
    def change(manifest: dict[str, Any]) -> None:
        manifest["walkers"][0]["name"] = "In\0es\u202e"
        manifest["logs"][0]["made_at"] = "1970-01-01T00:00:09+00:00"
        manifest["logs"][1]["made_at"] = "0001-01-01T00:00:00+14:00"
        manifest["logs"][2]["made_at"] = "9999-12-31T23:59:59-12:00"

    data = changed(backup(owner), change)
    wipe()
    again = client_of(the_owner())
    status, page = restored(again, data)
    assert (
        status == 200
        and "Added: 1 walker, 2 grounds, 1 set of lines, 3 logs" in page
        and "Skipped" not in page
    )
    assert KeptWalker.objects.get().name == "Ines"
    assert sorted(log.made_at.year for log in KeptLog.objects.all()) == [1, 1970, 9999]
    assert again.get("/").status_code == again.get("/books").status_code == 200
    assert backup(again)


@pytest.mark.usefixtures("full_desk")
def test_what_was_made_at_any_time_and_under_any_name_comes_back(owner: Client, owner_member: Member) -> None:
    KeptLog.objects.update(made_at="1970-01-01T00:00:09+00:00", changed_at="1970-01-01T00:00:09+00:00")
    new_guest("Tam\0sin\u202e\x07")
    new_walker(owner_member, 'name = "Ine\\u0000s\\u202e Vale"\n[compass]\nazimuth_sd_deg = 2.5\n')
    before, data = everything(), backup(owner)
    wipe()
    assert "Skipped" not in restored(client_of(the_owner()), data)[1]
    after = everything()
    for kind in before:
        assert after[kind] == before[kind], kind
    assert {"Ines Rowe", "Ines Vale"} == {walker.name for walker in KeptWalker.objects.all()}


def test_a_hundred_and_eighty_logs_of_blank_lines_come_back(
    owner: Client, owner_member: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pacewright.desk.books.backing_up.MOST_LOG_BYTES", 32_300_000)
    came_as = b"azimuth,count,notes\n305,240,\n" + b"\n" * 20_000
    for _ in range(18):
        page = PageState("", (new_row("r0", ("305", "240", "")),))
        new_log(owner_member, page, came_as=came_as)
    said = owner.get("/books/backup/file")
    assert "This backup does not hold" in said.content.decode()
    assert "The files that 4 logs came in as" in said.content.decode()
    data = owner.get("/books/backup/file?as_it_is=1").content
    wipe()
    page = restored(client_of(the_owner()), data)[1]
    assert "Added: 18 logs." in page and "Not in this backup: The files that 4 logs came in as" in page
    assert (
        sorted(len(bytes(log.came_as or b"")) for log in KeptLog.objects.all())
        == [0] * 4 + [len(came_as)] * 14
    )
    assert all(log.rows[0]["azimuth"] == "305" for log in KeptLog.objects.all())


@pytest.mark.usefixtures("full_desk")
def test_a_backup_that_is_made_is_read_back_and_says_what_would_not_return(owner: Client) -> None:
    with connection.cursor() as cursor:
        cursor.execute("UPDATE desk_keptwalker SET toml = %s", ["[compass]\nazimuth_sd_deg = -1\n"])
    said = owner.get("/books/backup/file")
    page = said.content.decode()
    assert said["Content-Type"].startswith("text/html") and "This would not come back from it" in page
    assert "The walker Ines Rowe: -1 is not a scatter of azimuths in degrees." in page
    data = owner.get("/books/backup/file?as_it_is=1").content
    wipe()
    assert "Skipped. The walker Ines Rowe: -1 is not" in restored(client_of(the_owner()), data)[1]
    assert KeptLog.objects.count() == 3


@pytest.mark.usefixtures("full_desk")
def test_steps_of_undo_that_have_no_room_are_left_out_and_that_is_said(
    owner: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    size = sum(len(json.dumps(record_of(one))) for model in KINDS.values() for one in model.objects.all())
    # What a record takes beside its text is the own affair of the backup: the room is felt for.
    for beside in range(0, 200_000, 1_000):
        monkeypatch.setattr("pacewright.desk.books.backing_up.MOST_MANIFEST_BYTES", size + beside)
        said = owner.get("/books/backup/file")
        if said.status_code == 200:
            break
    assert "The steps that undo would take back" in said.content.decode()
    data = owner.get("/books/backup/file?as_it_is=1").content
    wipe()
    page = restored(client_of(the_owner()), data)[1]
    assert "Not in this backup: The steps that undo would take back" in page and "3 logs" in page


@pytest.mark.parametrize("data", [b"PK", b"305,240,"])
def test_what_is_no_backup_is_refused_with_a_sentence(owner: Client, data: bytes) -> None:
    status, page = restored(owner, data)
    assert status == 422 and "is no backup, or it is damaged" in page


@pytest.mark.usefixtures("full_desk")
def test_a_ground_that_is_no_terrain_is_told_of_and_the_rest_comes_back(owner: Client) -> None:
    data = backup(owner)
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            new.writestr(name, b"no terrain" if name.startswith("grounds/") else old.read(name))
    wipe()
    for path in (Path(settings.DATA) / "ground").glob("*.tif"):
        path.unlink()
    _, page = restored(client_of(the_owner()), out.getvalue())
    assert (
        "The ground Fen was not taken" in page and "Added: 1 walker, 1 ground, 1 set of lines, 3 logs" in page
    )
    assert KeptLog.objects.get(title="Sheet").ground is None
