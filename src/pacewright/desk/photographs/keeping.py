"""Keep photographs of pages: under an identity of our own, bounded, each with its page laid flat."""

from __future__ import annotations

import os
import sys
import uuid
from collections.abc import Iterable, Sequence
from datetime import timedelta
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from pacewright.desk.models import Exercise, KeptLog, Member, PagePhoto
from pacewright.desk.models_page import LONGEST_PHOTO_NAME
from pacewright.desk.notebook.kept_bytes import SHARES
from pacewright.desk.serving.file_names import handed_in, shown_file_name
from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, ValueComplaint, pip_line
from pacewright.reading.scans import is_pdf

MOST_PHOTOS: Final = 12
"""Photographs handed in together, every page of a PDF counted."""
MOST_CLASS_PHOTOS: Final = 40
"""The same of the cards of a class."""
MOST_PHOTO_BYTES: Final = 16_000_000
MOST_OWN_BYTES: Final = 500_000_000
"""Of all photographs of a member, the owner of the desk included."""
KEPT_UNCONFIRMED: Final = timedelta(days=7)
FLAT: Final = ".flat.jpg"
AS_SENT: Final = ".photo"
_TYPES: Final = {b"\xff\xd8\xff": "image/jpeg", b"\x89PN": "image/png"}
_PAGES_FOLLOW: Final = 100
"""Numbers from one file to the next: the pages of a PDF come between."""
_HEAD_BYTES: Final = 1024


def read_line() -> str:
    """The line to run before photographs can be read; empty where they can."""
    from importlib.util import find_spec

    there = all(find_spec(name) is not None for name in ("cv2", "onnxruntime", "rapidocr"))
    return "" if there else f'"{sys.executable}" -m {pip_line("read")}'


def most_photos(exercise: Exercise | None) -> int:
    """How many photographs are taken in together."""
    return MOST_PHOTOS if exercise is None else MOST_CLASS_PHOTOS


def take_in_photos(
    owner: Member, files: Iterable[Any], log: KeptLog | None, exercise: Exercise | None = None
) -> tuple[uuid.UUID, list[str]]:
    """Keep photographs that were handed in together; one that is refused does not stop the rest.

    Parameters
    ----------
    owner
        Whose they are.
    files
        As a form holds them.
    log
        Where their rows are to go; None for a new one.
    exercise
        Where each page is to go to the learner of its card.

    Returns
    -------
    batch, refused
        What the photographs are known by, and a sentence on each that was not taken.
    """
    _throw_old(owner)
    batch, refused, most = uuid.uuid4(), [], most_photos(exercise)
    for number, file in enumerate(files):
        name = shown_file_name(file)
        try:
            if number >= most:
                raise FormatComplaint(f"more than {most} photographs at once", "Hand in the rest after these")
            data = handed_in(file, MOST_PHOTO_BYTES)
            _check_kind(data)
            _spend(owner, len(data))
            number *= _PAGES_FOLLOW
            _keep(PagePhoto(owner=owner, log=log, exercise=exercise, batch=batch, number=number), name, data)
        except Complaint as complaint:
            refused.append(f"{name}: {complaint.sentence}")
    return batch, refused


def _keep(photo: PagePhoto, name: str, data: bytes) -> None:
    photo.name, photo.kept_bytes = name[:LONGEST_PHOTO_NAME], len(data)
    _write(path_of(photo.pk, AS_SENT), data)
    photo.save()


def put_pages(photo: PagePhoto, pages: Sequence[bytes]) -> None:
    """Keep the pages of a PDF of scans, each as a photograph, where the PDF was.

    Raises
    ------
    Complaint
        There is no room for them: the PDF stays.
    """
    room = LONGEST_PHOTO_NAME - len(", page 12")
    with transaction.atomic():
        if not PagePhoto.objects.filter(pk=photo.pk).delete()[0]:
            # Another tab asked as well, and was first.
            return
        _spend(photo.owner, sum(map(len, pages)))
        for at, page in enumerate(pages, start=1):
            name = f"{photo.name[:room]}, page {at}"
            like = {"owner": photo.owner, "log": photo.log, "exercise": photo.exercise, "batch": photo.batch}
            _keep(PagePhoto(**like, number=photo.number + at), name, page)


