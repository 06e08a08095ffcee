"""A long set is laid out in parts and joined: the same pages, tags and outline as in one go."""

from __future__ import annotations

import io
from concurrent.futures import ThreadPoolExecutor

import pikepdf
import pytest

from pacewright.sheets import in_parts
from pacewright.sheets.blocks import Column, heading, picture, table, text
from pacewright.sheets.paper import PAPERS, sheet
from pacewright.sheets.typesetting import print_sheets, typeset
from support.made_sheets import INES, made_log
from support.pdf_pages import opened, tags, words

A4 = PAPERS["a4"]
SQUARE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">'
    '<title>A square</title><rect x="2" y="2" width="16" height="16" fill="none" stroke="#000"/></svg>'
)


def sheets(count=6):
    columns = [Column("leg"), Column("count", align="right")]
    return [
        sheet(
            f"Sheet {k}",
            [heading("Legs"), table(columns, [[str(i), str(k * i)] for i in range(60)]), picture(SQUARE)],
        )
        for k in range(count)
    ]


@pytest.fixture
def in_small_parts(monkeypatch):
    monkeypatch.setattr(in_parts, "WHOLE", 0)
    monkeypatch.setattr(in_parts, "PART", 1)


def told(pdf):
    document = opened(pdf)
    catalog = document.xref_object(document.pdf_catalog())
    claims = [held in " ".join(catalog.split()) for held in ("/Lang (en)", "/Marked true")]
    return [page.get_text() for page in document], document.get_toc(), tags(pdf), claims


def test_parts_hold_the_pages_outline_and_tags_of_the_whole(monkeypatch):
    made = sheets()
    whole = print_sheets(made, A4, printed_on="2026-05-14")
    monkeypatch.setattr(in_parts, "WHOLE", 0)
    monkeypatch.setattr(in_parts, "PART", 1)
    assert len(in_parts.parts_of(made)) == len(made)
    joined = print_sheets(made, A4, printed_on="2026-05-14")
    assert joined.pages == whole.pages == len(opened(joined.pdf))
    assert told(joined.pdf) == told(whole.pdf)
    assert opened(joined.pdf).metadata["title"] == "Sheet 0"
    assert "<pdfuaid:part>1</pdfuaid:part>" in opened(joined.pdf).get_xml_metadata()


@pytest.mark.usefixtures("in_small_parts")
def test_every_tag_leads_to_its_page_and_every_cell_to_its_own_headings():
    """ISO 32000-1, 14.7.4.4: a page is found by its key in the parent tree; 14.8.5.7: cells name heads."""
    pdf = pikepdf.open(io.BytesIO(print_sheets(sheets(), A4).pdf))
    tree = pdf.Root.StructTreeRoot
    parents = list(tree.ParentTree.Nums)
    assert [int(key) for key in parents[::2]] == list(range(len(pdf.pages))) and len(pdf.pages) > 6
    for page, key, elements in zip(pdf.pages, parents[::2], parents[1::2], strict=True):
        assert page.StructParents == key
        assert {one.Pg.objgen for one in elements if "/Pg" in one} == {page.objgen}
    names = list(tree.IDTree.Names)
    keys = [bytes(one) for one in names[::2]]
    assert keys == sorted(set(keys))
    page_of = {bytes(one.ID): one for one in names[1::2]}
    assert set(page_of) == set(keys)
    cells = [
        (cell, name)
        for cell in pdf.objects
        if isinstance(cell, pikepdf.Dictionary) and cell.get("/S") == "/TD"
        for told in cell.get("/A", ())
        for name in told.get("/Headers", ())
    ]
    assert len(cells) == 6 * 60 * 2
    # The head of a cell stands in the table that the cell stands in: cell, row, body, table; head, row, head.
    assert all(cell.P.P.P.objgen == page_of[bytes(name)].P.P.P.objgen for cell, name in cells)


@pytest.mark.usefixtures("in_small_parts")
def test_the_same_long_set_gives_the_same_bytes():
    assert print_sheets(sheets(), A4).pdf == print_sheets(sheets(), A4).pdf


@pytest.mark.usefixtures("in_small_parts")
def test_letters_without_a_font_are_told_of_the_sheet_that_has_them():
    made = [
        sheet("One", [text("plain")]),
        sheet("Two", [text("\U0001f9ed")]),
        sheet("Three", [text("plain")]),
    ]
    found = print_sheets(made, A4).by_number
    assert len(found) == 3 and found[0] == found[2] == ()


def test_a_short_set_and_a_single_long_sheet_stay_whole():
    long = sheet("Long", [table([Column("a")], [[str(i)] for i in range(60_000)])])
    assert len(in_parts.parts_of(sheets(2))) == 1
    assert [len(part) for part in in_parts.parts_of([long, *sheets(2)])] == [1, 2]


def test_two_who_print_at_once_both_get_their_sheets():
    from pacewright.files.known_places import open_estimate
    from pacewright.sheets.leg_cards import leg_card

    cards = [leg_card(open_estimate(made_log(40), INES), A4) for _ in range(4)]
    alone = typeset(cards[:1], A4)
    with ThreadPoolExecutor(4) as together:
        made = list(together.map(lambda one: typeset([one], A4), cards))
    assert made == [alone] * 4 and "Leg card" in words(alone)
