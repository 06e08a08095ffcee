"""What was read from the photograph of a log page, and what somebody must look at."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

LOOK_AGAIN: Final = "to be checked"
NOTE_NOT_READ: Final = "note on the page, not read"

_WHY: Final = {
    "gap": "a box between its digits is blank",
    "joined": "struck out, or digits run together",
    "small": "something small stands in a box",
    "no azimuth": "there is a count and no azimuth",
    "no count": "there is an azimuth and no count",
    "count of a bearing": "'see' is ticked, and a bearing has no count",
}


def say_why(what: str, text: str, doubt: str, others: Sequence[tuple[str, float]] = ()) -> str:
    """Say why a number must be looked at: `count 338, or 388 (7 %)`.

    Parameters
    ----------
    what
        `azimuth` or `count`.
    text
        As it was read.
    doubt
        Its kind, or a reason in words.
    others
        What else it may be, with its chance.
    """
    read = f"{what} {text}" if text else what
    if doubt == "digit":
        if not others:
            return f"{read}: no digit is clear"
        return f"{read}, or " + ", ".join(f"{other} ({100 * chance:.0f} %)" for other, chance in others)
    return f"{read}: {_WHY.get(doubt, doubt)}"


def say_ticked(names: Sequence[str]) -> list[str]:
    """Say of ticked boxes what has no remark without words from the page.

    Examples
    --------
    >>> say_ticked(["at", "box left", "est"])
    ['boxed left, paces not read']
    """
    return [f"boxed {name.removeprefix('box ')}, paces not read" for name in names if name.startswith("box")]


def say_read(rows: int, doubtful: int) -> str:
    """Say how many rows were read, and how many of them must be looked at."""
    if not rows:
        return "Nothing is written on this page."
    if not doubtful:
        return f"{_rows(rows)} read, every digit sure."
    return f"{doubtful} of {_rows(rows)} must be looked at."


def say_cards(cards: Sequence[int], without: Sequence[str]) -> list[str]:
    """Say whose cards the pages are, and which of them have no card.

    Examples
    --------
    >>> say_cards([3, 7], ["page.jpg"])
    ['These are the logs of cards 3 and 7.', 'No card number is on page.jpg.']
    """
    told = []
    if cards:
        whose = (
            f"This is the log of card {cards[0]}"
            if len(cards) == 1
            else f"These are the logs of {_cards(cards)}"
        )
        told.append(f"{whose}.")
    return [*told, *([f"No card number is on {', '.join(without)}."] if without else [])]


def say_card_logs(
    folder: str, written: Sequence[int], kept: Sequence[int], without: Sequence[str]
) -> list[str]:
    """Say where the logs of cards are, which were not written, and what is left to be typed."""
    if not written and not kept:
        return ["No log is written: --cards is for pages that have a card number."]
    said = []
    if written:
        said.append(
            f"The log{'s' if len(written) > 1 else ''} of {_cards(written)} {_are(written)} in {folder}."
        )
    if kept:
        said.append(
            f"No log is written of {_cards(kept)}: look at the page. --unsure writes it all the same, its doubtful"
            f" rows marked '{LOOK_AGAIN}'."
        )
    if without:
        said.append("A page without a card number is in none of them: read it by itself.")
    said.append(
        f"{folder}/handed.csv calls each learner by the card. Write the names into it, and from the cards the stake"
        " where they stood, minutes and pace count; `pacewright course grade` takes it."
    )
    return said


def _are(cards: Sequence[int]) -> str:
    return "are" if len(cards) > 1 else "is"


def _cards(numbers: Sequence[int]) -> str:
    told = [str(number) for number in numbers]
    return f"card {told[0]}" if len(told) == 1 else f"cards {', '.join(told[:-1])} and {told[-1]}"


def say_where_log_is(out: str | None, is_written: bool, doubtful: int, walks: int = 1) -> str:
    """Say whether the log is written, or how it can be."""
    if walks > 1:
        return "Give --cards FOLDER to write a log for each card."
    if is_written and out is not None:
        marked = f"; what must be looked at is marked '{LOOK_AGAIN}' in the notes" if doubtful else ""
        return f"The log is in {out}{marked}."
    if doubtful:
        return (
            "No log is written while a digit is in doubt. Look at the page; --unsure with --out writes it all "
            f"the same, its doubtful rows marked '{LOOK_AGAIN}'."
        )
    return "Give --out LOG.csv to write the log."


def say_lacking(photos: Sequence[str], out: str | None, *, is_written: bool) -> str:
    """Say which photographs could not be read, and what that means for the log that was to be written.

    Examples
    --------
    >>> say_lacking(["b.jpg"], None, is_written=False)
    'b.jpg could not be read: what stands on it is not here.'
    """
    missing = f"{', '.join(photos)} could not be read"
    if out is None:
        return f"{missing}: what stands on {'it' if len(photos) == 1 else 'them'} is not here."
    if is_written:
        return f"{missing}: the log lacks those rows."
    return (
        f"{missing}: no log is written that lacks rows. Photograph the page anew; --unsure writes it without."
    )


def say_not_read(noted: Sequence[int], named: Sequence[int]) -> list[str]:
    """Say what no machine reads: notes, and names of stations that were only ticked."""
    said = []
    if noted:
        said.append(f"Notes are not read; type them for {_numbered(noted)}.")
    if named:
        said.append(f"Names are not read: write those of {_numbered(named)} in place of 'row N'.")
    return said


def say_order(is_sorted: bool) -> list[str]:
    """Say in which order several pages were taken, where that is not by their own numbers."""
    if is_sorted:
        return []
    return ["Pages with the same number: they are taken in the order given."]


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"


def _numbered(numbers: Sequence[int]) -> str:
    told = [str(number) for number in numbers]
    if len(told) == 1:
        return f"row {told[0]}"
    return f"rows {', '.join(told[:-1])} and {told[-1]}"
