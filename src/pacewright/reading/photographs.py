"""A photograph as grey values, its size known before it is unpacked."""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING, Any, Final

from pacewright.exceptions import FormatComplaint, MissingComplaint, how_to_install

if TYPE_CHECKING:
    import numpy as np

MOST_PIXELS: Final = 120_000_000
"""No telephone takes more; what says it holds more is not unpacked."""
ENOUGH_PIXELS: Final = 16_000_000
"""Beyond it nothing more can be read: larger photographs are made smaller."""
LEAST_SIDE: Final = 500

_PNG: Final = b"\x89PNG\r\n\x1a\n"
_JPEG: Final = b"\xff\xd8\xff"
_HEIC: Final = (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftyphevc", b"ftypavif")
_FRAMES: Final = frozenset({*range(0xC0, 0xC4), *range(0xC5, 0xC8), *range(0xC9, 0xCC), *range(0xCD, 0xD0)})
_SCAN: Final = 0xDA


def open_vision() -> Any:
    """The library that looks at pictures.

    Raises
    ------
    MissingComplaint
        It is not installed.
    """
    try:
        import cv2
    except ImportError:
        raise MissingComplaint(
            "reading a photograph needs libraries that are not installed",
            how_to_install("read"),
        ) from None
    return cv2


def read_photograph(data: bytes) -> np.ndarray:
    """The grey values of a photograph, 0 black to 255 white: an array (rows, columns) of bytes.

    Parameters
    ----------
    data
        A JPEG or PNG file.

    Raises
    ------
    FormatComplaint
        It is no photograph, is cut off, or is too large or too small to read.
    MissingComplaint
        The library that unpacks it is not installed.
    """
    wide, high = photo_size(data)
    check_size(wide, high)
    cv2 = open_vision()
    import numpy as np

    half = wide * high > ENOUGH_PIXELS
    how = cv2.IMREAD_REDUCED_GRAYSCALE_2 if half else cv2.IMREAD_GRAYSCALE
    grey = cv2.imdecode(np.frombuffer(data, np.uint8), how | cv2.IMREAD_IGNORE_ORIENTATION)
    if grey is None:
        raise _damaged()
    return not_larger(np.asarray(grey, dtype=np.uint8))


def check_size(wide: int, high: int) -> None:
    """Refuse a picture that is too large to unpack or too small to read, in points.

    Raises
    ------
    FormatComplaint
        It is one or the other.
    """
    if wide * high > MOST_PIXELS:
        raise FormatComplaint(
            f"this picture says it is {wide} by {high} points, more than any telephone takes",
            "Photograph the page anew",
        )
    if min(wide, high) < LEAST_SIDE:
        raise FormatComplaint(
            f"this picture is only {wide} by {high} points", "Photograph the page at full size, not a preview"
        )


def not_larger(grey: np.ndarray) -> np.ndarray:
    """A picture made smaller where it has more points than can help: array (rows, columns) of bytes."""
    cv2 = open_vision()
    while grey.size > ENOUGH_PIXELS:
        grey = cv2.resize(grey, (grey.shape[1] // 2, grey.shape[0] // 2), interpolation=cv2.INTER_AREA)
    return grey


def photo_size(data: bytes) -> tuple[int, int]:
    """Width and height in points as the file states them; nothing is unpacked.

    Raises
    ------
    FormatComplaint
        It is no photograph, or is cut off.
    """
    if data.startswith(_PNG):
        if len(data) < 33 or b"IEND" not in data[-64:]:
            raise _damaged()
        return struct.unpack(">II", data[16:24])
    if data.startswith(_JPEG):
        return _jpeg_size(data)
    if data[4:12] in _HEIC:
        raise FormatComplaint(
            "this photograph is in HEIC or AVIF, which is not read", "Save or send it as JPEG"
        )
    raise FormatComplaint("this is not a photograph", "Give a picture in JPEG or PNG, or a PDF of scans")


def _jpeg_size(data: bytes) -> tuple[int, int]:
    """Walk through the parts of a JPEG to the one that states its size (ITU-T T.81, annex B)."""
    at, size = 2, None
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            break
        kind = data[at + 1]
        if kind == 0xFF or 0xD0 <= kind <= 0xD8 or kind == 0x01:
            at += 1 if kind == 0xFF else 2
            continue
        length = int.from_bytes(data[at + 2 : at + 4], "big")
        if kind in _FRAMES and at + 9 <= len(data):
            high, wide = struct.unpack(">HH", data[at + 5 : at + 9])
            size = wide, high
        if kind == _SCAN:
            if size is None or data.find(b"\xff\xd9", at) < 0:
                break
            return size
        at += 2 + length
    raise _damaged()


def _damaged() -> FormatComplaint:
    return FormatComplaint(
        "this picture is cut off or damaged", "Copy or send it again, or photograph the page anew"
    )