def holds_scans(photo: PagePhoto) -> bool:
    """Whether what was sent is a PDF, whose pages are still to be taken out."""
    try:
        with path_of(photo.pk, AS_SENT).open("rb") as file:
            return _is_scans(file.read(_HEAD_BYTES))
    except OSError:
        return False


def _is_scans(data: bytes) -> bool:
    return data[:3] not in _TYPES and is_pdf(data)


def _check_kind(data: bytes) -> None:
    if data[:3] not in _TYPES and not is_pdf(data):
        raise FormatComplaint(
            "this is no photograph in JPEG or PNG, and no PDF of scans", "Save or send it as JPEG"
        )


def _spend(owner: Member, more_bytes: int) -> None:
    held = sum(PagePhoto.objects.filter(owner=owner).values_list("kept_bytes", flat=True))
    if held + more_bytes > MOST_OWN_BYTES:
        raise ValueComplaint(
            f"photographs of one person take at most {MOST_OWN_BYTES // 1_000_000} MB at this desk",
            "Delete logs whose photographs are needed no more",
        )
    SHARES.spend(owner, more_bytes)


def put_flat(photo: PagePhoto, flat: bytes) -> None:
    """Keep the page of a photograph laid flat."""
    _write(path_of(photo.pk, FLAT), flat)
    photo.kept_bytes += len(flat)


def photo_bytes(photo: PagePhoto, kind: str) -> bytes | None:
    """The photograph as it was sent, or its page laid flat; None where the file is gone."""
    try:
        return path_of(photo.pk, kind).read_bytes()
    except OSError:
        return None


def size_of(photo: PagePhoto) -> tuple[int, int]:
    """Width and height of a photograph in its own points.

    Raises
    ------
    Complaint
        It is none, or it is gone.
    """
    from pacewright.reading.photographs import photo_size

    data = photo_bytes(photo, AS_SENT)
    if data is None:
        raise MissingComplaint("the photograph is gone", "Hand it in again")
    return photo_size(data)


def type_of(data: bytes) -> str:
    """What a browser is told that a picture is; empty where it is none."""
    return _TYPES.get(data[:3], "")


def throw_photo(photo: PagePhoto) -> None:
    """Take a photograph off the desk, its rows stay where they went."""
    photo.delete()


def unlink_photo(identity: uuid.UUID) -> None:
    """Remove the files of a photograph."""
    for kind in (AS_SENT, FLAT):
        path_of(identity, kind).unlink(missing_ok=True)


def forget_files(sender: type[PagePhoto], instance: PagePhoto, **more: Any) -> None:
    """Remove the files of a photograph whose record went, with its log or its owner."""
    identity = instance.pk
    transaction.on_commit(lambda: unlink_photo(identity))


def _throw_old(owner: Member) -> None:
    old = timezone.now() - KEPT_UNCONFIRMED
    for photo in PagePhoto.objects.filter(owner=owner, confirmed_at=None, made_at__lt=old):
        throw_photo(photo)


def path_of(identity: uuid.UUID, kind: str) -> Path:
    """Where a photograph lies."""
    folder = Path(settings.DATA) / "photographs"
    folder.mkdir(mode=0o700, exist_ok=True)
    return folder / f"{identity}{kind}"


def _write(path: Path, data: bytes) -> None:
    coming = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        handle = os.open(coming, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        coming.replace(path)
    finally:
        coming.unlink(missing_ok=True)


def put_photo_back(identity: uuid.UUID, kind: str, data: bytes) -> Path | None:
    """Put a picture of a backup in its place; None where it is no picture, too large, or one lies there."""
    path = path_of(identity, kind)
    is_sent = kind == AS_SENT and _is_scans(data)
    if not (data[:3] in _TYPES or is_sent) or len(data) > MOST_PHOTO_BYTES or path.exists():
        return None
    _write(path, data)
    return path
