"""The page of an unknown start says what the command says of the same log on the same land."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import Any

import pacewright
from pacewright.desk.notebook.ground_keeping import demo_ground_of
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


def test_the_page_says_what_the_command_says(owner, owner_member, make_log, tmp_path):
    log, ground = make_log(owner_member, ROWS, heading=HEADING), demo_ground_of(owner_member)
    asked = {"ground": str(ground.pk), "near": NEAR[0], "within_km": NEAR[1]}
    page = text_of(owner.get(f"/logs/{log.pk}/map/unknown-start", asked))
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


def test_what_is_asked_wrongly_is_said(owner, owner_member, make_log):
    log, ground = make_log(owner_member, ROWS, heading=HEADING), demo_ground_of(owner_member)
    for more, says in (
        ({"near": "37.456 -119.308"}, "go together"),
        ({"near": "37.456 -119.308", "within_km": "far"}, "far is no distance in km"),
        ({"near": "nowhere", "within_km": "3"}, "nowhere"),
        ({"ground": "x"}, "no such ground"),
    ):
        page = text_of(owner.get(f"/logs/{log.pk}/map/unknown-start", {"ground": str(ground.pk), **more}))
        assert says in page, says
