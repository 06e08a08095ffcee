"""The ring of the day: hours where the sun stands, at any latitude."""

from __future__ import annotations

import datetime as dt
import re
from xml.etree import ElementTree

import pytest

from pacewright.drawing.sun_diagram import draw_sun_day
from pacewright.ground.sun_day import sun_day

ZONE = dt.timezone(dt.timedelta(hours=2))


def hours_on(drawing: str) -> list[str]:
    return re.findall(r">(\d\d)</text>", re.sub(r">(30|60)</text>", "", drawing, count=2))


def drawn(latitude_deg, date, declination_deg=None):
    return draw_sun_day(latitude_deg, 8.5, sun_day(latitude_deg, 8.5, date, ZONE), "+02:00", declination_deg)


def test_every_hour_of_daylight_is_on_the_ring_and_none_of_the_night():
    assert hours_on(drawn(47, dt.date(2026, 5, 14))) == [f"{h:02d}" for h in range(6, 21)]


def test_under_the_midnight_sun_all_twenty_four_hours_are_there():
    assert sorted(hours_on(drawn(75, dt.date(2026, 6, 21)))) == [f"{h:02d}" for h in range(24)]


def test_in_polar_night_the_ring_is_empty_and_the_caption_says_why():
    drawing = drawn(80, dt.date(2026, 12, 21))
    assert hours_on(drawing) == []
    assert "does not rise" in drawing


@pytest.mark.parametrize("latitude_deg", [-90, -40, 0, 23.4, 90])
@pytest.mark.parametrize("date", [dt.date(2026, 3, 20), dt.date(2026, 6, 21), dt.date(2026, 12, 21)])
def test_it_is_a_drawing_at_any_latitude(latitude_deg, date):
    root = ElementTree.fromstring(drawn(latitude_deg, date, -7.5))
    assert root.get("width") == "120mm"


def test_magnetic_north_is_drawn_where_it_is_known():
    assert ">mag</text>" in drawn(47, dt.date(2026, 5, 14), 3.5)
    assert ">mag</text>" not in drawn(47, dt.date(2026, 5, 14))


def test_for_a_page_that_says_them_beside_it_title_and_sentences_are_left_out():
    asked = (47.0, 8.5, sun_day(47.0, 8.5, dt.date(2026, 5, 14), ZONE), "+02:00")
    whole, dial = draw_sun_day(*asked), draw_sun_day(*asked, dial_only=True)
    assert hours_on(dial) == hours_on(whole)
    shown = [text for text in ElementTree.fromstring(dial).itertext() if "rises" in text]
    # They are still told to those who hear the drawing read out, and only there.
    assert len(shown) == 1
    assert "The sun at" in whole.split("<g", 1)[1] and "The sun at" not in dial.split("<g", 1)[1]
