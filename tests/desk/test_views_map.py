"""The map page: both frames, the place on the map, the norths there, and ground that is handed in."""

from __future__ import annotations

import builtins
import html
import re
import stat
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import override_settings

from pacewright.desk.models import Ground, KeptLog, KeptWalker
from pacewright.desk.notebook import ground_keeping
from pacewright.desk.notebook.beginning import DEMO_START, example_log
from pacewright.desk.notebook.ground_keeping import demo_ground_of
from pacewright.desk.readings import views_map
from pacewright.files.bundled import DEMO_LOG, DEMO_WALKER, bundled
from support.command import run
from support.page_words import same_form

HEADING = "declination: 5 E\nazimuth: magnetic degrees\ncount: paces"
ROWS = [("0", "900"), ("90", "700", "[at Oak]"), ("180", "500")]
TIFF = bundled("demo_ground.tif")


def text_of(response: Any, status: int = 200) -> str:
    assert response.status_code == status, response.status_code
    body = response.content.decode("utf-8")
    # Signs as the command writes them.
    return same_form(html.unescape(re.sub(r"<[^>]+>", " ", body)))


@pytest.fixture
def demo_files(tmp_path: Path) -> tuple[Path, Path]:
    log, walker = tmp_path / "log.csv", tmp_path / "walker.toml"
    log.write_bytes(bundled(DEMO_LOG))
    walker.write_bytes(bundled(DEMO_WALKER))
    return log, walker


def hand_in(client: Any, log: KeptLog, data: bytes, name: str = "hills.tif") -> Any:
    file = SimpleUploadedFile(name, data, "image/tiff")
    return client.post(f"/logs/{log.pk}/map/ground/new", {"file": file, "name": "Fen side"})


def files_kept() -> list[Path]:
    return sorted((Path(settings.DATA) / "ground").glob("*"))


@pytest.mark.parametrize("options", [["--frame", "walker"], ["--frame", "map"], ["--start", DEMO_START]])
def test_the_example_says_on_the_map_page_what_the_command_says(owner, owner_member, demo_files, options):
    page = text_of(owner.get(f"/logs/{example_log(owner_member).pk}/map"))
    said = run("reckon", demo_files[0], "--walker", demo_files[1], *options)
    sentences = said.out.split("\n\n")[0].splitlines()
    assert len(sentences) > 3
    for sentence in sentences:
        assert " ".join(sentence.split()) in page
    for row in said.out.split("\n\n")[1].splitlines()[2:]:
        assert " ".join(row.split()) in page


def test_the_norths_are_said_as_the_command_says_them(owner, owner_member):
    page = text_of(owner.get(f"/logs/{example_log(owner_member).pk}/map"))
    said = run("north", *DEMO_START.split(), "--date", "2026-05-14")
    sentences = [line for line in said.out.split("\n\n")[0].splitlines() if not line.startswith("At ")]
    assert len(sentences) > 3
    for sentence in sentences:
        assert " ".join(sentence.split()) in page


def test_the_example_is_drawn_on_its_ground_at_one_click(owner):
    owner.post("/logs/new", {"what": "example"})
    log = KeptLog.objects.get()
    page = owner.get(f"/logs/{log.pk}/map").content.decode("utf-8")
    assert f'hx-get="/logs/{log.pk}/map/ground"' in page and f'href="/logs/{log.pk}/map/ground"' in page
    sheet = text_of(owner.get(f"/logs/{log.pk}/map/ground"))
    assert "EPSG:32611" in sheet and "Heron post" in sheet
    assert "An invented walk on real terrain" in sheet


def test_a_log_of_a_walker_without_a_pace_count_has_no_figure_in_metres(owner, owner_member, make_log):
    said = text_of(owner.get(f"/logs/{make_log(owner_member, ROWS).pk}/map"))
    assert "The walker's frame" in said
    told = (
        "There is no figure in metres: there is no pace count to turn paces into metres. Choose a walker with"
    )
    assert told in " ".join(said.split())


def placed(owner_member: Any, make_log: Any) -> KeptLog:
    log: KeptLog = make_log(
        owner_member, ROWS, heading="declination: 5 E\nazimuth: magnetic degrees\ncount: paces"
    )
    toml = bundled(DEMO_WALKER).decode("utf-8")
    log.walker = KeptWalker.objects.create(owner=owner_member, name="Ines Rowe", toml=toml)
    log.save()
    return log


def test_a_start_that_is_typed_puts_the_log_on_the_map(owner, owner_member, make_log):
    log = placed(owner_member, make_log)
    assert "Type where it starts" in text_of(owner.get(f"/logs/{log.pk}/map"))
    sent = owner.post(f"/logs/{log.pk}/map/start", {"place": "37.3586 -119.3053", "sd_m": "25"})
    assert (sent.status_code, sent.url) == (302, f"/logs/{log.pk}/map")
    said = text_of(owner.get(f"/logs/{log.pk}/map"))
    assert "On the map station 3 is at" in said and "This rests on" in said
    assert "The heading has no date" in said
    assert log.rows == KeptLog.objects.get(pk=log.pk).rows and KeptLog.objects.get(pk=log.pk).revision == 0


