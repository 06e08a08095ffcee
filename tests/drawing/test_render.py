"""PDF and PNG have the size of the drawing, to the millimetre."""

from __future__ import annotations

import struct

import pymupdf
import pytest

from pacewright.drawing import svg
from pacewright.drawing.render import KINDS, letters_without_font, render, svg_to_pdf, svg_to_png
from pacewright.exceptions import OutputComplaint, ValueComplaint

# ISO 32000-1:2008, section 8.3.2.3: a PDF unit is 1/72 inch; the inch is 25.4 mm.
POINTS_A_MM = 72 / 25.4


def sample(*, words="Split oak", width=180.0, height=120.0):
    pieces = [
        svg.line(20, 30, 120, 30, stroke="#000", stroke_width=0.5, stroke_linecap="butt"),
        svg.text(20, 60, words, 5, halo_mm=0.5),
    ]
    return svg.drawing(width, height, pieces, title="Sample & page")


def test_a_hundred_millimetres_in_the_drawing_are_a_hundred_in_the_pdf():
    with pymupdf.open("pdf", svg_to_pdf(sample())) as document:
        [page] = document
        assert page.rect.width == pytest.approx(180 * POINTS_A_MM, abs=0.01)
        assert page.rect.height == pytest.approx(120 * POINTS_A_MM, abs=0.01)
        [line] = [d["rect"] for d in page.get_drawings() if d["width"] and d["rect"].height < 0.1]
        assert line.width == pytest.approx(100 * POINTS_A_MM, abs=0.01)
        assert (line.x0, line.y0) == pytest.approx((20 * POINTS_A_MM, 30 * POINTS_A_MM), abs=0.01)


def test_text_in_the_pdf_can_be_read_back_and_its_font_is_embedded():
    with pymupdf.open("pdf", svg_to_pdf(sample())) as document:
        assert "Split oak" in document[0].get_text()
        assert all(font[1] != "n/a" for font in document[0].get_fonts())
        assert document.metadata["title"] == "Sample & page"


def test_text_is_as_wide_in_the_pdf_as_the_layout_thinks():
    words = "Cinder Fen, 305°"
    with pymupdf.open("pdf", svg_to_pdf(sample(words=words))) as document:
        [box] = document[0].search_for(words)
    assert box.width / POINTS_A_MM == pytest.approx(svg.text_width_mm(words, 5), abs=0.05)


@pytest.mark.parametrize("turn", [svg_to_pdf, svg_to_png])
def test_the_same_drawing_gives_the_same_bytes(turn):
    assert turn(sample()) == turn(sample())


def test_a_pdf_holds_no_date():
    assert b"CreationDate" not in svg_to_pdf(sample())


@pytest.mark.parametrize("ppi", [72, 150, 300])
def test_a_png_has_the_pixels_an_inch_that_were_asked_for(ppi):
    # Portable Network Graphics (ISO/IEC 15948:2004), section 11.2.2: IHDR holds width, then height.
    width, height = struct.unpack(">II", svg_to_png(sample(), ppi)[16:24])
    assert width == pytest.approx(180 / 25.4 * ppi, abs=1)
    assert height == pytest.approx(120 / 25.4 * ppi, abs=1)


def test_the_png_shows_the_line_black_on_white():
    shown = pymupdf.Pixmap(svg_to_png(sample(), 254))
    assert shown.pixel(700, 300)[:3] == (0, 0, 0)
    assert shown.pixel(700, 350)[:3] == (255, 255, 255)


def test_a_name_in_another_script_is_drawn_as_well():
    with pymupdf.open("pdf", svg_to_pdf(sample(words="گاوازنگ"))) as document:
        assert document[0].get_text().strip()


def test_each_known_kind_is_written():
    starts = {".svg": b"<svg", ".png": b"\x89PNG", ".pdf": b"%PDF"}
    for kind in KINDS:
        assert render(sample(), kind.upper()).startswith(starts[kind])


@pytest.mark.parametrize(("suffix", "what"), [(".jpeg", "written as '.jpeg'"), ("", "has no suffix")])
def test_an_unknown_kind_is_refused_and_the_known_ones_are_named(suffix, what):
    with pytest.raises(OutputComplaint, match=what) as complaint:
        render(sample(), suffix)
    assert complaint.value.do == "End the file name in .svg, .png or .pdf"


@pytest.mark.parametrize(
    "broken", ["", "<svg", '<svg width="100" height="20"/>', '<svg width="0mm" height="2mm"/>']
)
def test_what_is_no_drawing_in_millimetres_is_refused(broken):
    with pytest.raises(ValueComplaint, match="width and height in mm"):
        svg_to_pdf(broken)


@pytest.mark.parametrize("ppi", [0, -150, float("nan"), float("inf"), 1e6])
def test_a_resolution_that_cannot_be_drawn_is_refused(ppi):
    with pytest.raises(ValueComplaint, match="at most 2822 pixels an inch"):
        svg_to_png(sample(), ppi)


def test_letters_that_no_font_has_are_written_by_their_numbers_and_said():
    """U+2FE0 is assigned to no letter (Unicode 16, Blocks.txt), so that no font can have it."""
    drawing = sample(words="Gate \u2fe0")
    assert letters_without_font(drawing) == ("\u2fe0",)
    with pymupdf.open("pdf", svg_to_pdf(drawing)) as document:
        told = document[0].get_text()
    assert "Gate \u2039U+2FE0\u203a" in told and "no font at hand has it: U+2FE0" in told
    assert svg_to_png(drawing) != svg_to_png(sample(words="Gate "))
    assert (
        letters_without_font(
            sample(words="\u03a0\u03cd\u03bb\u03b7, \u0412\u043e\u0440\u043e\u0442\u0430, \u00c5ngstr\u00f6m")
        )
        == ()
    )
