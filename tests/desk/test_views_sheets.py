"""Sheets: every PDF of the desk is, byte for byte, the one that the command prints."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from pacewright.desk.models import KeptLog, Member
from pacewright.desk.notebook.beginning import example_log
from pacewright.files.bundled import DEMO_LOG, DEMO_WALKER, bundled
from support.command import run

PLACE = ["37.45", "-119.3"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A log, its walker, its trials and its ground as files."""
    (tmp_path / "walk.csv").write_bytes(bundled(DEMO_LOG))
    (tmp_path / "ines.toml").write_bytes(bundled(DEMO_WALKER))
    (tmp_path / "trials.csv").write_bytes(bundled("pace_trials.csv"))
    (tmp_path / "ground.tif").write_bytes(bundled("demo_ground.tif"))
    return tmp_path


def printed(folder: Path, kind: str, *arguments: object) -> bytes:
    said = run("sheet", kind, *arguments, "--force", "--out", folder / "out.pdf")
    assert said.code == 0, said.err
    return (folder / "out.pdf").read_bytes()


def same(found: Any, pdf: bytes) -> None:
    assert found.status_code == 200, found.content.decode("utf-8", "replace")
    assert found["Content-Type"] == "application/pdf"
    assert found["Content-Disposition"].startswith("inline;")
    assert found.content == pdf


@pytest.mark.parametrize("paper", ["a4", "letter", "a5", "pocket", "pocket-letter"])
def test_a_blank_log_is_that_of_the_command_on_every_paper(owner: Client, folder: Path, paper: str) -> None:
    same(owner.get("/sheets/log", {"paper": paper}), printed(folder, "log", "--paper", paper))


@pytest.mark.parametrize(
    ("kind", "asked", "arguments"),
    [
        ("log", {"pages": "3"}, ["--pages", "3"]),
        ("trials", {}, []),
        ("plotting", {"scale": "10000", "unit": "mils"}, ["--scale", "10000", "--azimuth-unit", "mils"]),
        ("traverse-table", {"unit": "degrees"}, ["--azimuth-unit", "degrees"]),
        ("ranging", {}, []),
        ("north", {"place": " ".join(PLACE), "date": "2026-05-14"}, [*PLACE, "--date", "2026-05-14"]),
        (
            "sun",
            {"place": " ".join(PLACE), "date": "2026-05-14", "zone": "+02:00"},
            [*PLACE, "--date", "2026-05-14", "--zone", "+02:00"],
        ),
    ],
)
def test_a_blank_sheet_is_that_of_the_command(
    owner: Client, folder: Path, kind: str, asked: dict[str, str], arguments: list[str]
) -> None:
    same(owner.get(f"/sheets/{kind}", asked), printed(folder, kind, *arguments))


@pytest.mark.parametrize("kind", ["plotting", "ranging"])
def test_a_blank_sheet_can_be_for_a_walker(
    owner: Client, owner_member: Member, folder: Path, kind: str
) -> None:
    walker = example_log(owner_member).walker
    assert walker is not None
    pdf = printed(folder, kind, "--walker", folder / "ines.toml")
    same(owner.get(f"/sheets/{kind}", {"walker": str(walker.pk)}), pdf)


@pytest.mark.parametrize(
    ("kind", "asked", "arguments"),
    [
        ("leg-card", {"paper": "pocket"}, ["--paper", "pocket"]),
        ("way-back", {"from": "2", "to": "0"}, ["--from", "2", "--to", "0"]),
        ("way-back", {"paper": "a5"}, ["--paper", "a5"]),
        ("log", {}, []),
        ("debrief", {}, []),
        ("traverse-table", {"unit": ""}, []),
    ],
)
def test_a_sheet_of_a_log_is_that_of_the_command(
    owner: Client, owner_member: Member, folder: Path, kind: str, asked: dict[str, str], arguments: list[str]
) -> None:
    log = example_log(owner_member)
    by = [] if kind == "log" else ["--walker", folder / "ines.toml", "--start", log.start_place]
    pdf = printed(folder, kind, folder / "walk.csv", *by, *arguments)
    same(owner.get(f"/logs/{log.pk}/sheets/{kind}", asked), pdf)


@pytest.mark.parametrize("scale", ["", "25000"])
def test_the_map_of_a_log_is_that_of_the_command(
    owner: Client, owner_member: Member, folder: Path, scale: str
) -> None:
    log = example_log(owner_member)
    arguments = [folder / "walk.csv", "--walker", folder / "ines.toml", "--terrain", folder / "ground.tif"]
    arguments += ["--start", log.start_place, *(["--scale", scale] if scale else [])]
    same(owner.get(f"/logs/{log.pk}/sheets/map", {"scale": scale}), printed(folder, "map", *arguments))


