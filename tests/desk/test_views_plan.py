"""The page that plans: the plan, ends moved and proved, sheets, bad input in one sentence."""

from __future__ import annotations

import csv
import html
import io
import json
import re
from typing import Any

import pytest

from pacewright.desk.notebook.ground_keeping import demo_ground_of
from pacewright.files.bundled import bundled
from support.command import run
from support.page_words import same_form

START, GOAL = "11S 299000 4141000", "11S 299600 4140200"


def text_of(response: Any, status: int = 200) -> str:
    assert response.status_code == status, (response.status_code, response.content[:3000])
    body = response.content.decode("utf-8")
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def handles_of(response: Any) -> list[dict[str, Any]]:
    found = re.search(r'id="plan-handles"[^>]*>(.*?)</script>', response.content.decode("utf-8"), re.S)
    assert found is not None
    return list(json.loads(found[1]))


def asked(member: Any, **more: str) -> dict[str, str]:
    return {
        "ground": str(demo_ground_of(member).pk),
        "start": START,
        "goal": GOAL,
        "date": "2026-05-14",
        **more,
    }


def test_the_land_is_shown_before_anything_is_set(owner, owner_member):
    assert "Choose the ground" in text_of(owner.get("/plan"))
    led = owner.get("/plan", {"example": "1"})
    assert led.status_code == 302
    page = owner.get(led.url)
    assert "Click where you start" in text_of(page)
    # What nobody sent stands there as it counts, and what few change stays folded.
    for name, counts in (("miss", "5"), ("steepest", "35")):
        assert re.search(rf'name="{name}" value="{counts}"', page.content.decode("utf-8"))
        emptied = owner.get("/plan", asked(owner_member, goal="", **{name: " "})).content.decode("utf-8")
        assert re.search(rf'name="{name}" value="{counts}"', emptied)
    assert re.search(r'name="zone" value="[+-]\d\d:\d\d"', page.content.decode("utf-8"))
    assert "<details><summary>More, that few change" in page.content.decode("utf-8")
    assert handles_of(page) == []
    one = owner.get("/plan", asked(owner_member, goal=""))
    assert [handle["role"] for handle in handles_of(one)] == ["start"]


@pytest.mark.slow
def test_a_plan_its_ends_moved_and_its_sheets(owner, owner_member):
    page = owner.get("/plan", asked(owner_member))
    said = text_of(page)
    assert "made walkers" in said and "Leg card" in said and "Caution: a plan is an aid" in said
    handles = handles_of(page)
    assert handles[0]["role"] == "start" and handles[-1]["role"] == "goal"
    assert (handles[-1]["east"], handles[-1]["north"]) == (299600.0, 4140200.0)
    # One leg straight to the goal, by a leg end set in between.
    ends = "299300.0,4140600.0;299600.0,4140200.0"
    moved = owner.get("/plan", asked(owner_member, ends=ends))
    assert "Proved as you set the legs" in text_of(moved)
    assert [handle["role"] for handle in handles_of(moved)] == ["start", "end", "goal"]
    pdf = owner.get("/plan/sheets", asked(owner_member, ends=ends, paper="letter"))
    assert pdf.status_code == 200 and pdf.content.startswith(b"%PDF")
    log = owner.get("/plan/log", asked(owner_member, ends=ends)).content.decode("utf-8")
    rows = list(csv.reader(io.StringIO("\n".join(one for one in log.splitlines() if one[0] != "#"))))
    assert rows[0] == ["azimuth", "count", "notes"] and len(rows) == 3


@pytest.mark.slow
def test_not_before_dark_is_said_first_and_each_station_has_its_turn_back(owner, owner_member):
    late = owner.get("/plan", asked(owner_member, leave="19:30", zone="-07:00"))
    body = late.content.decode("utf-8")
    lead = re.search(r'<p class="lead">(.*?)</p>', body, re.S)
    assert lead is not None and "Not before dark" in lead[1]
    early = text_of(owner.get("/plan", asked(owner_member, leave="08:30", zone="-07:00")))
    assert "Not before dark" not in early and "turn back by" in early
    wrong = text_of(owner.get("/plan", asked(owner_member, leave="25:30", zone="-07:00")), 422)
    assert "25:30" in wrong


@pytest.mark.slow
def test_a_plan_from_where_a_log_stands_is_said_as_the_command_says_it(
    owner, owner_member, make_log, tmp_path
):
    heading = (
        "azimuth: magnetic degrees\ncount: metres\ndate: 2026-05-14\nstart: Gate\n"
        "known: Gate = 11S 298700 4141700 +-10 m"
    )
    rows = [("150", "500"), ("165", "300")]
    kept = make_log(owner_member, rows, heading)
    page = owner.get("/plan", {**asked(owner_member, start=""), "log": str(kept.pk)})
    said = text_of(page)
    handles = handles_of(page)
    assert handles[0]["role"] == "start" and 4_140_800 < handles[0]["north"] < 4_141_100
    log, land = tmp_path / "log.csv", tmp_path / "land.tif"
    lines = [f"# {one}" for one in heading.splitlines()]
    text = [*lines, "azimuth,count,notes", *(f"{azimuth},{count}," for azimuth, count in rows)]
    log.write_text("\n".join(text) + "\n", encoding="utf-8")
    land.write_bytes(bundled("demo_ground.tif"))
    by_command = run("plan", GOAL, "--from-log", log, "--terrain", land, "--date", "2026-05-14")
    first = " ".join(by_command.out.split("\n\n")[0].splitlines()[0].split())
    assert same_form(first) in same_form(said)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"goal": "over there"}, "over there"),
        ({"goal": START}, "plan from a place to itself has no legs"),
        ({"miss": "none"}, "is no chance in a hundred"),
        ({"known": "track"}, "Write KIND: PLACE; PLACE"),
        ({"ends": "a,b"}, "The ends of the legs cannot be read"),
        ({"goal": "0 0"}, ""),
    ],
)
def test_bad_input_is_one_sentence(owner, owner_member, more, says):
    page = text_of(owner.get("/plan", asked(owner_member, **more)), 422)
    assert says in page and "Traceback" not in page, page


def test_a_ground_is_ones_own(owner, owner_member, guest, guest_member):
    page = text_of(guest.get("/plan", asked(owner_member)), 422)
    assert "not on the list" in page
