"""The pages of a PDF of scans, each as the one picture that it is."""

from __future__ import annotations

import io
import zlib
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

from pacewright.exceptions import FormatComplaint
from pacewright.reading.photographs import check_size, not_larger, read_photograph

if TYPE_CHECKING:
    import numpy as np

MOST_SCANS: Final = 200
_MOST_BYTES: Final = 400_000_000
"""No scan unpacks to more."""
_HEAD_WITHIN: Final = 1024
_SCAN_SIDE: Final = 500
_JPEG: Final = "/DCTDecode"
_UNPACKED: Final = frozenset({"/FlateDecode", "/CCITTFaxDecode", _JPEG})


def is_pdf(data: bytes) -> bool:
    """Whether a file is a PDF."""
    return b"%PDF-" in data[:_HEAD_WITHIN]


def scans_as_jpeg(data: bytes, most: int, most_bytes: int) -> list[bytes]:
    """Every page of a PDF of scans as a JPEG file in greys, in order.

    Parameters
    ----------
    data
        As for `read_scans`.
    most, most_bytes
        How many pages, and how many bytes all of them together may have.

    Raises
    ------
    FormatComplaint
        As for `read_scans`, or the pages together are larger.
    """
    from pacewright.reading.strips import jpeg_of

    pictures: list[bytes] = []
    for grey in read_scans(data, most):
        pictures.append(jpeg_of(grey))
        if sum(map(len, pictures)) > most_bytes:
            raise FormatComplaint(
                f"the pages of this PDF are larger than {most_bytes // 1_000_000} MB together",
                "Give fewer pages at a time",
            )
    return pictures


def read_scans(data: bytes, most: int = MOST_SCANS) -> Iterator[np.ndarray]:
    """The grey values of every page of a PDF of scans, one page in memory at a time.

    Parameters
    ----------
    data
        A PDF file whose pages are one picture each.
    most
        So many pages at the most.

    Raises
    ------
    FormatComplaint
        It is damaged or locked, has too many pages, or holds a page that is no scan.

    References
    ----------
    ISO 32000-1, 7.4 (filters) and 8.9 (images).
    """
    import pikepdf

    unpack = pikepdf.Pdf.open
    try:
        # Nothing is repaired: a page that was lost would be missing without a word.
        opened = unpack(io.BytesIO(data), attempt_recovery=False)
    except pikepdf.PasswordError:
        raise FormatComplaint(
            "this PDF is locked with a password", "Save it without one, or give its pages as pictures"
        ) from None
    except pikepdf.PdfError:
        raise FormatComplaint("this PDF is cut off or damaged", "Copy or scan it again") from None
    with opened as pdf:
        many = len(pdf.pages)
        if not 0 < many <= most:
            raise FormatComplaint(
                f"this PDF has {many} page{'' if many == 1 else 's'}",
                f"Give at most {most} scan{'' if most == 1 else 's'} at a time",
            )
        for number in range(many):
            try:
                yield _scan(pdf.pages[number])
            except FormatComplaint as complaint:
                raise FormatComplaint(f"page {number + 1}: {complaint.what}", complaint.do) from None
            except (pikepdf.PdfError, pikepdf.PikepdfError, *_UNREADABLE):
                raise FormatComplaint(
                    f"page {number + 1}: its picture cannot be unpacked",
                    "Save the page as a picture (JPEG or PNG) and give that",
                ) from None


def _scan(page: Any) -> np.ndarray:
    pictures = [one for one in page.images.values() if _side(one) >= _SCAN_SIDE]
    if len(pictures) != 1:
        raise FormatComplaint(
            "this page is no scan: it is not one picture",
            "Scan or photograph the page that was written on, or save it as a picture (JPEG or PNG)",
        )
    return _grey(pictures[0])


def _side(picture: Any) -> int:
    return min(int(picture.get("/Width", 0)), int(picture.get("/Height", 0)))


def _grey(picture: Any) -> np.ndarray:
    import numpy as np
    import pikepdf

    check_size(int(picture.Width), int(picture.Height))
    seen = pikepdf.PdfImage(picture)
    if seen.filters == [_JPEG]:
        return read_photograph(picture.read_raw_bytes())
    _check_unpacked(picture, seen)
    with seen.as_pil_image(apply_mask=False) as unpacked:
        return not_larger(np.asarray(unpacked.convert("L"), dtype=np.uint8))


def _check_unpacked(picture: Any, seen: Any) -> None:
    """Refuse what unpacks to more than its size tells, before it takes the memory."""
    if len(seen.filters) > 1 or not _UNPACKED.issuperset(seen.filters):
        raise FormatComplaint(
            "its picture is packed in a way that is not read",
            "Save the page as a picture (JPEG or PNG) and give that",
        )
    if seen.filters == ["/FlateDecode"]:
        most = min(_MOST_BYTES, 8 * int(picture.Width) * int(picture.Height) + _MOST_SPARE)
        unpacker = zlib.decompressobj()
        rest, long = picture.read_raw_bytes(), 0
        while rest and not unpacker.eof:
            long += len(unpacker.decompress(rest, _STEP))
            rest = unpacker.unconsumed_tail
            if long > most:
                raise FormatComplaint(
                    "its picture unpacks to more than it says", "Scan or photograph the page anew"
                )


_UNREADABLE: Final = (ValueError, TypeError, KeyError, AttributeError, OSError, zlib.error)
_STEP: Final = 1 << 20
_MOST_SPARE: Final = 1 << 20
