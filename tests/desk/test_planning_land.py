"""Lines and areas that are handed in for a plan: what is read of them, whose they are, what is refused."""

from __future__ import annotations

import html
import json
import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from pacewright.desk.models import LandFeatures
from pacewright.desk.notebook.ground_keeping import demo_ground_of
from pacewright.files.plan_features import features_geojson, features_kept, read_features

TRACK = [[-119.277, 37.385], [-119.265, 37.386]]
BOG = [[-119.28, 37.38], [-119.279, 37.38], [-119.279, 37.381], [-119.28, 37.38]]
MADE = {
    "type": "FeatureCollection",
    "features": [
        {"type": "Feature", "properties": {"kind": "Track", "name": "Fen lane"},
         "geometry": {"type": "LineString", "coordinates": TRACK}},
        {"type": "Feature", "properties": {"name": "Heron post"},
         "geometry": {"type": "Point", "coordinates": [-119.27, 37.384]}},
        {"type": "Feature", "properties": {"name": "Bog"},
         "geometry": {"type": "Polygon", "coordinates": [BOG]}},
    ],
}  # fmt: skip
GPX = (
    '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
    + "".join(f'<trkpt lat="{lat}" lon="{lon}"/>' for lon, lat in TRACK)
    + "</trkseg></trk></gpx>"
)
CRS = "EPSG:32611"


def text_of(response: Any, status: int = 200) -> str:
    assert response.status_code == status, (response.status_code, response.content[:3000])
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode("utf-8"))).split())


def hand_in(client: Any, data: bytes, name: str, query: str = "") -> Any:
    return client.post(
        "/plan/features/new", {"file": SimpleUploadedFile(name, data), "name": "", "query": query}
    )


def test_what_is_kept_of_a_file_is_what_the_command_reads_of_it(tmp_path):
    path = tmp_path / "land.geojson"
    path.write_text(json.dumps(MADE), encoding="utf-8")
    direct, kept = read_features(str(path), CRS), features_kept(features_geojson(str(path)), CRS)
    assert [(one.kind, one.name, one.points_m.tolist()) for one in kept.lines] == [
        (one.kind, one.name, one.points_m.tolist()) for one in direct.lines
    ]
    assert kept.points == direct.points
    assert [(name, ring.tolist()) for name, ring in kept.barred] == [
        (name, ring.tolist()) for name, ring in direct.barred
    ]
    assert [len(one) for one in (kept.lines, kept.points, kept.barred)] == [1, 1, 1]


@pytest.mark.parametrize(
    ("data", "name"), [(json.dumps(MADE).encode(), "fen land.geojson"), (GPX.encode(), "walk.gpx")]
)
def test_a_file_handed_in_is_chosen_and_taken_off_again(owner, owner_member, data, name):
    assert "your lines and areas" not in text_of(owner.get("/plan"))
    led = hand_in(owner, data, name, f"ground={demo_ground_of(owner_member).pk}")
    kept = LandFeatures.objects.get()
    assert led.status_code == 302 and str(kept.pk) in led.url and "ground=" in led.url
    assert kept.name == name
    page = owner.get(led.url)
    assert f'value="{kept.pk}" selected' in page.content.decode("utf-8")
    away = owner.post(f"/plan/features/{kept.pk}/away", {"query": f"features={kept.pk}"})
    assert away.status_code == 302 and str(kept.pk) not in away.url
    assert not LandFeatures.objects.exists()


@pytest.mark.parametrize(
    ("data", "name", "says"),
    [
        (b"not json", "a.geojson", "is no GeoJSON"),
        (b"{}", "a.geojson", "no lines, points or areas"),
        (b"x", "a.txt", "is no file of lines and areas"),
        (b"x", "a.gpkg", "cannot be read as shapes"),
    ],
)
def test_what_cannot_be_read_is_refused_in_one_sentence(owner, data, name, says):
    page = text_of(hand_in(owner, data, name), 422)
    assert says in page and "/tmp" not in page
    assert not LandFeatures.objects.exists()


def test_lines_are_ones_own(owner, owner_member, guest, guest_member):
    hand_in(owner, json.dumps(MADE).encode(), "land.geojson")
    kept = LandFeatures.objects.get()
    assert hand_in(guest, json.dumps(MADE).encode(), "land.geojson").status_code == 404
    assert guest.post(f"/plan/features/{kept.pk}/away").status_code == 404
    asked = {"ground": str(demo_ground_of(guest_member).pk), "features": str(kept.pk)}
    assert "your lines and areas" not in text_of(guest.get("/plan", asked))
    assert LandFeatures.objects.count() == 1


def test_what_a_file_needs_is_said_before_one_is_chosen(owner, monkeypatch):
    monkeypatch.setattr("pacewright.desk.planning.views.terrain_line", lambda: "pip install it")
    page = text_of(owner.get("/plan"))
    assert "GeoPackage needs the part of the tool that is named above" in page and "pip install it" in page


ROWS = [("10", "400"), ("95", "300"), ("182", "250"), ("260", "350"), ("300", "200")]


def test_a_walk_stands_beside_its_plan_as_the_command_says_it(owner, owner_member, make_log, tmp_path):
    from support.command import run
    from support.page_words import same_form

    heading = "azimuth: magnetic degrees\ncount: paces\nstart: Gate"
    walked = [*ROWS[:2], ("182", "350"), *ROWS[3:]]
    walk, plan = (make_log(owner_member, rows, heading) for rows in (walked, ROWS))
    page = owner.get("/plan/kept", {"walk": str(walk.pk), "plan": str(plan.pk)})
    said = text_of(page)
    assert "1 leg differs from the plan beyond scatter" in said and "counted 100 more than planned" in said
    paths = []
    for name, rows in (("walk", walked), ("plan", ROWS)):
        path = tmp_path / f"{name}.csv"
        lines = [f"# {one}" for one in heading.splitlines()]
        text = [*lines, "azimuth,count,notes", *(f"{azimuth},{count}," for azimuth, count in rows)]
        path.write_text("\n".join(text) + "\n", encoding="utf-8")
        paths.append(path)
    by_command = same_form(" ".join(run("check", paths[0], "--plan", paths[1]).out.split()))
    answered = page.content.decode("utf-8").split('class="answered"')[1].split('class="table')[0]
    sentences = re.findall(r"<p[^>]*>(.*?)</p>", answered)
    assert len(sentences) >= 3
    for sentence in sentences:
        assert same_form(html.unescape(re.sub(r"<[^>]+>", "", sentence))) in by_command
    pdf = owner.get("/plan/kept/sheet", {"walk": str(walk.pk), "plan": str(plan.pk)})
    assert pdf.status_code == 200 and pdf.content.startswith(b"%PDF")


def test_a_plan_that_does_not_pair_is_one_sentence(owner, owner_member, make_log):
    walk, plan = make_log(owner_member, ROWS), make_log(owner_member, ROWS[:2])
    page = text_of(owner.get("/plan/kept", {"walk": str(walk.pk), "plan": str(plan.pk)}), 422)
    assert "Traceback" not in page and "leg" in page
    assert "Choose a log" in text_of(owner.get("/plan/kept", {"walk": ""}), 422)