def test_the_cards_of_a_walker_are_those_of_the_command(
    owner: Client, owner_member: Member, folder: Path
) -> None:
    walker = example_log(owner_member).walker
    assert walker is not None
    same(
        owner.get(f"/walkers/{walker.pk}/sheets/pace-card", {"paper": "a5"}),
        printed(folder, "pace-card", "--walker", folder / "ines.toml", "--paper", "a5"),
    )
    assert owner.get(f"/walkers/{walker.pk}/sheets/trials").status_code == 422
    walker.trials_csv = bundled("pace_trials.csv").decode()
    walker.save()
    same(owner.get(f"/walkers/{walker.pk}/sheets/trials"), printed(folder, "trials", folder / "trials.csv"))


@pytest.mark.parametrize(
    ("kind", "asked", "says"),
    [
        ("north", {"place": "nowhere", "date": "2026-05-14"}, 'value="nowhere"'),
        ("north", {"place": "", "date": "2026-05-14"}, "No place is given"),
        ("sun", {"place": "", "date": "2026-05-14", "zone": "+02:00"}, "No place is given"),
        ("sun", {"place": "37 -119", "date": "2026-05-14", "zone": ""}, "Write its offset"),
        ("sun", {"place": "37 -119", "date": "2026-05-14", "zone": "noon"}, "noon"),
        ("north", {"place": "37 -119", "date": "soon"}, "soon"),
        ("north", {"place": "37 -119", "date": "2026-05-14", "height": "inf"}, "Inf is not a height"),
        ("log", {"pages": "0"}, "0 is not a number of pages. Write a number from 1 to 50."),
        ("log", {"pages": "nan"}, "Nan is not a number of pages"),
        ("log", {"paper": "a3"}, "There is no paper called a3"),
        ("plotting", {"scale": "0"}, "0 is not the scale of a map"),
    ],
)
def test_what_is_asked_wrongly_is_said_beside_its_form_and_stays_in_it(
    owner: Client, kind: str, asked: dict[str, str], says: str
) -> None:
    found = owner.get(f"/sheets/{kind}", asked)
    page = found.content.decode()
    assert found.status_code == 422 and says in page
    form = page[page.index('role="alert"') :]
    assert form.index(f'action="/sheets/{kind}"') < form.index("</form>")


def test_a_sheet_of_a_page_that_is_not_understood_is_not_printed(owner: Client, owner_member: Member) -> None:
    log = example_log(owner_member)
    log.rows[2]["azimuth"] = "400"
    log.save()
    found = owner.get(f"/logs/{log.pk}/sheets/leg-card")
    assert found.status_code == 422 and "Row 3 is not understood" in found.content.decode()


def test_every_sheet_is_reached_from_the_page_that_shows_the_thing(
    owner: Client, owner_member: Member
) -> None:
    log = example_log(owner_member)
    assert log.walker is not None
    at = f"/logs/{log.pk}"
    assert f'href="{at}/sheets"' in owner.get(at).content.decode()
    page = owner.get(f"{at}/sheets").content.decode()
    for kind in ("leg-card", "way-back", "log", "debrief", "traverse-table", "map"):
        assert f'action="{at}/sheets/{kind}"' in page
    assert "pace-card" in owner.get(f"/walkers/{log.walker.pk}").content.decode()
    KeptLog.objects.filter(pk=log.pk).update(ground=None)
    assert f'action="{at}/sheets/map"' not in owner.get(f"{at}/sheets").content.decode()
    assert owner.get(f"{at}/sheets/map").status_code == 422


@pytest.mark.parametrize("path", ["/sheets/passwd", "/sheets/log?walker=x&kind=..", "/sheets/../secret"])
def test_a_sheet_that_is_none_is_not_found_or_is_the_plain_one(owner: Client, path: str) -> None:
    assert owner.get(path).status_code == 404


def test_the_way_of_the_pages_leads_to_all_four(owner: Client, guest: Client) -> None:
    for client in (owner, guest):
        page = client.get("/").content.decode()
        for address in ("/", "/books", "/walkers", "/sheets"):
            assert f'href="{address}"' in page
    assert 'href="/devices"' in owner.get("/").content.decode()
    assert 'href="/devices"' not in guest.get("/").content.decode()
