"""Photographed cards of a class: each to the learner of its number, asked about where that is not plain."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Q

from pacewright.desk.classes.entries import (
    add_on_paper,
    asked_card,
    write_finish,
    write_pace_count,
    written_log,
)
from pacewright.desk.classes.out import come_back
from pacewright.desk.classes.pace import hand_in_counted
from pacewright.desk.classes.told_apart import told_apart
from pacewright.desk.models import Entry, Exercise, PagePhoto
from pacewright.desk.photographs.confirming import confirm
from pacewright.desk.photographs.reading import card_of, is_page, waits
from pacewright.exceptions import MissingComplaint, ValueComplaint


@dataclass(frozen=True, slots=True)
class CardPages:
    """The pages of one card that wait to be confirmed.

    Attributes
    ----------
    batch, photos
        What they are known by, and the photographs.
    card
        The number on them; 0 for none.
    entry, name
        Whose they are, as far as that is known.
    question
        What a person must say first; empty where nothing need be asked.
    """

    batch: uuid.UUID
    photos: tuple[PagePhoto, ...]
    card: int
    entry: Entry | None
    name: str
    question: str

    @property
    def is_read(self) -> bool:
        """Whether nothing of it is still to be read."""
        return not any(map(waits, self.photos))


def waiting_pages(exercise: Exercise) -> list[CardPages]:
    """The pages of every card of an exercise that nobody confirmed yet, by card."""
    waiting = _waiting(exercise)
    found: dict[uuid.UUID, list[PagePhoto]] = {}
    for photo in waiting:
        found.setdefault(photo.batch, []).append(photo)
    pages = [_pages(exercise, photos, waiting) for photos in found.values()]
    return sorted(pages, key=lambda one: one.entry.card if one.entry else one.card)


def pages_of(exercise: Exercise, batch: uuid.UUID) -> CardPages | None:
    """The pages that wait together; None where there are none."""
    waiting = _waiting(exercise)
    photos = [photo for photo in waiting if photo.batch == batch]
    return _pages(exercise, photos, waiting) if photos else None


def _waiting(exercise: Exercise) -> list[PagePhoto]:
    found = exercise.photographs.filter(confirmed_at=None).order_by("made_at", "number")
    return list(found.select_related("log", "owner"))


def _pages(exercise: Exercise, photos: Sequence[PagePhoto], waiting: Sequence[PagePhoto]) -> CardPages:
    first = photos[0]
    card = card_of(first)
    # A log is kept with a photograph that waits once a person said whose it is.
    whose = Q(card=card) if first.log_id is None else Q(log=first.log_id)
    entry = exercise.entries.filter(whose).select_related("member", "log", "exercise__course").first()
    name = "" if entry is None else told_apart([entry.member])[entry.member_id]
    question = _question(photos, waiting, entry, name)
    return CardPages(first.batch, tuple(photos), card, entry, name, question)


def _question(
    photos: Sequence[PagePhoto], waiting: Sequence[PagePhoto], entry: Entry | None, name: str
) -> str:
    first = photos[0]
    if not any(map(is_page, photos)):
        return ""
    if entry is None and not card_of(first):
        return f"No card number is on {first.name}: say whose page it is."
    if entry is None:
        return f"Nobody has card {card_of(first)} here: write the learner's name, or choose another card."
    who = f"Card {entry.card} of {name}"
    if entry.handed_at is not None:
        return f"{who} is handed in already: open it again on the page of the class, or choose another card."
    if first.log_id is None and _twice(photos, waiting, entry):
        return (
            f"Two photographs show the same page of card {entry.card}: say whose each is, or throw one away."
        )
    rows = 0 if entry.log is None else sum(not row["struck"] for row in entry.log.rows)
    if first.log_id is None and rows:
        held = "1 row" if rows == 1 else f"{rows} rows"
        return f"{who} has {held} already: choose it to add these below, or choose another card."
    return ""


def _twice(photos: Sequence[PagePhoto], waiting: Sequence[PagePhoto], entry: Entry) -> bool:
    """Whether another photograph that waits shows a page of these, for the same learner."""
    mine, own = {photo.pk for photo in photos}, {_page(photo) for photo in photos if is_page(photo)}
    return any(
        _page(photo) in own
        for photo in waiting
        if photo.pk not in mine and is_page(photo) and photo.log_id in (None, entry.log_id)
    )


def _page(photo: PagePhoto) -> tuple[int, int]:
    return card_of(photo), int(photo.read["page"])


def part_pages(photos: Sequence[PagePhoto]) -> bool:
    """Let the pages of every card wait by themselves, and a page that comes twice; tell if they did not."""
    parts: dict[object, list[PagePhoto]] = {}
    seen: dict[tuple[int, int], int] = {}
    for photo in photos:
        key: object = photo.pk
        if is_page(photo) and card_of(photo):
            page = _page(photo)
            seen[page] = seen.get(page, 0) + 1
            key = (card_of(photo), seen[page])
        parts.setdefault(key, []).append(photo)
    if len(parts) < 2:
        return False
    with transaction.atomic():
        for part in list(parts.values())[1:]:
            batch = uuid.uuid4()
            for photo in part:
                photo.batch = batch
                photo.save(update_fields=["batch"])
    return True


def say_whose(exercise: Exercise, pages: CardPages, sent: Mapping[str, str]) -> None:
    """Keep whose pages they are, as a person said it: a card that is not handed in, or a learner's name.

    Raises
    ------
    Complaint
        There is no such card or name, or that page of the learner waits already.
    """
    with transaction.atomic():
        if sent.get("name", "").strip():
            entry = add_on_paper(exercise, sent["name"], asked_card(sent.get("card", "")))
        else:
            entry = _chosen(exercise, sent.get("entry", ""))
        log = written_log(entry)
        beside = [one for one in _waiting(exercise) if one.log_id == log.pk and one.batch != pages.batch]
        if {_page(one) for one in beside} & {_page(one) for one in pages.photos if is_page(one)}:
            raise ValueComplaint(
                f"that page of card {entry.card} waits already", "Throw one away, or choose another card"
            )
        for photo in pages.photos:
            photo.log, photo.batch = log, beside[0].batch if beside else pages.batch
            photo.save(update_fields=["log", "batch"])


def _chosen(exercise: Exercise, sent: str) -> Entry:
    found = next((one for one in open_entries(exercise) if str(one.pk) == sent), None)
    if found is None:
        raise MissingComplaint("no card was chosen", "Choose one, or write a name and a card")
    return found


def open_entries(exercise: Exercise) -> list[Entry]:
    """The entries of an exercise that are not handed in, by card."""
    found = exercise.entries.filter(handed_at__isnull=True).select_related("member", "log").order_by("card")
    return list(found)


def confirm_pages(pages: CardPages, sent: Mapping[str, Any]) -> str:
    """Put confirmed rows into the learner's log, write down the finish, and hand it in; say what came of it.

    Raises
    ------
    Complaint
        Something must be asked first, a row is not confirmed, or the finish cannot be kept: nothing changed.
    """
    entry = pages.entry
    if entry is None or pages.question:
        raise ValueComplaint("it is not said yet whose page this is", "Load the page again")
    read = [photo for photo in pages.photos if is_page(photo)]
    with transaction.atomic():
        for photo in read:
            photo.log = written_log(entry)
        confirm(read[0].owner, read, sent, sent.get("key", ""))
        write_finish(entry, sent)
        if sent.get("pace_count", "").strip():
            write_pace_count(entry, sent["pace_count"])
        told = hand_in_counted(entry)
        # Paper comes in by hand: whoever brought it is back.
        come_back(entry)
    return told
