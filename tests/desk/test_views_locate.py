"""The page of an unknown start says what the command says of the same log on the same land."""

from __future__ import annotations

import html
import re
import time
from pathlib import Path
from typing import Any

import pytest
from django.test import override_settings

import pacewright
from pacewright.desk.notebook.ground_keeping import demo_ground_of, throw_ground
from pacewright.desk.readings import views_locate
from pacewright.desk.readings.search_area import area_file, area_map_of, corners_of
from pacewright.desk.workers.progress import Progress
from pacewright.files import layer_keeping
from pacewright.files.elevation import demo_ground
from pacewright.files.prior_area import AreaAsked, starts_within
from pacewright.ground.locate import land_layers, search
from pacewright.wording.locating import LOCATE_CAUTION
from support.command import run

GROUND = Path(pacewright.__file__).parent / "data/demo_ground.tif"
HEADING = "declination: 13 E\nazimuth: magnetic degrees\ncount: metres"
ROWS = [
    ("", "", "[faces NE] [alt 2100 m]"),
    ("20", "400", "[down] [alt 2060 m]"),
    ("110", "350", "[level] [faces N]"),
    ("200", "300", "[up] [alt 2090 m]"),
]
NEAR = ("37.456 -119.308", "1")


def text_of(response: Any, status: int = 200) -> str:
    assert response.status_code == status, response.status_code
    body = response.content.decode("utf-8")
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def answered(visitor: Any, address: str, asked: dict[str, str]) -> str:
    """What a page says once its search is done, however busy the machine."""
    end = time.monotonic() + 400.0
    while LOCATE_CAUTION not in (page := text_of(visitor.get(address, asked))):
        assert time.monotonic() < end, page
    return page


def test_the_page_says_what_the_command_says(owner, owner_member, make_log, tmp_path):
    log, ground = make_log(owner_member, ROWS, heading=HEADING), demo_ground_of(owner_member)
    asked = {"ground": str(ground.pk), "near": NEAR[0], "within_km": NEAR[1]}
    page = answered(owner, f"/logs/{log.pk}/map/unknown-start", asked)
    file = tmp_path / "log.csv"
    heading = "".join(f"# {line}\n" for line in HEADING.splitlines())
    rows = "".join(",".join(row) + "\n" for row in ROWS)
    file.write_text(f"{heading}azimuth,count,notes\n{rows}", encoding="utf-8")
    said = run("locate", file, "--terrain", GROUND, "--near", NEAR[0], "--within-km", NEAR[1])
    first, *more = said.out.split("\n\n")[0].splitlines()
    assert said.code in (0, 1) and len(more) > 3
    sentences = re.split(r"(?<=\.) (?=[A-Z])", " ".join([first, *more]))
    for sentence in sentences[:4]:
        # The page writes the sign of a degree.
        assert sentence.replace(" deg", "°") in page.replace(" deg", "°"), page[150:900]


def test_the_map_page_leads_there_and_grounds_are_ones_own(
    owner, owner_member, guest, guest_member, make_log
):
    log = make_log(owner_member, ROWS, heading=HEADING)
    assert f"/logs/{log.pk}/map/unknown-start" in owner.get(f"/logs/{log.pk}/map").content.decode("utf-8")
    theirs = make_log(guest_member, ROWS, heading=HEADING)
    other = demo_ground_of(owner_member)
    page = guest.get(f"/logs/{theirs.pk}/map/unknown-start", {"ground": str(other.pk)})
    assert page.status_code == 404 or "no such ground" in text_of(page)
    assert guest.get(f"/logs/{log.pk}/map/unknown-start").status_code == 404


def test_without_any_ground_the_page_says_where_it_is_handed_in(
    owner, owner_member, guest, guest_member, make_log
):
    log = make_log(owner_member, [("305", "240")])
    page = owner.get(f"/logs/{log.pk}/map/unknown-start").content.decode()
    assert "No ground has been handed in yet." in page
    assert f'href="/logs/{log.pk}/map#hand-in"' in page
    assert 'id="hand-in"' in owner.get(f"/logs/{log.pk}/map").content.decode()
    log = make_log(guest_member, [("305", "240")])
    page = guest.get(f"/logs/{log.pk}/map/unknown-start").content.decode()
    assert "Only the owner of this desk hands ground in." in page
    assert "#hand-in" not in page


def test_what_is_asked_wrongly_is_said(owner, owner_member, make_log):
    log, ground = make_log(owner_member, ROWS, heading=HEADING), demo_ground_of(owner_member)
    for more, says in (
        ({"near": "37.456 -119.308"}, "go together"),
        ({"near": "37.456 -119.308", "within_km": "far"}, "Far is not a number"),
        ({"near": "nowhere", "within_km": "3"}, "Nowhere is "),
        ({"ground": "x"}, "no such ground"),
    ):
        page = text_of(owner.get(f"/logs/{log.pk}/map/unknown-start", {"ground": str(ground.pk), **more}))
        assert says in page, says


