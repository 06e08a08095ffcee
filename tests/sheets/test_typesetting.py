"""Sheets to PDF: nothing injected, nothing lost, the same bytes, tags and fonts in it."""

from __future__ import annotations

import random
import re

import pytest

from pacewright.drawing import svg
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import (
    Column,
    beside,
    caution,
    fields,
    heading,
    keep,
    lines,
    picture,
    table,
    text,
)
from pacewright.sheets.paper import PAPER_NAMES, PAPERS, sheet
from pacewright.sheets.typesetting import print_sheets, typeset
from support.pdf_pages import inks, opened, tags, words

A4 = PAPERS["a4"]
COMMANDS = [
    '#panic("x")',
    "$ x $",
    "@ref <label>",
    "`raw` ```",
    "*b* _i_ = h",
    "// gone /* too */",
    r"\u{41} \ #let",
]


def page(*blocks, paper=A4, title="A sheet"):
    return typeset([sheet(title, blocks)], paper)


def everything(note="a note"):
    rows = [[str(i), note] for i in range(40)]
    drawn = svg.drawing(30, 20, [svg.line(0, 0, 30, 20, stroke=svg.ACCENT)], title="A stroke")
    return [
        heading("Part"),
        text(note),
        fields([[("walker", note, 2.0), ("date", "", 1.0)]]),
        table([Column("no.", mm=9), Column("notes")], rows, row_mm=4.0, heavy_every=5),
        beside([picture(drawn)], [text("beside")], 40),
        keep([caution("Careful."), lines(2)]),
    ]


@pytest.mark.parametrize("name", PAPER_NAMES)
@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_of_the_typesetter_in_a_note_is_printed_as_it_is(name, command):
    made = page(text(command), table([Column("notes")], [[command]]), caution(command), paper=PAPERS[name])
    assert words(made).replace(" ", "").count(command.replace(" ", "")) == 3


def test_a_command_in_a_title_is_printed_as_it_is():
    made = page(text("body"), title='#panic("x") $')
    assert '#panic("x") $' in words(made)
    assert opened(made).metadata["title"] == '#panic("x") $'


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_the_same_input_gives_the_same_bytes(name):
    first = page(*everything(), paper=PAPERS[name])
    page(text("something between"))
    assert page(*everything(), paper=PAPERS[name]) == first


