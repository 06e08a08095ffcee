"""Pieces of a photographed page as they are shown beside what was read of it."""

from __future__ import annotations

from typing import Final

import numpy as np

from pacewright.reading.bends import PX_PER_MM
from pacewright.reading.flattening import FlatPage
from pacewright.reading.photographs import open_vision

_AROUND_MM: Final = 0.8
"""Of the rows above and below, so much is shown: a stroke may cross the rule."""
_JPEG_QUALITY: Final = 85


def row_strip(picture: FlatPage, number: int) -> bytes:
    """One row of a page as a PNG file.

    Parameters
    ----------
    picture
        The page seen from above.
    number
        Of the row.

    Raises
    ------
    IndexError
        There is no such row on it.
    """
    at = number - picture.first
    if not 0 <= at < len(picture.row_tops) - 1:
        raise IndexError(f"there is no row {number} on this page")
    around = _AROUND_MM * PX_PER_MM
    top = max(0, round(picture.row_tops[at] - around))
    return _packed(picture.grey[top : round(picture.row_tops[at + 1] + around)], ".png")


def page_picture(picture: FlatPage) -> bytes:
    """A whole page, seen from above, as a JPEG file."""
    return jpeg_of(picture.grey)


def jpeg_of(grey: np.ndarray) -> bytes:
    """Grey values, an array (rows, columns) of bytes, as a JPEG file."""
    cv2 = open_vision()
    return _packed(grey, ".jpg", [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])


def _packed(grey: np.ndarray, kind: str, how: list[int] | None = None) -> bytes:
    done, data = open_vision().imencode(kind, grey, how or [])
    assert done
    return bytes(data)
