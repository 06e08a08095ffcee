"""A log beside its track, learning from several logs, two walkers compared, and what bearings fix."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from pacewright.desk.books.importing import take_in
from pacewright.desk.models import KeptLog, KeptWalker, Member
from pacewright.desk.walkers.keeping import go_back, new_walker
from support.command import run
from support.made_tracks import on_the_map, recorded, walk_once
from support.page_words import same_form, words_of

WALKER = 'name = "Ines Rowe"\n[pace]\nper_100_m = 60.0\n'
SIGHTED = [("0", "900"), ("45", "", "[see Fire tower]"), ("90", "700"), ("312", "", "[see Fire tower]")]


@pytest.fixture
def ines(owner_member: Member) -> KeptWalker:
    return new_walker(owner_member, WALKER)


@pytest.fixture
def walks(owner_member: Member, ines: KeptWalker) -> list[tuple[KeptLog, str, bytes]]:
    """Two logs of one walker, their texts, and the tracks of the same walks."""
    found = []
    for seed in (12, 13):
        rng, walked, text = walk_once(seed, "loop", 10)
        place_m, _ = recorded(rng, walked.places_m[0], 5.0, 60.0)
        points = np.stack(on_the_map(place_m), axis=1)
        body = "".join(f'<trkpt lat="{lat:.7f}" lon="{lon:.7f}"/>' for lat, lon in points)
        log = take_in(owner_member, text.encode())
        KeptLog.objects.filter(pk=log.pk).update(walker=ines)
        log.refresh_from_db()
        found.append((log, text, f"<gpx><trk><trkseg>{body}</trkseg></trk></gpx>".encode()))
    return found


def offered(response: Any) -> str:
    found = re.search(r'name="offered" value="([^"]+)"', response.content.decode())
    assert found is not None
    return html.unescape(found[1])


def test_a_log_beside_its_track_says_what_the_command_says_and_is_learnt_from_once(
    owner: Client, ines: KeptWalker, walks: list[Any], tmp_path: Any
) -> None:
    log, text, track = walks[0]
    for name, data in (("log.csv", text.encode()), ("track.gpx", track), ("ines.toml", WALKER.encode())):
        (tmp_path / name).write_bytes(data)
    out = tmp_path / "after.toml"
    files = [tmp_path / "log.csv", "--truth", tmp_path / "track.gpx", "--walker", tmp_path / "ines.toml"]
    said = run("adjust", *files, "--learn", "--out", out)
    page = f"/logs/{log.pk}/track"
    response = owner.post(page, {"file": SimpleUploadedFile("walk.gpx", track)})
    told = words_of(response)
    assert "Beside walk.gpx" in told
    for begins in ("Beside the track", "Counts were", "Pace count: 60.0", "Compass bias: "):
        line = next(one for one in said.out.splitlines() if one.startswith(begins))
        assert same_form(line) in same_form(told)
    owner.post(f"/walkers/{ines.pk}/learn/keep", {"offered": offered(response)})
    ines.refresh_from_db()
    assert ines.toml == out.read_text(encoding="utf-8")
    again = words_of(owner.post(page, {"file": SimpleUploadedFile("walk.gpx", track)}))
    assert "has learnt from this log already" in again


@pytest.mark.parametrize("data", [b"", b"azimuth,count\n", b"<!DOCTYPE x><gpx/>"])
def test_what_is_no_track_is_refused(owner: Client, walks: list[Any], data: bytes) -> None:
    response = owner.post(f"/logs/{walks[0][0].pk}/track", {"file": SimpleUploadedFile("walk.gpx", data)})
    assert response.status_code == 422


def test_several_logs_are_learnt_from_at_once_as_the_command_learns(
    owner: Client, owner_member: Member, ines: KeptWalker, make_log: Callable[..., KeptLog], tmp_path: Any
) -> None:
    files = []
    for k, rows in enumerate((SQUARE, OTHER)):
        heading = (
            f"title: Square {k}\nwalker: Ines Rowe\nazimuth: magnetic degrees\ncount: paces\nstart: Gate"
        )
        log = make_log(owner_member, rows, heading=heading)
        KeptLog.objects.filter(pk=log.pk).update(walker=ines)
        lines = [f"# {line}" for line in heading.splitlines()] + ["azimuth,count,notes"]
        files.append(tmp_path / f"Square {k}")
        files[-1].write_text("\n".join([*lines, *(",".join(row) for row in rows)]) + "\n", encoding="utf-8")
    (tmp_path / "ines.toml").write_text(WALKER, encoding="utf-8")
    out = tmp_path / "after.toml"
    said = run("adjust", *files, "--learn", "--walker", tmp_path / "ines.toml", "--out", out)
    assert said.err == ""
    logs = list(KeptLog.objects.filter(walker=ines).order_by("made_at"))
    page = f"/walkers/{ines.pk}/learn"
    assert all(f'value="{log.pk}"' in owner.get(page).content.decode() for log in logs)
    response = owner.get(page, {"log": [str(log.pk) for log in logs]})
    assert "Learning, for Ines Rowe:" in words_of(response)
    before = ines.toml
    kept = words_of(owner.post(f"{page}/keep", {"offered": offered(response)}, follow=True))
    assert "Written into the figures of Ines Rowe" in kept
    ines.refresh_from_db()
    assert ines.toml == out.read_text(encoding="utf-8") != before
    assert owner.get(page).content.decode().count("learnt from already") == 2
    # A state gone back to holds no more of them.
    go_back(ines.pk, ines.past.get().pk)
    assert "learnt from already" not in owner.get(page).content.decode()


SQUARE = [("0", "500", ""), ("90", "510", ""), ("180", "505", ""), ("270", "500", "[at Gate]")]
OTHER = [("10", "400", ""), ("100", "390", ""), ("190", "405", ""), ("281", "400", "[at Gate]")]


def test_an_offer_is_taken_only_by_its_walker_as_he_stood(
    owner: Client, owner_member: Member, ines: KeptWalker, walks: list[Any]
) -> None:
    log, _, track = walks[0]
    response = owner.post(f"/logs/{log.pk}/track", {"file": SimpleUploadedFile("walk.gpx", track)})
    other = new_walker(owner_member, WALKER.replace("Ines", "Tam"))
    held = offered(response)
    for walker, sent in ((other, held), (ines, held[:-2] + "xx"), (ines, "")):
        told = words_of(owner.post(f"/walkers/{walker.pk}/learn/keep", {"offered": sent}, follow=True))
        assert "The walker's figures were changed since this was shown" in told
    KeptWalker.objects.filter(pk=ines.pk).update(toml=WALKER.replace("60.0", "61.0"))
    owner.post(f"/walkers/{ines.pk}/learn/keep", {"offered": held})
    ines.refresh_from_db()
    assert "61.0" in ines.toml


def test_two_walkers_are_compared_and_chance_is_told_from_more(owner: Client, owner_member: Member) -> None:
    one = new_walker(owner_member, WALKER)
    near = new_walker(owner_member, WALKER.replace("Ines Rowe", "Tam Vale").replace("60.0", "60.5"))
    far = new_walker(owner_member, WALKER.replace("Ines Rowe", "Bo Reed").replace("60.0", "72.0"))
    said = words_of(owner.get(f"/walkers/{one.pk}/compare", {"with": str(near.pk)}))
    assert "Ines Rowe takes 60 paces to 100 m, Tam Vale 60.5: no more than chance lies between" in said
    said = words_of(owner.get(f"/walkers/{one.pk}/compare", {"with": str(far.pk)}))
    # 600 paces of one who takes 72 to 100 m reach 833 m of 1000.
    assert "would end 167 metres too short on 1000 m" in said


def test_the_walker_of_another_is_not_compared(owner: Client, ines: KeptWalker, guest_member: Member) -> None:
    theirs = new_walker(guest_member, WALKER.replace("Ines Rowe", "Tamsin Vale"))
    said = words_of(owner.get(f"/walkers/{ines.pk}/compare", {"with": str(theirs.pk)}))
    assert "Tamsin Vale" not in said
    assert owner.get(f"/walkers/{theirs.pk}/learn").status_code == 404


def test_the_bearings_of_a_log_are_fixed_as_the_command_fixes_them(
    owner: Client, owner_member: Member, make_log: Callable[..., KeptLog], tmp_path: Any
) -> None:
    log = make_log(owner_member, SIGHTED)
    file = tmp_path / "log.csv"
    file.write_bytes(owner.get(f"/logs/{log.pk}/files/log").content)
    said = words_of(owner.get(f"/logs/{log.pk}/fixes"))
    lines = [line for line in run("fix", file).out.splitlines() if line.strip()]
    assert len(lines) > 2
    assert all(same_form(line) in same_form(said) for line in lines)
    none = make_log(owner_member, [("0", "900")])
    assert "This log holds no bearing" in words_of(owner.get(f"/logs/{none.pk}/fixes"))
