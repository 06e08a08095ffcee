"""Paper: sizes and margins, and a folded card for the pocket, cut from a sheet of A4 or Letter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, get_args

from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import Block, heading

PaperName = Literal["a4", "letter", "a5", "pocket", "pocket-letter"]
PAPER_NAMES: Final[tuple[PaperName, ...]] = get_args(PaperName)


@dataclass(frozen=True, slots=True)
class Panel:
    """One face of a folded card.

    Attributes
    ----------
    width_mm, height_mm
        Of the folded card.
    pad_mm
        Kept free along every fold and cut.
    across, down
        Panels on a page.
    """

    width_mm: float = 65.0
    height_mm: float = 93.0
    pad_mm: float = 4.0
    across: int = 4
    down: int = 2


@dataclass(frozen=True, slots=True)
class Paper:
    """A page to print on.

    Attributes
    ----------
    name
        As it is asked for.
    width_mm, height_mm
        Of the page.
    margin_mm
        Kept free on all sides of a flat sheet.
    text_pt, least_pt
        Height of the type, and of the smallest.
    panel
        The faces of a folded card; None for a flat sheet.
    binding_mm
        Kept free beside the margin where sheets printed on both sides are bound.
    """

    name: PaperName
    width_mm: float
    height_mm: float
    margin_mm: float
    text_pt: float
    panel: Panel | None = None
    least_pt: float = 8.0
    binding_mm: float = 0.0

    @property
    def text_width_mm(self) -> float:
        """Width of what is printed: of the page between its margins, or of a panel."""
        if self.panel is not None:
            return self.panel.width_mm - 2 * self.panel.pad_mm
        return self.width_mm - 2 * self.margin_mm - self.binding_mm

    def shown_em(self, size_em: float) -> float:
        """Size of type as it is printed: never smaller than the smallest."""
        return max(size_em, self.least_pt / self.text_pt)

    @property
    def room_mm(self) -> tuple[float, float]:
        """Width and height that a picture may take, below a heading."""
        if self.panel is not None:
            return self.text_width_mm, self.panel.height_mm - 2 * self.panel.pad_mm - 4.6
        return self.text_width_mm, self.height_mm - 2 * self.margin_mm - 20.0

    @property
    def is_card(self) -> bool:
        """Whether it is folded for the pocket."""
        return self.panel is not None

    @property
    def is_narrow(self) -> bool:
        """Whether a table must do with few columns."""
        return self.room_mm[0] < 160.0


PAPERS: Final[dict[PaperName, Paper]] = {
    "a4": Paper("a4", 210.0, 297.0, 13.0, 9.0),
    "letter": Paper("letter", 215.9, 279.4, 13.0, 9.0),
    "a5": Paper("a5", 148.0, 210.0, 9.0, 8.0),
    "pocket": Paper("pocket", 297.0, 210.0, 8.0, 7.1, Panel(), least_pt=7.0),
    "pocket-letter": Paper("pocket-letter", 279.4, 215.9, 8.0, 7.1, Panel(), least_pt=7.0),
}
"""A4 and A5: ISO 216; Letter: ANSI/ASME Y14.1, 8.5 by 11 in."""


BINDING_MM: Final = 10.0


def bound(paper: Paper) -> Paper:
    """A paper with room for the binding, on the inner side of pages that are printed on both sides.

    Raises
    ------
    ValueComplaint
        A card is cut out and not bound.
    """
    if paper.is_card:
        raise ValueComplaint(
            "a pocket card is cut out and not bound", "Leave --binding away, or take other paper"
        )
    return replace(paper, binding_mm=BINDING_MM)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet, of one page or several.

    Attributes
    ----------
    title
        At its head and at the foot of every page.
    blocks
        What it holds, its heading first.
    """

    title: str
    blocks: tuple[Block, ...]


def sheet(title: str, blocks: Sequence[Block]) -> Sheet:
    """A sheet with its heading on top."""
    return Sheet(title, (heading(title, 1), *blocks))
