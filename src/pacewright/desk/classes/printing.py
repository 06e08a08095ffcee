"""A class's sheets as they leave the desk: on the paper asked for, as whoever prints reads."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final, cast

from django.http import Http404

from pacewright.desk.serving.habits import HABITS

if TYPE_CHECKING:
    from pacewright.sheets.paper import Paper, Sheet

FLAT: Final = ("a4", "letter", "a5")
"""The papers that a class's sheets fit."""


def paper_asked(asked: Mapping[str, Any]) -> Paper:
    """The paper that is asked for; that of whoever asks if none is.

    Raises
    ------
    Http404
        There is no such paper for a class's sheet.
    """
    from pacewright.sheets.paper import PAPERS, PaperName

    usual = HABITS.get().paper
    name = str(asked.get("paper") or (usual if usual in FLAT else FLAT[0]))
    if name not in FLAT:
        raise Http404
    return PAPERS[cast(PaperName, name)]


def printed(sheet: Sheet, paper: Paper) -> bytes:
    """A sheet as a PDF; its numbers and dates are written as whoever is served writes them."""
    from pacewright.sheets.typesetting import typeset

    printed_on = datetime.date.today().isoformat()
    return typeset([sheet], paper, printed_on=printed_on, written=HABITS.get().figures)
