"""Pages of questions without a log: each says what the command says, and complains beside its fields."""

from __future__ import annotations

import html
import re
from typing import Any

import pytest
from django.test import Client

from pacewright.desk.ask.views import PAGES
from support.command import run
from support.page_words import same_form, words_of

RIGHT_ANGLE = {"base": "40", "azimuth_from_start_deg": "308.75", "azimuth_from_end_deg": "278.75"}
SUN = {"place": "47 8.5", "date": "2026-05-14", "time": "17:00", "zone": "+02:00"}
GATE, CAMP = "37.4521 -119.2984", "37.4702 -119.2911"
TOWER, BARN = "Fire tower=local 120 300=45.5", "Barn=local 300 0=130"
SAME_AS_COMMAND: list[tuple[str, dict[str, str], list[object]]] = [
    (
        "right-angle",
        RIGHT_ANGLE,
        [*("range", "right-angle", "--base", 40), *("--first-azimuth", 308.75, "--second-azimuth", 278.75)],
    ),
    (
        "base-line",
        {
            **{"base": "75", "base_azimuth_deg": "0", "azimuth_from_a_deg": "60"},
            **{"azimuth_from_b_deg": "120", "goal": "width", "unit": "metre"},
        },
        [
            *("range", "base-line", "--base", 75, "--base-azimuth", 0, "--from-a", 60, "--from-b", 120),
            *("--goal", "width", "--unit", "metres"),
        ],
    ),
    (
        "stakes",
        {"to_stake": "60", "stake_to_turn": "30", "inland": "20", "azimuth_deg": "90"},
        [
            *("range", "stakes", "--to-stake", 60, "--stake-to-turn", 30, "--inland", 20),
            *("--azimuth", 90),
        ],
    ),
    ("mils", {"size": "10", "angle_mil": "10"}, ["range", "mils", "--size", 10, "--angle-mil", 10]),
    ("thumb", {"jump": "25", "unit": "metre"}, ["range", "thumb", "--jump", 25]),
    (
        "sound",
        {"delay_s": "2.4", "air_temp_c": "15"},
        ["range", "sound", "--delay-s", 2.4, "--air-temp-c", 15],
    ),
    ("sun", SUN, ["sun", 47, 8.5, "--date", "2026-05-14", "--time", "17:00", "--zone", "+02:00"]),
    (
        "sun",
        {**SUN, "compass": "73", "declination": "3.5 E"},
        [
            *("sun", 47, 8.5, "--date", "2026-05-14", "--time", "17:00", "--zone", "+02:00"),
            *("--compass", 73, "--declination", "3.5 E"),
        ],
    ),
    (
        "leg",
        {"places": f"{GATE}\n{CAMP}", "date": "2026-05-14"},
        ["leg", GATE, CAMP, "--date", "2026-05-14"],
    ),
    ("length", {"length": "350", "unit": "metres"}, ["leg", "--metres", 350]),
    ("own-place", {"bearings": f"{TOWER}\n{BARN}"}, ["fix", "--bearing", TOWER, "--bearing", BARN]),
    (
        "seen-place",
        {"bearings": "local 0 0=38\nlocal 75 0=338"},
        ["fix", "--taken-at", "local 0 0=38", "--taken-at", "local 75 0=338"],
    ),
    (
        "norths",
        {"place": GATE, "date": "2026-05-14", "azimuth": "100"},
        ["north", *GATE.split(), "--date", "2026-05-14", "--azimuth", 100],
    ),
]


def shown(client: Client, name: str, asked: dict[str, str]) -> Any:
    return client.get(f"/ask/{name}", {"asked": "1", **asked})


@pytest.mark.parametrize(("name", "asked", "arguments"), SAME_AS_COMMAND)
def test_a_page_says_what_the_command_says(
    owner: Client, name: str, asked: dict[str, str], arguments: list[object]
) -> None:
    response = shown(owner, name, asked)
    page = same_form(words_of(response))
    said = run(*arguments)
    assert said.err == ""
    sentences = [line for line in said.out.split("\n\n")[0].splitlines() if line]
    assert len(sentences) > 1
    for sentence in sentences:
        assert same_form(sentence) in page


