"""The small drawings of ranging: one document a method, every label inside and apart from the others."""

from __future__ import annotations

import re
from itertools import combinations
from xml.etree import ElementTree

import pytest

from pacewright.core.ranging.range_result import Range
from pacewright.core.ranging.ranging import range_by_base_line, range_by_right_angle, range_by_stakes
from pacewright.core.ranging.ranging_standing import range_by_mils, range_by_sound, range_by_thumb
from pacewright.drawing.ranging_diagrams import PAGE_WIDTH_MM, draw_ranging
from pacewright.drawing.render import svg_to_png
from pacewright.drawing.svg import text_width_mm

SVG = "{http://www.w3.org/2000/svg}"
EVERY = [
    *(range_by_right_angle(40, 10, azimuth) for azimuth in (20, 40, 55, 78, 90, 325, 350)),
    *(range_by_base_line(75, 90, 38, b, goal="width") for b in (16, 338, 280)),
    *(range_by_base_line(75, 90, 38, b) for b in (30, 338)),
    range_by_base_line(75, 90, 160, 220, goal="b"),
    range_by_base_line(75.5, 90, 3, 285),
    *(range_by_stakes(*walks) for walks in ((24, 16, 12), (60, 30, 41), (20, 200, 50), (100, 99, 12.5))),
    range_by_mils(10, 10),
    range_by_mils(1000, 900, unit="pace"),
    range_by_thumb(50, 9.4),
    range_by_sound(2.4, 15),
    range_by_sound(12.25, -40),
]


def texts(svg: str) -> list[tuple[str, float, float, float, float]]:
    """Every text of a drawing with the box it fills: left, top, right, bottom."""
    found = []
    for text in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        x, y, size = (float(text.get(k, "0")) for k in ("x", "y", "font-size"))
        width = text_width_mm(text.text or "", size)
        left = x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor", "start")]
        found.append((text.text or "", left, y - 0.75 * size, left + width, y + 0.2 * size))
    return found


def name(found: Range) -> str:
    return f"{found.method} {found.distance:.0f}"


@pytest.mark.parametrize("found", EVERY, ids=name)
def test_every_label_stands_on_the_page_and_apart_from_the_others(found):
    boxes = texts(draw_ranging(found))
    assert all(left >= 0 and right <= PAGE_WIDTH_MM for _, left, _, right, _ in boxes)
    for (one, l1, t1, r1, b1), (other, l2, t2, r2, b2) in combinations(boxes, 2):
        assert r1 <= l2 or r2 <= l1 or b1 <= t2 or b2 <= t1, f"{one!r} runs into {other!r}"


@pytest.mark.parametrize("found", EVERY, ids=name)
def test_the_drawing_says_the_distance_its_region_and_what_was_measured(found):
    written = " ".join(text for text, *_ in texts(draw_ranging(found)))
    assert re.search(r"\d \(\d[\d.]*-\d", written)
    first = {"mils": "size", "thumb": "jump", "sound": "delay_s", "stakes": "to_stake"}.get(
        found.method, "base"
    )
    assert re.search(rf"\b{found.facts[first]:.0f}", written) or f"{found.facts[first]:g}" in written


def test_only_the_sketches_are_said_not_to_be_to_scale():
    for found in EVERY:
        said = any(text == "not to scale" for text, *_ in texts(draw_ranging(found)))
        assert said == (found.method in ("mils", "thumb", "sound"))


def test_the_same_range_is_the_same_drawing():
    assert draw_ranging(range_by_sound(2.4, 15)) == draw_ranging(range_by_sound(2.4, 15))


def test_a_drawing_becomes_a_picture():
    assert svg_to_png(draw_ranging(EVERY[0]), ppi=40).startswith(b"\x89PNG")


@pytest.mark.parametrize("found", EVERY)
def test_the_sketch_alone_has_the_labels_of_the_whole_drawing(found):
    whole, alone = (ElementTree.fromstring(draw_ranging(found, sketch_only=only)) for only in (False, True))
    labels = [element.text for element in alone.iter(f"{SVG}text")]
    of_whole = [element.text for element in whole.iter(f"{SVG}text")]
    assert labels and set(labels) < set(of_whole)
    assert float(alone.get("height").removesuffix("mm")) < float(whole.get("height").removesuffix("mm"))