def test_a_start_that_bearings_tell_is_on_the_map_page_as_the_command_says_it(
    owner, owner_member, make_log, tmp_path
):
    heading = (
        "azimuth: grid degrees\ncount: metres\nstart: Camp\n"
        "known: Spire = 32N 500200 5301500 +-1 m\nknown: Mast = 32N 501200 5299700 +-1 m"
    )
    rows = [("60", "500", "[at Knoll]"), ("309.3", "", "[see Spire]"), ("186.3", "", "[see Mast]")]
    log = make_log(owner_member, rows, heading)
    page = tmp_path / "log.csv"
    written = "".join(f"# {line}\n" for line in heading.splitlines())
    page.write_text(
        written + "azimuth,count,notes\n" + "".join(",".join(row) + "\n" for row in rows), encoding="utf-8"
    )
    (said,) = [
        line for line in run("reckon", page, "--json").json["sentences"] if line.startswith("On the map")
    ]
    assert said in text_of(owner.get(f"/logs/{log.pk}/map"))


@pytest.mark.parametrize(
    ("place", "sd_m", "says"),
    [
        ("somewhere", "10", "Somewhere is "),
        ("91 200", "10", "latitude"),
        ("37.3 -119.3", "nan", "Nan is not a number"),
        ("37.3 -119.3", "0", "0 is no standard deviation"),
    ],
)
def test_a_start_that_cannot_be_read_is_kept_in_the_form_and_not_in_the_log(
    owner, owner_member, make_log, place, sd_m, says
):
    log = placed(owner_member, make_log)
    sent = owner.post(f"/logs/{log.pk}/map/start", {"place": place, "sd_m": sd_m})
    assert says in text_of(sent, 422)
    assert f'value="{place}"' in sent.content.decode("utf-8")
    assert KeptLog.objects.get(pk=log.pk).start_place == ""


def test_ground_that_is_handed_in_lies_under_our_own_name_for_the_owner_alone(owner, owner_member, make_log):
    log = placed(owner_member, make_log)
    assert hand_in(owner, log, TIFF, "../../../etc/passwd").status_code == 302
    ground = Ground.objects.get()
    (path,) = files_kept()
    assert path.name == f"{ground.pk}.tif" and path.read_bytes() == TIFF
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    owner.post(f"/logs/{log.pk}/map/start", {"place": DEMO_START, "sd_m": "10", "ground": str(ground.pk)})
    shown = text_of(owner.get(f"/logs/{log.pk}/map/ground"))
    assert "EPSG:32611" in shown, shown[150:600]
    assert "Fen side is taken off the desk" in text_of(
        owner.post(f"/grounds/{ground.pk}/throw", {"log": log.pk}, follow=True)
    )
    assert files_kept() == [] and not Ground.objects.exists()
    assert KeptLog.objects.get(pk=log.pk).ground is None


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"no raster at all", "no raster that can be read"),
        (b"<VRTDataset><SourceFilename>/etc/passwd</SourceFilename></VRTDataset>", "no raster"),
        (TIFF[: len(TIFF) // 2], "cut short"),
        (b"", "No file came"),
    ],
)
def test_what_is_no_ground_is_refused_in_a_sentence_and_not_kept(owner, owner_member, make_log, data, says):
    log = placed(owner_member, make_log)
    sent = hand_in(owner, log, data) if data else owner.post(f"/logs/{log.pk}/map/ground/new", {})
    said = text_of(sent, 422)
    assert says in said and str(settings.DATA) not in said
    assert files_kept() == [] and not Ground.objects.exists()


@pytest.mark.parametrize(("times", "wide_mm"), [(1, 88), (8, 130), (12, 190), (20, 297)])
def test_a_long_walk_is_drawn_on_the_smallest_picture_it_fits_on(
    owner, owner_member, make_log, times, wide_mm
):
    log = placed(owner_member, make_log)
    rows = [{**row, "count": str(int(row["count"]) * times)} for row in log.rows]
    ground = demo_ground_of(owner_member)
    KeptLog.objects.filter(pk=log.pk).update(
        rows=rows, start_place=DEMO_START, start_sd_m=10.0, ground=ground
    )
    shown = owner.get(f"/logs/{log.pk}/map/ground").content.decode()
    assert f'viewBox="0 0 {wide_mm} ' in shown


def test_ground_larger_than_the_limit_is_refused(owner, owner_member, make_log):
    log = placed(owner_member, make_log)
    with override_settings(MOST_FILE_BYTES=len(TIFF) - 1):
        assert hand_in(owner, log, TIFF).status_code in (413, 422)
    assert files_kept() == [] and not Ground.objects.exists()


def test_a_guest_hands_in_no_ground_and_chooses_none_of_another(guest, guest_member, owner_member, make_log):
    log = make_log(guest_member, ROWS)
    assert hand_in(guest, log, TIFF).status_code == 404
    ground = demo_ground_of(owner_member)
    sent = guest.post(f"/logs/{log.pk}/map/start", {"place": "", "sd_m": "10", "ground": str(ground.pk)})
    assert sent.status_code == 422
    assert guest.post(f"/grounds/{ground.pk}/throw").status_code == 404
    assert Ground.objects.filter(pk=ground.pk).exists()


def test_without_the_reader_of_rasters_the_page_says_what_to_install(owner, owner_member, monkeypatch):
    log = example_log(owner_member)
    found = builtins.__import__

    def refuse(name: str, *rest: Any, **more: Any) -> Any:
        if name.split(".")[0] == "rasterio":
            raise ImportError(name)
        return found(name, *rest, **more)

    ground_keeping._demo.cache_clear()
    # Here, and not by a worker, who would find it.
    monkeypatch.setattr(views_map, "GROUND_AT_ONCE", 9_000)
    monkeypatch.setattr(builtins, "__import__", refuse)
    said = text_of(owner.get(f"/logs/{log.pk}/map/ground"))
    assert (
        'Reading terrain needs rasterio, which is not installed. Install it with: pip install "pacewright'
        in said
    )
    assert "You are 392 paces from Gate" in text_of(owner.get(f"/logs/{log.pk}/map"))