def test_the_change_by_45_degrees_makes_the_walk_the_width(owner: Client) -> None:
    # The 45-degree method of the US Army engineer field manuals (FM 5-34, from memory).
    asked = {"base": "100", "azimuth_from_start_deg": "10", "azimuth_from_end_deg": "325"}
    page = words_of(shown(owner, "right-angle", asked))
    assert "Width about 100 paces" in page
    assert "<svg" in shown(owner, "right-angle", asked).content.decode()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_a_page_opens_and_asks_for_what_is_missing(owner: Client, page: Any) -> None:
    first = owner.get(f"/ask/{page.name}")
    assert first.status_code == 200
    assert "Fill this in" not in words_of(first)
    empty = shown(owner, page.name, {"date": "2026-05-14", "zone": "UTC"})
    assert empty.status_code == 422
    assert "Fill this in." in empty.content.decode()


@pytest.mark.parametrize(
    ("name", "asked", "field", "says"),
    [
        ("right-angle", {**RIGHT_ANGLE, "base": "forty"}, "base", "Forty is not a number"),
        ("right-angle", {**RIGHT_ANGLE, "unit": "ells"}, "unit", "not on the list"),
        ("sun", {**SUN, "place": "nowhere"}, "place", "Nowhere is not a place"),
        ("sun", {**SUN, "zone": "Nowhere/Fen"}, "zone", "no zone that this machine knows"),
        ("sun", {**SUN, "time": "25:00"}, "time", "25:00 is not a time"),
        ("sun", {**SUN, "time": "", "compass": "73"}, "time", "Give the time of day"),
        ("sun", {**SUN, "date": "2026-02-30"}, "date", "is not a date"),
        ("own-place", {"bearings": "Tower"}, "bearings", "Line 1: Tower is not a bearing"),
        ("leg", {"places": "Gate =\nlocal 0 0"}, "places", "Line 1 names Gate and no place"),
    ],
)
def test_what_is_wrong_is_said_beside_its_field(
    owner: Client, name: str, asked: dict[str, str], field: str, says: str
) -> None:
    response = shown(owner, name, asked)
    assert response.status_code == 422
    told = re.search(rf'id="id_{field}_error">([^<]*)<', response.content.decode())
    assert told is not None
    assert says in html.unescape(told[1])


def test_what_belongs_to_no_field_is_said_above_the_form(owner: Client) -> None:
    response = shown(owner, "leg", {"places": "local 0 0"})
    assert response.status_code == 422
    assert "There is no place to go to" in response.content.decode()


def test_a_log_of_another_is_not_offered_and_not_read(
    owner: Client, guest_member: Any, make_log: Any
) -> None:
    theirs = make_log(guest_member, [("0", "100")])
    assert str(theirs.pk) not in owner.get("/ask/sun").content.decode()
    told = shown(owner, "sun", {**SUN, "log": str(theirs.pk)})
    assert told.status_code == 422


def test_daylight_is_set_against_the_way_back_of_a_log(
    owner: Client, owner_member: Any, make_log: Any
) -> None:
    heading = "title: Crossing\nazimuth: magnetic degrees\ncount: metres\nstart: Gate"
    log = make_log(owner_member, [("0", "4000"), ("90", "3000")], heading=heading)
    said = words_of(shown(owner, "sun", {**SUN, "log": str(log.pk)}))
    # Naismith's rule: an hour for three miles, and 5 km lie between (1892, from memory).
    assert "straight 5000 metres" in said
    assert "Daylight is" in said


def test_nobody_unknown_is_answered(anonymous: Client) -> None:
    assert shown(anonymous, "mils", {"size": "10", "angle_mil": "10"}).status_code == 403
