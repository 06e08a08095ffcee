"""What was read of photographed pages: asked of a worker one by one, kept, and given back as it was read."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, Any, Final

from django.db import transaction
from django.db.models import Exists, OuterRef
from django.http import HttpRequest

from pacewright.desk.models import KeptLog, Member, PagePhoto
from pacewright.desk.notebook.page_corrections import row_at, row_of_leg
from pacewright.desk.photographs.keeping import holds_scans, most_photos, put_flat, put_pages
from pacewright.desk.photographs.work import read_photo, split_scans
from pacewright.desk.workers.asking import Question, answer_to
from pacewright.exceptions import Complaint, NoAnswerComplaint

if TYPE_CHECKING:
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.slips.suspects import Suspect
    from pacewright.reading.page_read import ReadNumber, ReadRow


MOST_TRIES: Final = 3


def of_batch(member: Member, batch: uuid.UUID) -> list[PagePhoto]:
    """The photographs of a member that were handed in together and wait to be confirmed, in order."""
    found = PagePhoto.objects.filter(owner=member, batch=batch, confirmed_at=None).order_by("number")
    return list(found.select_related("log", "exercise"))


def waits(photo: PagePhoto) -> bool:
    """Whether a photograph is still to be read."""
    return not is_page(photo) and not photo.refused


def is_page(photo: PagePhoto) -> bool:
    """Whether rows were read of a photograph."""
    return "rows" in photo.read


def card_of(photo: PagePhoto) -> int:
    """The course card that a photographed page belongs to; 0 where it tells none."""
    return int(photo.read.get("card", 0))


def part_cards(photos: list[PagePhoto]) -> list[PagePhoto]:
    """The photographs of the first of several course cards; those of each other card wait by themselves.

    What two people walked is no log, so that every card gets a new one of its own.
    """
    by_card: dict[int, list[PagePhoto]] = {}
    for photo in photos:
        if is_page(photo):
            by_card.setdefault(card_of(photo), []).append(photo)
    if len(by_card.keys() - {0}) < 2:
        return photos
    first, *others = by_card.values()
    with transaction.atomic():
        for pages in (first, *others):
            batch = first[0].batch if pages is first else uuid.uuid4()
            for photo in pages:
                photo.batch, photo.log = batch, None
                photo.save(update_fields=["batch", "log"])
    return [photo for photo in photos if photo.batch == first[0].batch]


def read_next(request: HttpRequest, photos: list[PagePhoto]) -> None:
    """Have the first photograph that waits read, and keep what is found; nothing where it takes longer.

    A PDF of scans is split, and its pages wait in its place. What a busy desk could not do is asked again;
    what no reader can do is kept as the reason.
    """
    photo = next((one for one in photos if waits(one)), None)
    if photo is None:
        return
    frame = photo.read.get("frame")
    is_split = holds_scans(photo)
    room = most_photos(photo.exercise) + 1 - len(photos)
    work, asked = (split_scans, room) if is_split else (read_photo, frame)
    try:
        found = answer_to(request, Question(work, (photo.pk, asked), (str(photo.pk), asked), False))
        if found is not None and is_split:
            put_pages(photo, found)
        elif found is not None:
            _keep_read(photo, frame, found)
    except NoAnswerComplaint:
        # Others waited, or the machine was busy: it is tried again some times.
        tries = int(photo.read.get("tries", 0)) + 1
        photo.read = {**photo.read, "tries": tries}
        if tries >= MOST_TRIES:
            photo.refused = "this photograph was not read to its end: hand it in again, alone"
        photo.save(update_fields=["read", "refused"])
    except Complaint as complaint:
        photo.refused = complaint.sentence[:300]
        photo.save(update_fields=["refused"])


def _keep_read(photo: PagePhoto, frame: dict[str, Any] | None, found: dict[str, Any]) -> None:
    with transaction.atomic():
        put_flat(photo, found["flat"])
        kept = {"frame": frame} if frame else {}
        photo.read = {**kept, **found["read"]}
        photo.save(update_fields=["read", "kept_bytes"])


def rows_of(photo: PagePhoto) -> list[ReadRow]:
    """The rows of a photographed page as they were read."""
    from pacewright.reading.page_read import ReadRow

    return [
        ReadRow(
            int(row["number"]),
            _number(row["azimuth"]),
            _number(row["count"]),
            tuple(row["ticks"]),
            bool(row["tick_doubt"]),
            bool(row["has_note"]),
        )
        for row in photo.read.get("rows", [])
    ]


def _number(kept: dict[str, Any]) -> ReadNumber:
    from pacewright.reading.page_read import ReadNumber

    chances = tuple(tuple(float(one) for one in digit) for digit in kept["chances"])
    return ReadNumber(str(kept["text"]), chances, str(kept["doubt"]))


def strip_of(photo: PagePhoto, number: int) -> dict[str, Any] | None:
    """Where a row stands on the page laid flat, as a picture is cut; None where the page has no such row."""
    read = photo.read
    at = number - int(read.get("first", 1))
    tops = read.get("tops", [])
    if not read.get("size") or not 0 <= at < len(tops) - 1:
        return None
    wide, high = read["size"]
    margin = 0.12 * (tops[at + 1] - tops[at])
    top, foot = max(0.0, tops[at] - margin), min(float(high), tops[at + 1] + margin)
    return {
        "top": round(top, 1),
        "high": round(foot - top, 1),
        "wide": wide,
        "whole": high,
        "notes_left": read.get("notes_left", 0),
        "numbers_wide": read.get("notes_left") or wide,
        "notes_wide": round(wide - float(read.get("notes_left", 0)), 1),
    }


def row_identity(photo: PagePhoto, number: int) -> str:
    """What a row of a photographed page is known by in its log."""
    return f"p{photo.pk.hex}r{number}"


def photo_of_row(identity: str) -> tuple[uuid.UUID, int] | None:
    """The photograph and the row on its page that a row of a log was read from; None for a typed one.

    >>> photo_of_row("r4") is None
    True
    """
    photo, _, number = identity.removeprefix("p").partition("r")
    if not identity.startswith("p") or len(photo) != 32 or not number.isdecimal():
        return None
    try:
        return uuid.UUID(photo), int(number)
    except ValueError:
        return None


def is_from_paper() -> Exists:
    """Of a query for what has a log: whether rows of that log were read from photographs."""
    return Exists(PagePhoto.objects.filter(log=OuterRef("log"), confirmed_at__isnull=False))


def has_photographs(kept: KeptLog) -> bool:
    """Whether rows of a log were read from photographs that are kept."""
    return bool(PagePhoto.objects.filter(log=kept).exists())


def pages_of(suspect: Suspect, log: TravelLog, kept: KeptLog) -> list[tuple[uuid.UUID, int]]:
    """Where the rows of a suspect stand on photographed pages: the photograph and the number of the row."""
    rows = [row_of_leg(kept, log, leg) for leg in suspect.legs]
    if suspect.reading is not None and suspect.reading.leg is not None:
        rows.append(row_of_leg(kept, log, suspect.reading.leg))
    if suspect.reading is not None and suspect.reading.row is not None:
        rows.append(row_at(kept, log.rows[suspect.reading.row].line))
    return [found for row in rows if (found := photo_of_row(row)) is not None]
