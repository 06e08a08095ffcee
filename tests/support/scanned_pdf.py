"""A PDF of scans as a scanner makes it: every page is one picture."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

import cv2
import numpy as np
import pikepdf


def scanned(sheets: Sequence[np.ndarray]) -> bytes:
    """A PDF of pages that are each a JPEG, as scanners write it (ISO 32000-1, 7.4.8)."""
    pictures = [(cv2.imencode(".jpg", sheet)[1].tobytes(), *sheet.shape[::-1]) for sheet in sheets]
    return pdf_of(pictures, pikepdf.Name.DCTDecode)


def pdf_of(pictures: Sequence[tuple[bytes, int, int]], packed: Any, bits: int = 8) -> bytes:
    """A PDF with a page for each picture: its packed bytes, its width and its height."""
    pdf = pikepdf.new()
    for data, wide, high in pictures:
        pdf.add_blank_page()
        image = pikepdf.Stream(pdf, b"")
        image.write(data, filter=packed)
        image.Type, image.Subtype = pikepdf.Name.XObject, pikepdf.Name.Image
        image.Width, image.Height, image.BitsPerComponent = wide, high, bits
        image.ColorSpace = pikepdf.Name.DeviceGray
        pdf.pages[-1].Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(Im0=image))
    whole = io.BytesIO()
    pdf.save(whole)
    return whole.getvalue()
