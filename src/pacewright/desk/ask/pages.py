"""What a page of a question is made of, and what stands on it once the question is answered."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from pacewright.desk.ask.fields import AskForm

Rows = tuple[Sequence[str], Sequence[Sequence[str]]]


@dataclass(frozen=True, slots=True)
class Answered:
    """What is shown of an answer.

    Attributes
    ----------
    sentences
        The answer first; where there is a `short`, that comes before them all.
    short
        What to walk, or how far, and nothing else.
    tables, figures
        Each with what it is called.
    row
        A row to copy into a log.
    caution
        What stands under it.
    """

    sentences: Sequence[str]
    short: str = ""
    tables: Sequence[tuple[str, Rows]] = field(default=())
    figures: Sequence[tuple[str, str]] = field(default=())
    row: str = ""
    caution: str = ""


@dataclass(frozen=True, slots=True)
class AskPage:
    """A page that asks one question.

    Attributes
    ----------
    name, of
        Its name in addresses, and the name of the page whose variant it is.
    title, tab, lead
        What it is called, in a row of others, and what it is for.
    form, answer
        What is asked, and what answers it.
    """

    name: str
    of: str
    title: str
    tab: str
    lead: str
    form: type[AskForm]
    answer: Callable[[Any], Answered]


def split_caution(sentences: Sequence[str]) -> tuple[list[str], str]:
    """Sentences without their caution, and the caution."""
    cautions = [one for one in sentences if one.startswith("Caution:")]
    return [one for one in sentences if one not in cautions], " ".join(cautions)
