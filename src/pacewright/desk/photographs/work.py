"""What a worker does with a photograph: it is read, and its page laid flat as a picture."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, Any, Final

from pacewright.desk.photographs.keeping import AS_SENT, path_of
from pacewright.desk.workers.lending import lend_more
from pacewright.exceptions import MissingComplaint

if TYPE_CHECKING:
    from pacewright.reading.page_read import ReadNumber, ReadPage

READ_MB: Final = 900
"""What reading takes beyond other answers: the photograph, unpacked, and the recogniser."""
_JPEG_QUALITY: Final = 72


def read_photo(identity: uuid.UUID) -> dict[str, Any]:
    """What is on a photographed page, as it is kept, and the page laid flat.

    Raises
    ------
    Complaint
        It cannot be read.
    """
    from pacewright.reading.page_read import read_page

    lend_more(READ_MB)
    try:
        data = path_of(identity, AS_SENT).read_bytes()
    except OSError:
        raise MissingComplaint("the photograph is gone", "Hand it in again") from None
    page = read_page(data)
    places, flat = _laid_flat(data)
    return {"read": {**_kept(page), **places}, "flat": flat}


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
    return {"page": page.page, "rows": rows}


def _number(number: ReadNumber) -> dict[str, Any]:
    chances = [[round(one, 4) for one in digit] for digit in number.chances]
    return {"text": number.text, "chances": chances, "doubt": number.doubt}


def _laid_flat(data: bytes) -> tuple[dict[str, Any], bytes]:
    """Where the rows stand on the page laid flat, in its points, and that page as JPEG."""
    import numpy as np

    from pacewright.reading.corner_marks import find_page
    from pacewright.reading.flattening import PX_PER_MM, flatten
    from pacewright.reading.photographs import open_vision, read_photograph

    cv2 = open_vision()
    grey = read_photograph(data)
    found = find_page(grey)
    ink = flatten(grey, found)
    grid = found.grid
    shown = np.clip(255.0 * (1.0 - ink), 0, 255).astype(np.uint8)
    _, packed = cv2.imencode(".jpg", shown, [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])
    places = {
        "size": [int(shown.shape[1]), int(shown.shape[0])],
        "tops": [round(grid.row_top_mm(row) * PX_PER_MM, 1) for row in range(grid.rows + 1)],
        "first": (max(found.code.page, 1) - 1) * grid.rows + 1,
        "notes_left": round(grid.notes_mm * PX_PER_MM, 1),
    }
    return places, packed.tobytes()
