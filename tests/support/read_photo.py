"""A photograph of a page that was read already, as the desk keeps it: for tests that need no recogniser."""

from __future__ import annotations

import uuid
from typing import Any

import cv2
import numpy as np

from pacewright.desk.models import KeptLog, Member, PagePhoto
from pacewright.desk.photographs.keeping import AS_SENT, path_of, put_flat

ROW_PX = 56
WIDE, HEAD = 1200, 60


def number(text: str, *, sure: float = 1.0, other: int = 8, at: int = -1) -> dict[str, Any]:
    """A number of which one digit has so much of the chance, the rest being another's."""
    chances = [[float(digit == int(one)) for digit in range(10)] for one in text]
    if text and sure < 1.0:
        chances[at] = [
            sure if digit == int(text[at]) else (1.0 - sure) * (digit == other) for digit in range(10)
        ]
    return {"text": text, "chances": chances, "doubt": "digit" if text and sure < 0.92 else ""}


def row(
    at: int, azimuth: Any, count: Any, *, ticks: tuple[str, ...] = (), note: bool = False
) -> dict[str, Any]:
    """A row as it was read."""
    azimuth, count = (number(one) if isinstance(one, str) else one for one in (azimuth, count))
    return {
        "number": at,
        "azimuth": azimuth,
        "count": count,
        "ticks": list(ticks),
        "tick_doubt": False,
        "has_note": note,
    }


def read_photo(
    owner: Member, rows: list[dict[str, Any]], log: KeptLog | None = None, **more: Any
) -> PagePhoto:
    """Keep a photograph whose page holds these rows, with a small picture of it."""
    tops = [HEAD + ROW_PX * at for at in range(24)]
    high = tops[-1] + 60
    flat = np.full((high, WIDE), 255, np.uint8)
    for top in tops:
        cv2.line(flat, (0, top), (WIDE, top), 120, 1)
    for one in rows:
        words = f"{one['number']}   {one['azimuth']['text']}   {one['count']['text']}"
        at = HEAD + ROW_PX * (one["number"] - 1) + 42
        cv2.putText(flat, words, (20, at), cv2.FONT_HERSHEY_SIMPLEX, 1.2, 0, 2)
    _, packed = cv2.imencode(".jpg", flat)
    read = {
        "page": 1,
        "rows": rows,
        "size": [WIDE, high],
        "tops": tops,
        "first": 1,
        "notes_left": 700,
    }
    fields = {"batch": uuid.uuid4(), "name": "page.jpg", "read": read, **more}
    photo = PagePhoto(owner=owner, log=log, **fields)
    path_of(photo.pk, AS_SENT).write_bytes(packed.tobytes())
    photo.kept_bytes = packed.size
    put_flat(photo, packed.tobytes())
    photo.save()
    return photo