def test_corners_bound_where_it_began_and_wrong_ones_are_said(owner, owner_member, make_log):
    log, ground = make_log(owner_member, ROWS, heading=HEADING), demo_ground_of(owner_member)
    address, asked = f"/logs/{log.pk}/map/unknown-start", {"ground": str(ground.pk)}
    for area, says in (
        ("37.45 -119.31; 37.46 -119.31", "3 to 60 corners, and this one has 2"),
        ("37.45 -119.31; nowhere; 37.46 -119.31", "orner 2: "),
    ):
        assert says in text_of(owner.get(address, {**asked, "area": area}))
    with area_file(corners_of("37.45 -119.31; 37.46 -119.31; 37.46 -119.30")) as inside:
        starts = starts_within(AreaAsked(inside=inside), demo_ground())
    # Half of 0.01 degrees each way, 1110 m by 884 m there; half a cell more along its 3413 m of sides.
    assert starts.sum() * 900.0 == pytest.approx(0.5 * 1110.0 * 884.0 + 3413.0 * 15.0, rel=0.04)
    assert corners_of("") == ()


def test_the_map_to_draw_on_is_the_ground_from_edge_to_edge(owner_member):
    drawn = area_map_of(demo_ground_of(owner_member))
    corners = drawn["area_corners"].split(";")
    north, west = (float(one) for one in corners[0].split(","))
    south, east = (float(one) for one in corners[3].split(","))
    # 467 cells of 30 m each way; a degree of latitude is 111 km.
    assert (north - south) * 111.0 == pytest.approx(14.0, abs=0.4) and west < east
    assert 'viewBox="0 0 180 180"' in drawn["area_map"]


@pytest.fixture
def data(tmp_path):
    """A data folder of the test's own."""
    with override_settings(DATA=tmp_path):
        yield tmp_path


def test_a_page_that_waits_is_sent_anew_only_when_more_is_done(owner, owner_member, make_log, monkeypatch):
    monkeypatch.setattr(views_locate, "still_waits", lambda *_: True)
    monkeypatch.setattr(views_locate, "answer_to", lambda *_: None)
    monkeypatch.setattr(views_locate, "how_far", lambda _: Progress(0.43, 1.0, 0.0, 0.0, 23.4))
    log, ground = make_log(owner_member, ROWS, heading=HEADING), demo_ground_of(owner_member)
    address, asked = f"/logs/{log.pk}/map/unknown-start", {"ground": str(ground.pk)}
    assert owner.get(address, {**asked, "shown": "40"}).status_code == 204
    page = owner.get(address, {**asked, "shown": "35"})
    assert "40 % is done; the rest takes about 30 s." in text_of(page)
    assert "shown=40" in page.content.decode("utf-8")


def test_a_search_that_the_end_of_the_desk_stopped_goes_on_from_there(
    owner_member, make_log, data, monkeypatch
):
    monkeypatch.setattr(views_locate, "BLOCK_CELLS", 250)
    kept = make_log(owner_member, ROWS, heading=HEADING)
    land, searched = views_locate._Land(demo_ground_of(owner_member)), []
    monkeypatch.setattr(search, "search_block", noting(search.search_block, searched))

    def ended(_: float) -> None:
        if len(searched) == 3:
            raise SystemExit

    with monkeypatch.context() as dies:
        dies.setattr(views_locate, "tell_share", ended)
        with pytest.raises(SystemExit):
            views_locate.located_page(kept, land, None, (), "key")
    assert len(searched) == 3
    gone_on = views_locate.located_page(kept, land, None, (), "key")
    # A survey ruled one of four blocks out, two were whole.
    assert len(searched) == 3 + 1
    assert gone_on["said"][0]


def test_the_layers_of_a_ground_are_kept_beside_it_until_it_is_thrown_away(
    owner_member, make_log, data, monkeypatch
):
    monkeypatch.setattr(layer_keeping.keeper_beside, "__defaults__", (0,))
    kept, ground = make_log(owner_member, ROWS, heading=HEADING), demo_ground_of(owner_member)
    made: list[Any] = []
    monkeypatch.setattr(land_layers, "build_layers", noting(land_layers.build_layers, made))
    circle = (*(float(one) for one in NEAR[0].split()), 1000.0)
    first = views_locate.located_page(kept, views_locate._Land(ground), circle, (), "one")
    assert made and list((data / "ground" / f"{ground.pk}.tif.layers").glob("*.npz"))
    made.clear()
    again = views_locate.located_page(kept, views_locate._Land(ground), circle, (), "two")
    assert not made and again["said"] == first["said"]
    throw_ground(ground)
    assert not (data / "ground" / f"{ground.pk}.tif.layers").exists()


def noting(work: Any, into: list[Any]) -> Any:
    def noted(*given: Any, **more: Any) -> Any:
        into.append(given)
        return work(*given, **more)

    return noted