@pytest.mark.parametrize("above", range(6, 24, 2))
def test_a_heading_on_a_card_stands_on_the_panel_of_what_follows(above):
    pocket = PAPERS["pocket"]
    for follows in (text("below " * 60), table([Column("below")], [["one"], ["two"]], row_mm=12.0)):
        made = page(text("\n".join(["line"] * above)), heading("Part"), follows, paper=pocket)
        placed = {word[4]: word for word in reversed(opened(made)[0].get_text("words"))}
        panels = [int(placed[word][0] * 25.4 / 72 // pocket.panel.width_mm) for word in ("Part", "below")]
        assert panels[0] == panels[1]


def test_no_date_is_in_the_document():
    made = page(*everything())
    assert opened(made).metadata["creationDate"] == opened(made).metadata["modDate"] == ""
    assert b"CreateDate" not in made


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_the_document_is_tagged_as_pdf_ua_asks(name):
    """ISO 14289-1: title shown, language, marked, PDF/UA identifier, alternative text for figures."""
    made = page(*everything(), paper=PAPERS[name])
    document = opened(made)
    catalog = " ".join(document.xref_object(document.pdf_catalog()).split())
    for held in ("/Lang (en)", "/Marked true", "/DisplayDocTitle true", "/StructTreeRoot"):
        assert held in catalog
    assert "<pdfuaid:part>1</pdfuaid:part>" in document.get_xml_metadata()
    found = tags(made)
    assert found["H1"] == 1 and found["H2"] == 1 and found["Figure"] == 1
    assert found["TD"] == 80 and found["TH"] >= 2
    figures = [
        held for n in range(1, document.xref_length()) if "/Figure" in (held := document.xref_object(n))
    ]
    assert any("/Alt (A stroke)" in held for held in figures)


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_every_font_is_in_the_document(name):
    made = page(*everything("Latin, ελληνικά, кириллица"), paper=PAPERS[name])
    fonts = {font[1:4] for one in opened(made) for font in one.get_fonts()}
    assert fonts and all(ending in ("ttf", "otf", "cff") and "+" in base for ending, _, base in fonts)


def test_all_is_printed_in_black():
    assert inks(page(*everything())) == {(0.0, 0.0, 0.0), (1.0, 1.0, 1.0)}


def test_a_name_from_right_to_left_leaves_the_numbers_where_they_were():
    made = page(text("From שער to المعسكر: azimuth 234 deg, 392 paces."))
    assert "azimuth 234 deg, 392 paces." in words(made)
    # The numbers stand to the right of the names, not drawn in among them.
    placed = opened(made)[0].get_text("words")
    (number,) = [word for word in placed if word[4] == "234"]
    (before,) = [word for word in placed if word[4] == "azimuth"]
    assert number[0] > before[2]


@pytest.mark.parametrize("mark", ["\u202e", "\u2067", "\u200f"])
def test_a_mark_that_turns_writing_round_turns_no_azimuth_round(mark):
    assert "azimuth 234 deg" in words(page(text(f"{mark}azimuth 234 deg")))


def test_combining_marks_stay_on_their_letters():
    assert "Ábć" in words(page(text("A\u0301bc\u0301"))).replace("A\u0301", "Á")


def test_a_letter_of_no_font_is_written_by_its_number():
    told = words(page(text("Gate \U000f0000 and \U0001343a")))
    assert "Gate ‹U+F0000› and" in told


def test_control_characters_do_not_stop_the_press():
    assert "a‹U+0000›b" in words(page(text("a\x00b")))


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_a_word_without_end_is_broken_inside_the_page(name):
    made = page(table([Column("no.", mm=9), Column("notes")], [["1", "x" * 300]]), paper=PAPERS[name])
    assert "x" * 300 in words(made).replace(" ", "")
    for one in opened(made):
        assert all(word[0] > 0 and word[2] < one.rect.width for word in one.get_text("words"))


def test_a_very_long_note_runs_over_pages_and_loses_nothing():
    note = " ".join(str(i) for i in range(5000))
    assert note in re.sub(
        r" A sheet page \d+ of \d+ (no\. notes )?", " ", words(page(table([Column("notes")], [[note]])))
    ).replace(" notes ", " ")


def test_a_text_too_long_for_a_panel_is_refused_with_what_to_do():
    with pytest.raises(ValueComplaint, match=r"too long for a panel of a pocket card\. Take larger paper"):
        page(text("word " * 2000), paper=PAPERS["pocket"])


def test_pages_are_numbered_sheet_by_sheet():
    rows = table([Column("notes")], [["x"]] * 130)
    told = words(typeset([sheet("One", [rows]), sheet("Two", [text("short")])], A4))
    assert "One page 1 of 3" in told and "One page 3 of 3" in told and "Two page 1 of 1" in told


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_a_very_long_title_is_whole_at_the_head_and_short_at_the_foot(name):
    title = " ".join(["long"] * 60)
    told = words(page(text("body"), title=title, paper=PAPERS[name]))
    assert title in told
    if not PAPERS[name].is_card:
        assert re.search(r" long l?o?n?g?\.\.\. page 1 of 1", told)


def test_a_field_grows_with_what_is_filled_in():
    value = "Gate = local 0 0 +-5 m; " * 12
    made = page(fields([[("known", value.strip(), 1.0)]]), text("below"))
    placed = {w[4]: w for w in opened(made)[0].get_text("words")}
    assert placed["below"][1] > placed["m;"][3]
    assert words(made).count("Gate = local") == 12


@pytest.mark.parametrize("seed", range(12))
def test_any_text_makes_a_sheet(seed):
    """Letters drawn from all of Unicode's first two planes, surrogates left out."""
    chance = random.Random(seed)
    ranges = ((1, 0x7F), (0x80, 0x24F), (0x300, 0x36F), (0x590, 0x6FF), (0x900, 0xD7FF), (0xE000, 0x1FFFF))
    paper = PAPERS[PAPER_NAMES[seed % len(PAPER_NAMES)]]
    # A title of sixty letters written by their numbers is longer than a panel.
    many = 24 if paper.is_card else 60
    letters = "".join(chr(chance.randint(*chance.choice(ranges))) for _ in range(many))
    made = page(text(letters), table([Column(letters[:5])], [[letters]]), paper=paper, title="T " + letters)
    assert opened(made).page_count >= 1


def test_letters_written_by_number_stay_in_their_column():
    columns = [Column("notes", mm=40), Column("count")]
    made = page(table(columns, [[chr(0xF0000) * 12, "114"]]))
    places = {w[4]: w for w in opened(made)[0].get_text("words")}
    numbered = [w for text, w in places.items() if "‹U+" in text]
    assert numbered and max(w[2] for w in numbered) < places["114"][0]


def test_letters_written_by_number_are_named_sheet_by_sheet_and_on_the_sheet():
    made = print_sheets([sheet("One", [text("Gate \U000f0000 and \x00")]), sheet("Two", [text("Gate")])], A4)
    assert made.by_number == (("\x00", "\U000f0000"), ())
    told = words(made.pdf)
    assert told.count("because no font at hand has them: U+0000, U+F0000.") == 1


def test_letters_of_a_drawing_are_named_too():
    drawn = svg.drawing(60, 20, [svg.text(5, 10, "\U000f0000 gate", 4.0)], title="Names")
    made = print_sheets([sheet("One", [picture(drawn)]), sheet("Two", [text("Gate")])], A4)
    assert made.by_number == (("\U000f0000",), ())


def test_a_sheet_of_known_letters_has_no_note():
    made = print_sheets([sheet("One", [text("Ωμέγα, кириллица, été")])], A4)
    assert made.by_number == ((),) and "no font" not in words(made.pdf)


def test_the_typesetter_itself_holds_the_document_to_pdf_ua():
    """ISO 14289-1 asks that a figure has an alternative text: without one nothing is printed."""
    drawn = picture(svg.drawing(30, 20, [svg.line(0, 0, 30, 20)], title="A stroke"))
    with pytest.raises(ValueComplaint, match="PDF/UA-1 error"):
        page({**drawn, "alt": None})
