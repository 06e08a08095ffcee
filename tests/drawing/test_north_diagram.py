"""The drawing of the three norths."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pacewright.drawing.north_diagram import PAGE_WIDTH_MM, angle_times, draw_norths
from pacewright.drawing.svg import text_width_mm
from pacewright.ground.north import NorthRelation

SVG = "{http://www.w3.org/2000/svg}"


def texts(drawing):
    return [element.text or "" for element in ElementTree.fromstring(drawing).iter(f"{SVG}text")]


def spoke_angles(drawing):
    return sorted(float(angle) for angle in re.findall(r"rotate\((-?[\d.]+) ", drawing))


def test_the_three_norths_and_their_three_angles_are_named():
    shown = texts(draw_norths(NorthRelation(10.5, 1.0, 0.3), "Cinder Fen, 2026-05-14"))
    for content in ("true", "grid", "magnetic", "declination", "convergence", "grid-magnetic angle"):
        assert content in shown
    for content in ("10.5° east", "1.0° east", "9.5° east", "Cinder Fen, 2026-05-14"):
        assert content in shown


def test_the_norths_are_drawn_where_they_lie_as_many_times_as_wide_as_is_said():
    drawing = draw_norths(NorthRelation(10.5, -1.25))
    assert spoke_angles(drawing) == [-5.0, 0.0, 42.0]
    assert any("drawn 4 times as wide" in line for line in texts(drawing))


def test_every_rule_stands_under_the_drawing():
    shown = texts(draw_norths(NorthRelation(9.0, 2.0)))
    assert shown.index("add 7.0°") == shown.index("magnetic to grid") + 1
    assert shown.index("take 7.0° away") == shown.index("grid to magnetic") + 1


def test_the_bar_of_doubt_is_there_only_where_there_is_doubt():
    assert "#8a3324" in draw_norths(NorthRelation(9.0, 2.0, 0.3))
    assert "#8a3324" not in draw_norths(NorthRelation(9.0, 2.0))


def test_notes_stand_at_the_end():
    assert texts(draw_norths(NorthRelation(9.0), notes=["Beware of iron."]))[-1] == "Beware of iron."


@settings(max_examples=40)
@given(st.floats(-180, 180), st.floats(-180, 180), st.floats(0, 40))
def test_any_norths_can_be_drawn_and_stay_on_the_page(declination, convergence, sd):
    relation = NorthRelation(declination, convergence, sd)
    drawing = draw_norths(relation)
    assert max(abs(angle) for angle in spoke_angles(drawing)) <= 45
    assert angle_times(relation) > 0
    for element in ElementTree.fromstring(drawing).iter(f"{SVG}text"):
        wide = text_width_mm(element.text or "", float(element.get("font-size", "0")))
        share = {"middle": 0.5, "end": 1.0}.get(element.get("text-anchor", "start"), 0.0)
        left = float(element.get("x", "0")) - share * wide
        assert left >= 0 and left + wide <= PAGE_WIDTH_MM


@pytest.mark.parametrize("title", ["", "Gate & <Fen>"])
def test_the_title_is_told_to_those_who_hear_the_drawing(title):
    root = ElementTree.fromstring(draw_norths(NorthRelation(9.0, 2.0), title))
    assert root.findtext(f"{SVG}title") == (f"The three norths: {title}" if title else "The three norths")
    assert root.findtext(f"{SVG}desc") == (
        "declination 9.0° east, convergence 2.0° east, grid-magnetic angle 7.0° east"
    )


@pytest.mark.parametrize(
    "relation", [NorthRelation(12.2, -1.2, 0.4), NorthRelation(-3.0, 2.5, 0.3), NorthRelation(-120.0)]
)
def test_the_dial_alone_is_lettered_for_a_narrow_panel(relation):
    """Made 57 mm wide its letters are 2 mm and more, common practice for what is read on the way."""
    drawn = ElementTree.fromstring(draw_norths(relation, dial_only=True))
    sizes = [float(element.get("font-size")) for element in drawn.iter(f"{SVG}text")]
    assert min(sizes) * 57 / PAGE_WIDTH_MM >= 2.0
    shown = [element.text for element in drawn.iter(f"{SVG}text")]
    assert "declination" in shown and "magnetic to true" not in shown and "The three norths" not in shown
    heights = [float(element.get("y")) for element in drawn.iter(f"{SVG}text")]
    assert max(heights) < float(drawn.get("height").removesuffix("mm"))
