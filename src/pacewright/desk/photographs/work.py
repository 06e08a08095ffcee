"""What a worker does: a PDF of scans is split, a photograph read and its page laid flat as a picture."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

from pacewright.desk.photographs.keeping import AS_SENT, path_of
from pacewright.desk.workers.lending import lend_more
from pacewright.exceptions import MissingComplaint

if TYPE_CHECKING:
    from pacewright.reading.flattening import FlatPage
    from pacewright.reading.page_read import ReadNumber, ReadPage

READ_MB: Final = 900
"""What reading takes beyond other answers: the photograph, unpacked, and the recogniser."""
MOST_SPLIT_BYTES: Final = 40_000_000
"""Of all pages of a PDF together, as pictures."""


def read_photo(identity: uuid.UUID, frame: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """What is on a photographed page, as it is kept, and the page laid flat.

    Parameters
    ----------
    identity
        Of the photograph.
    frame
        Where its rows are, as a person set it; None where its own marks tell.

    Raises
    ------
    Complaint
        It cannot be read.
    """
    from pacewright.reading.page_read import read_page

    lend_more(READ_MB)
    data = _sent(identity)
    page = read_page(data) if frame is None else _framed(data, frame)
    assert page.picture is not None
    places, flat = _laid_flat(page.picture)
    return {"read": {**_kept(page), **places}, "flat": flat}


def split_scans(identity: uuid.UUID, most: int) -> list[bytes]:
    """The pages of a PDF of scans as JPEG files, in order.

    Parameters
    ----------
    identity
        Of what was handed in.
    most
        So many pages at the most.

    Raises
    ------
    Complaint
        It is damaged or locked, has more pages, or one that is no scan.
    """
    from pacewright.reading.scans import scans_as_jpeg

    lend_more(READ_MB)
    return scans_as_jpeg(_sent(identity), most, MOST_SPLIT_BYTES)


def _sent(identity: uuid.UUID) -> bytes:
    try:
        return path_of(identity, AS_SENT).read_bytes()
    except OSError:
        raise MissingComplaint("the photograph is gone", "Hand it in again") from None


def _framed(data: bytes, frame: Mapping[str, Any]) -> ReadPage:
    from pacewright.reading.framed import Frame, read_framed
    from pacewright.reading.photographs import photo_size

    wide, high = photo_size(data)
    corners = tuple((x * wide, y * high) for x, y in frame["corners"])
    first, second = frame["columns"]
    return read_framed(data, Frame(corners, (first, second), frame["rows"]))


def _kept(page: ReadPage) -> dict[str, Any]:
    rows = [
        {
            "number": row.number,
            "azimuth": _number(row.azimuth),
            "count": _number(row.count),
            "ticks": list(row.ticks),
            "tick_doubt": row.tick_doubt,
            "has_note": row.has_note,
        }
        for row in page.rows
    ]
    return {"page": page.page, "card": page.card, "rows": rows}


def _number(number: ReadNumber) -> dict[str, Any]:
    chances = [[round(one, 4) for one in digit] for digit in number.chances]
    return {"text": number.text, "chances": chances, "doubt": number.doubt}


def _laid_flat(picture: FlatPage) -> tuple[dict[str, Any], bytes]:
    """Where the rows stand on the page laid flat, in its points, and that page as JPEG."""
    from pacewright.reading.strips import page_picture

    high, wide = picture.grey.shape
    places = {
        "size": [int(wide), int(high)],
        "tops": [round(float(top), 1) for top in picture.row_tops],
        "first": picture.first,
        "notes_left": round(float(picture.notes_left), 1),
    }
    return places, page_picture(picture)
