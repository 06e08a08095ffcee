"""How each person reads: kept per person, followed on pages, sheets, and files that people read."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pymupdf
import pytest
from django.test import Client

from pacewright.desk.models import KeptLog, Member
from pacewright.desk.serving.habits import CHOICES, Habits, habits_of
from support.page_words import words_of

MakeLog = Callable[..., KeptLog]
HEADING = "title: Crossing\ndate: 2026-05-14\nazimuth: magnetic degrees\ncount: paces\nstart: Gate"
COMMA = {"decimals": "comma", "dates": "dmy", "paper": "a5"}
ASKED = "/ask/sun?asked=1&place=47 8.5&date=2026-05-14&zone=UTC&time=12:00"


@pytest.fixture
def log(owner_member: Member, make_log: MakeLog) -> KeptLog:
    return make_log(
        owner_member, [("305", "240.5"), ("38", "185", "[at Split oak] 2.5 m wide")], heading=HEADING
    )


def test_they_are_kept_for_one_person_alone(owner: Client, guest: Client, guest_member: Member) -> None:
    assert "Kept, for all your devices." in words_of(owner.post("/settings", COMMA, follow=True))
    assert 'value="comma" selected' in owner.get("/settings").content.decode()
    assert 'value="point" selected' in guest.get("/settings").content.decode()
    guest_member.refresh_from_db()
    assert habits_of(guest_member.habits) == Habits()


def test_what_is_no_choice_is_the_usual(owner: Client, owner_member: Member) -> None:
    owner.post("/settings", dict.fromkeys(CHOICES, "x" * 300))
    owner_member.refresh_from_db()
    assert habits_of(owner_member.habits) == Habits()
    assert habits_of({"dates": 3, "paper": None, "more": "x"}) == Habits()


@pytest.mark.parametrize(
    ("habits", "written"),
    [
        (Habits(), "2026-05-14: 234.5°, 1.5 km, ±2.0; at 10.0."),
        (Habits(decimals="comma"), "2026-05-14: 234,5°, 1,5 km, ±2,0; at 10,0."),
        (Habits(dates="dmy"), "14.05.2026: 234.5°, 1.5 km, ±2.0; at 10.0."),
        (Habits(decimals="comma", dates="dmy"), "14.05.2026: 234,5°, 1,5 km, ±2,0; at 10,0."),
        (Habits(decimals="comma", dates="mdy"), "05/14/2026: 234,5°, 1,5 km, ±2,0; at 10,0."),
    ],
)
def test_a_sentence_is_written_as_its_reader_writes(habits: Habits, written: str) -> None:
    assert habits.text("2026-05-14: 234.5 deg, 1.5 km, +-2.0; at 10.0.") == written


def test_addresses_versions_and_places_on_the_earth_stay_as_they_are() -> None:
    for text in ("127.0.0.1, version 1.2.3", "At 37.4521 -119.2984"):
        assert Habits(decimals="comma").text(text) == text


def test_pages_follow_them(owner: Client) -> None:
    assert "sun stands on azimuth 190.6°" in words_of(owner.get(ASKED)) or "°" in words_of(owner.get(ASKED))
    plain = words_of(owner.get(ASKED))
    owner.post("/settings", COMMA)
    said = words_of(owner.get(ASKED))
    assert "2026-05-14, clock" in plain
    assert "14.05.2026, clock" in said
    decimals = re.findall(r"(\d+\.\d)°", plain)
    assert decimals
    assert all(f"{one.replace('.', ',')}°" in said for one in decimals)


def test_sheets_follow_them_and_the_log_on_its_pages_stays_to_the_letter(owner: Client, log: KeptLog) -> None:
    def text_of(kind: str) -> tuple[str, int]:
        data = owner.get(f"/logs/{log.pk}/sheets/{kind}").content
        with pymupdf.open(stream=data, filetype="pdf") as pages:
            return "\n".join(page.get_text() for page in pages), round(pages[0].rect.width)

    before, _ = text_of("leg-card")
    owner.post("/settings", COMMA)
    after, wide = text_of("leg-card")
    # ISO 216: A5 is 148 mm wide, 420 points.
    assert wide == 420
    assert "240.5" in before
    assert "240,5" in after
    assert "240.5" not in after
    written, _ = text_of("log")
    assert "240.5" in written
    assert "2.5 m wide" in written


def test_a_table_of_stations_is_read_by_a_spreadsheet_of_the_same_habit(owner: Client, log: KeptLog) -> None:
    plain = owner.get(f"/logs/{log.pk}/files/stations").content.decode()
    owner.post("/settings", COMMA)
    said = owner.get(f"/logs/{log.pk}/files/stations").content.decode()
    assert [line.split(";") for line in said.splitlines()] == [
        [cell.replace(".", ",") for cell in line.split(",")] for line in plain.splitlines()
    ]
    # What other programs read stays as it is.
    assert "240.5" in owner.get(f"/logs/{log.pk}/files/log").content.decode()


def test_a_picture_and_a_figure_follow_them(owner: Client, owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(
        owner_member,
        [("305", "240.5"), ("38", "185", "[at Stile 2.5]")],
        heading=HEADING.replace("Crossing", "Tarn"),
    )

    def texts(path: str) -> str:
        return " ".join(re.findall(r"<(?:text|desc)[^>]*>([^<]*)", owner.get(path).content.decode()))

    for path in (f"/logs/{log.pk}/files/svg", f"/logs/{log.pk}/figure"):
        assert "Stile 2.5" in texts(path) and " deg" not in texts(path)
    owner.post("/settings", COMMA)
    for path in (f"/logs/{log.pk}/files/svg", f"/logs/{log.pk}/figure"):
        assert "Stile 2,5" in texts(path) and "Stile 2.5" not in texts(path)


def test_a_new_log_is_in_ones_own_units(owner: Client) -> None:
    owner.post("/settings", {"azimuth_unit": "mils", "count_unit": "steps"})
    owner.post("/logs/new", {"what": "empty"})
    heading = KeptLog.objects.get().heading
    assert "azimuth: magnetic mils\ncount: steps" in heading


def test_what_is_quoted_is_never_markup(owner: Client, owner_member: Member, make_log: MakeLog) -> None:
    nasty = make_log(owner_member, [("<b>pacewright check", "10")])
    page = owner.get(f"/logs/{nasty.pk}").content.decode()
    assert "<b>" not in page
    assert "&lt;b&gt;" in page


def test_colours_and_letters_stand_on_every_page(owner: Client) -> None:
    owner.post("/settings", {"colours": "night", "letters": "largest"})
    for path in ("/", "/books", "/ask", "/settings"):
        head = owner.get(path).content.decode()[:400]
        assert 'data-colours="night"' in head
        assert 'data-letters="largest"' in head


def contrast(one: Any, other: Any) -> float:
    """The contrast of two colours: WCAG 2.2, relative luminance and success criterion 1.4.3."""

    def light(colour: Any) -> float:
        parts = [value / 255 for value in colour]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((light(one), light(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_night_colours_are_red_and_read_well() -> None:
    from pathlib import Path

    import pacewright.desk

    css = (Path(pacewright.desk.__file__).parent / "static/desk/desk.css").read_text(encoding="utf-8")
    block = re.search(r'\[data-colours="night"\]\[data-colours\] \{(.*?)\}', css, re.DOTALL)
    assert block is not None
    colours = {
        name: tuple(int(value[k : k + 2], 16) for k in (0, 2, 4))
        for name, value in re.findall(r"--([\w-]+): #([0-9a-f]{6})", block[1])
    }
    for name in ("ink", "faint", "accent", "good"):
        red, green, blue = colours[name]
        assert red > 2 * max(green, blue)
        assert all(contrast(colours[name], colours[ground]) >= 4.5 for ground in ("paper", "sheet", "tint"))
