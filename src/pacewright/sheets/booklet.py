"""A field booklet: all that a walker needs without the tool, imposed to be folded and stapled."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

import typst

from pacewright.core.compass import AzimuthUnit
from pacewright.core.pace.walker import Walker
from pacewright.files.bundled import DEMO_LOG, bundled
from pacewright.files.known_places import open_estimate
from pacewright.files.log_csv import read_log
from pacewright.ground.norths_at import NorthsAt
from pacewright.sheets.blocks import caution, contents, text
from pacewright.sheets.field_cards import angle_card, cord_card, lost_card, obstacle_card
from pacewright.sheets.log_page import blank_log
from pacewright.sheets.north_card import north_card
from pacewright.sheets.pace_card import pace_card
from pacewright.sheets.paper import PAPERS, Paper, Sheet, sheet
from pacewright.sheets.ranging_card import ranging_card
from pacewright.sheets.traverse_sheet import traverse_sheet
from pacewright.sheets.trial_sheet import trial_sheet
from pacewright.sheets.typesetting import Printed, print_sheets
from pacewright.wording.sheets import PAPER_CAUTION

HALF: Final = PAPERS["a5"]
TITLE: Final = "Field booklet"
FOLD: Final = "Print on both sides, turned over on the short edge; fold in the middle and staple."
_NOT_TO_SCALE: Final = "Nothing in it is to scale: rulers and protractor are a sheet of their own."
_IMPOSED: Final = """\
#set document(title: sys.inputs.title, date: none)
#set page(width: {width}mm, height: {height}mm, margin: 0mm)
#let face(n) = if n == 0 {{ [] }} else {{
  align(center + horizon, image("half.pdf", page: n, width: {half}mm, alt: "page " + str(n)))
}}
#for (i, pair) in json(bytes(sys.inputs.pairs)).enumerate() {{
  if i > 0 {{ pagebreak() }}
  grid(columns: (50%, 50%), rows: (100%,), ..pair.map(face))
}}
"""


def booklet_sheets(
    walker: Walker, norths: NorthsAt | None = None, log_pages: int = 8, unit: AzimuthUnit = "degrees"
) -> list[Sheet]:
    """The sheets of the booklet in order, its contents first.

    Parameters
    ----------
    walker
        Whose pace card it holds; without a pace count a page for pace trials takes its place.
    norths
        Of the place that is walked to; None leaves that page out.
    log_pages
        Blank pages of the log.
    unit
        Of the azimuths.
    """
    whose = f" of {walker.name}" if walker.name else ""
    first = sheet(f"{TITLE}{whose}", [caution(PAPER_CAUTION), contents(), text(_NOT_TO_SCALE)])
    example = open_estimate(read_log(bundled(DEMO_LOG), DEMO_LOG), walker)
    return [
        first,
        trial_sheet(HALF) if walker.per_100_m is None else pace_card(walker, HALF),
        blank_log(HALF, log_pages),
        traverse_sheet(example, HALF, unit),
        ranging_card(walker, HALF),
        *([] if norths is None else [north_card(norths, HALF, unit)]),
        obstacle_card(HALF, unit),
        angle_card(HALF, unit),
        cord_card(walker, HALF),
        lost_card(HALF),
    ]


def print_booklet(
    sheets: Sequence[Sheet], on: Paper, printed_on: str = "", *, is_flat: bool = False
) -> Printed:
    """The booklet as a PDF.

    Parameters
    ----------
    sheets
        Of half a page of A4 each.
    on
        A4 or Letter, on which two of its pages stand side by side; on Letter they are a little smaller.
    printed_on
        The day, at the foot of every page.
    is_flat
        The pages one after the other, tagged, to be read on a screen; else imposed.

    Notes
    -----
    Sheet k of a signature of n pages bears the pages n - 2k and 2k + 1 on its front, 2k + 2 and
    n - 2k - 1 on its back, k from 0: common practice of bookbinding.
    """
    half = print_sheets(sheets, HALF, printed_on=printed_on, is_book=True)
    if is_flat:
        return half
    # The paper lies on its side, and its halves stand.
    wide_mm, high_mm = on.height_mm, on.width_mm
    half_mm = min(wide_mm / 2, HALF.width_mm, high_mm * HALF.width_mm / HALF.height_mm)
    program = _IMPOSED.format(width=wide_mm, height=high_mm, half=half_mm)
    with tempfile.TemporaryDirectory() as folder:
        # The typesetter takes a PDF from a file alone.
        (Path(folder) / "half.pdf").write_bytes(half.pdf)
        (Path(folder) / "imposed.typ").write_text(program, encoding="utf-8")
        made = typst.Compiler(root=folder).compile(
            input=str(Path(folder) / "imposed.typ"),
            format="pdf",
            sys_inputs={"pairs": json.dumps(signature(half.pages)), "title": sheets[0].title},
        )
    assert isinstance(made, bytes), "a PDF is one file"
    return replace(half, pdf=made)


def signature(pages: int) -> list[tuple[int, int]]:
    """Which two pages stand side by side, front and back of every sheet in turn; 0 is an empty one.

    >>> signature(8)
    [(8, 1), (2, 7), (6, 3), (4, 5)]
    >>> signature(3)
    [(0, 1), (2, 3)]
    """
    whole = -(-pages // 4) * 4
    pairs = []
    for k in range(whole // 4):
        pairs += [(whole - 2 * k, 2 * k + 1), (2 * k + 2, whole - 2 * k - 1)]
    return [(left if left <= pages else 0, right if right <= pages else 0) for left, right in pairs]
