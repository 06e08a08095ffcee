"""Rows that were read, as a person confirms them: what is unsure first, and into a log as typed rows go."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal

from django.db import transaction
from django.utils import timezone

from pacewright.core.log.remarks import At, See, parse_remarks
from pacewright.desk.models import KeptLog, Member, PagePhoto
from pacewright.desk.notebook.keeping import keep_change, new_log
from pacewright.desk.notebook.page_changes import PageState, new_row
from pacewright.desk.photographs.reading import card_of, is_page, row_identity, rows_of, strip_of
from pacewright.desk.serving.habits import habits_of
from pacewright.exceptions import Complaint, MissingComplaint

if TYPE_CHECKING:
    from pacewright.reading.page_read import ReadPage

LOOKED: Final = "looked"
"""A row confirmed by itself; one confirmed with the other sure ones keeps what it may be besides."""
MOST_NAMES: Final = 60


@dataclass(frozen=True)
class OfferedRow:
    """A row as the page offers it.

    Attributes
    ----------
    key
        What its fields are called by.
    photo, number
        The photograph, and the row's number on the page.
    azimuth, count, notes
        As read, or as typed meanwhile.
    doubts
        What must be looked at.
    has_note
        Whether something is written on the page that no machine reads.
    is_confirmed
        Whether somebody confirmed it.
    strip
        Where it stands on the page laid flat.
    """

    key: str
    photo: PagePhoto
    number: int
    azimuth: str
    count: str
    notes: str
    doubts: tuple[str, ...]
    has_note: bool
    is_confirmed: bool
    strip: dict[str, Any] | None

    @property
    def first_doubt(self) -> str:
        """The field that the doubt is about."""
        first = self.doubts[0] if self.doubts else ""
        return "count" if first.startswith("count") else "azimuth"


def heading_of(member: Member, photos: Sequence[PagePhoto]) -> str:
    """The heading of the log that the rows are to go into."""
    log = photos[0].log if photos else None
    if log is not None:
        return str(log.heading)
    units = habits_of(member.habits)
    day = timezone.localdate().isoformat()
    read = f"azimuth: magnetic {units.azimuth_unit}\ncount: {units.count_unit}"
    card = card_of(photos[0]) if photos else 0
    return f"title: {f'card {card}' if card else ''}\ndate: {day}\n{read}\nstart: Start"


def offered_rows(
    member: Member, photos: Sequence[PagePhoto], typed: Mapping[str, str] | None = None
) -> list[OfferedRow]:
    """Every row in the order of its log.

    Pages come by their own numbers, or as their photographs came where two have the same.

    Parameters
    ----------
    member, photos
        Whose they are, and the photographs.
    typed
        What was sent for them, where the page is shown again.
    """
    from pacewright.reading.log_rows import log_rows

    heading = heading_of(member, photos).splitlines()
    by_name = {str(photo.pk): photo for photo in photos}
    found = []
    for name, row, told in log_rows(_in_order(photos)[0], heading, _names_of(photos)):
        photo = by_name[name]
        key = row_identity(photo, row.number)
        as_read = {
            "azimuth": row.azimuth.text,
            "count": "" if "see" in row.ticks else row.count.text,
            "notes": told.ticked,
        }
        cells = as_read if typed is None else {part: typed.get(f"{part}-{key}", "") for part in as_read}
        found.append(
            OfferedRow(
                key=key,
                photo=photo,
                number=row.number,
                **cells,
                doubts=told.doubts,
                has_note=row.has_note,
                is_confirmed=bool(typed and typed.get(f"ok-{key}")),
                strip=strip_of(photo, row.number),
            )
        )
    return found


def order_told(photos: Sequence[PagePhoto]) -> list[str]:
    """What is to be said of the order of several pages."""
    from pacewright.wording.page_reading import say_order

    return say_order(_in_order(photos)[1])


def _in_order(photos: Sequence[PagePhoto]) -> tuple[list[tuple[str, ReadPage]], bool]:
    from pacewright.reading.log_rows import in_order
    from pacewright.reading.page_read import ReadPage

    pages = [
        (str(photo.pk), ReadPage(int(photo.read["page"]), tuple(rows_of(photo))))
        for photo in photos
        if is_page(photo)
    ]
    return in_order(pages)


def known_names(photos: Sequence[PagePhoto]) -> list[str]:
    """Remarks with the names that the log holds, to be offered for the notes."""
    offered = [f"[{word} {name}]" for name in _names_of(photos) for word in ("at", "see")]
    return list(dict.fromkeys(offered))[:MOST_NAMES]


def _names_of(photos: Sequence[PagePhoto]) -> list[str]:
    """The start of the log that rows are to go into, and every name in its notes."""
    log = photos[0].log if photos else None
    if log is None:
        return []
    lines = (line.partition(":") for line in log.heading.splitlines())
    start = [rest.strip() for word, _, rest in lines if word.strip().lower() == "start" and rest.strip()]
    return [*start, *(name for row in log.rows for name in _names_in(row["notes"]))]


def _names_in(notes: str) -> list[str]:
    try:
        return [one.name for one in parse_remarks(notes) if isinstance(one, At | See)]
    except Complaint:
        return []


def confirm(member: Member, photos: Sequence[PagePhoto], sent: Mapping[str, str], key: str) -> KeptLog:
    """Put the confirmed rows into their log, in the order of their pages, and keep the photographs with it.

    Parameters
    ----------
    member, photos
        Whose they are, and the photographs.
    sent
        The fields of the page.
    key
        What this confirming is known by: sent twice, it is made once.

    Raises
    ------
    MissingComplaint
        A row is not confirmed yet, or there is none.
    Complaint
        The log lies in the bin, or a guest keeps as much as a guest may.
    """
    offered = offered_rows(member, photos, sent)
    left = [row.number for row in offered if not row.is_confirmed]
    if left:
        which = f"row {left[0]} is" if len(left) == 1 else f"{len(left)} rows are"
        raise MissingComplaint(f"{which} not confirmed yet", "Look at each, then keep them")
    kept = [_row(member, photos, one, sent) for one in offered]
    rows = [row for row in kept if any(row[name] for name in ("azimuth", "count", "notes"))]
    if not rows:
        raise MissingComplaint("no row is left to keep", "Throw the photographs away instead")
    with transaction.atomic():
        log = photos[0].log or new_log(member, PageState(_new_heading(member, photos, sent), ()))
        keep_change(log.pk, key, {"kind": "paste", "rows": rows}, member.name)
        for photo in photos:
            photo.log, photo.confirmed_at = log, timezone.now()
            photo.save(update_fields=["log", "confirmed_at"])
    return KeptLog.objects.get(pk=log.pk)


def _new_heading(member: Member, photos: Sequence[PagePhoto], sent: Mapping[str, str]) -> str:
    lines = []
    for line in heading_of(member, photos).splitlines():
        word = line.partition(":")[0]
        typed = " ".join(sent.get(word, "").split()) if word in ("title", "start") else ""
        lines.append(f"{word}: {typed}" if typed else line)
    return "\n".join(lines)


def _row(
    member: Member, photos: Sequence[PagePhoto], one: OfferedRow, sent: Mapping[str, str]
) -> dict[str, Any]:
    notes = " ".join(one.notes.split())
    if sent.get(f"ok-{one.key}") != LOOKED:
        notes = " ".join(filter(None, [notes, *_besides(member, photos, one)]))
    return new_row(one.key, (one.azimuth.strip(), one.count.strip(), notes))


def _besides(member: Member, photos: Sequence[PagePhoto], one: OfferedRow) -> list[str]:
    """What the digits of a row may be besides, where they stand as they were read."""
    from pacewright.reading.log_rows import doubt_remarks

    heading = heading_of(member, photos).splitlines()
    read = next(row for row in rows_of(one.photo) if row.number == one.number)
    columns: tuple[Literal["azimuth", "count"], ...] = ("azimuth", "count")
    return [
        remark
        for column in columns
        if getattr(read, column).text == getattr(one, column).strip() and getattr(one, column).strip()
        for remark in doubt_remarks(getattr(read, column), column, heading)
    ]
