"""The SVG writer writes well-formed SVG whatever it is given."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.drawing import svg
from pacewright.drawing.render import svg_to_png
from pacewright.exceptions import ValueComplaint

SVG = "{http://www.w3.org/2000/svg}"


def page(*pieces, title="A page", description=""):
    return ElementTree.fromstring(svg.drawing(100, 50, pieces, title=title, description=description))


@given(st.text())
def test_any_text_gives_well_formed_svg_and_keeps_its_printing_letters(content):
    # XML 1.0 (W3C Recommendation, fifth edition 2008), section 2.2: the characters a document may hold.
    legal = [
        c
        for c in content
        if c in "\t\n\r" or " " <= c <= "\ud7ff" or "\ue000" <= c <= "\ufffd" or c >= "\U00010000"
    ]
    written = page(svg.text(5, 5, content, 4), title=content).find(f".//{SVG}text").text or ""
    breaks = "\t\n\r\u0085\u2028\u2029"
    assert [c for c in written if c not in " \ufffd"] == [c for c in legal if c not in breaks + " \ufffd"]


@given(st.text())
def test_an_attribute_cannot_be_broken_out_of(content):
    group = page(svg.group([], class_=content)).find(f"{SVG}g/{SVG}g")
    assert list(group.attrib) == ["class"]


def test_what_xml_cannot_hold_is_shown_as_a_replacement_character():
    assert svg.escape("a\x00b\x0bc\ud800") == "a\ufffdb\ufffdc\ufffd"


def test_one_user_unit_is_one_millimetre():
    root = page()
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("100mm", "50mm", "0 0 100 50")


def test_a_drawing_has_a_title_and_a_description_for_those_who_hear_it():
    root = page(title="Fen & Gate", description="Six legs")
    # SVG 1.1 (W3C Recommendation 2011), section 5.4: the title is the first child of its element.
    assert root[0].tag == f"{SVG}title" and root[0].text == "Fen & Gate"
    assert root.findtext(f"{SVG}desc") == "Six legs"
    assert root.get("role") == "img"


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_a_number_that_is_not_finite_is_refused(value):
    with pytest.raises(ValueComplaint, match="cannot be drawn"):
        svg.line(0, 0, value, 1)


@given(st.floats(-1e9, 1e9))
def test_a_written_number_is_right_to_half_a_hundredth(value):
    assert float(svg.number(value)) == pytest.approx(value, abs=0.005 + 1e-7)
    assert "e" not in svg.number(value)


def test_every_shape_is_an_svg_element_with_its_numbers():
    root = page(
        svg.line(1, 2, 3, 4, stroke_width=0.5),
        svg.polyline([(0, 0), (1.5, 2)]),
        svg.polygon([(0, 0), (1, 0), (1, 1)]),
        svg.circle(5, 6, 7),
        svg.rect(1, 2, 3, 4, rx=0.5),
        svg.path([("M", (0, 0)), ("L", (1, 1)), ("Z", ())]),
    )
    line, polyline, polygon, circle, rect, path = root.find(f"{SVG}g")
    assert line.attrib == {"x1": "1", "y1": "2", "x2": "3", "y2": "4", "stroke-width": "0.5"}
    assert polyline.attrib == {"points": "0,0 1.5,2", "fill": "none"}
    assert polygon.get("points") == "0,0 1,0 1,1"
    assert (circle.get("cx"), circle.get("cy"), circle.get("r")) == ("5", "6", "7")
    assert rect.get("width") == "3"
    assert path.get("d") == "M0 0L1 1Z"


def test_no_drawing_has_an_id_that_could_clash_on_a_page():
    assert not any("id" in element.attrib for element in page(svg.text(1, 1, "x", 4), svg.group([])).iter())


@given(st.text(max_size=40), st.text(max_size=40))
def test_longer_text_is_never_narrower(first, second):
    assert svg.text_width_mm(first + second, 4) >= svg.text_width_mm(first, 4)


def test_wrapped_text_keeps_every_word_and_fits():
    told = "At Heron stile, give or take 46 paces along and 33 across, and a Pneumonoultramicroscopic bog"
    lines = svg.wrap_text(told, 4.6, 50)
    assert "".join(lines).replace(" ", "") == told.replace(" ", "")
    assert all(svg.text_width_mm(line, 4.6) <= 50 for line in lines)


def test_what_is_cut_to_a_rectangle_is_seen_inside_it_only():
    wide = svg.rect(0, 0, 30, 30, fill="#000")
    cut = svg.drawing(30, 30, [svg.cut_to(10, 10, 20, 20, [wide])], title="Cut")
    small = svg.drawing(30, 30, [svg.rect(10, 10, 10, 10, fill="#000")], title="Cut")
    assert svg_to_png(cut, 254) == svg_to_png(small, 254)
