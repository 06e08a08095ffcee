"""A written log page as a scanner sees it, for whoever needs one and not the making of a photograph."""

from __future__ import annotations

import functools

import cv2
import numpy as np

from pacewright.sheets.log_page import blank_log
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.typesetting import typeset
from support.photographed_page import Camera, Row, printed, write


@functools.cache
def page_scan(rows: tuple[tuple[str, str], ...], seed: int = 4) -> bytes:
    """A page on A4 with these azimuths and counts in the digits of real hands, as JPEG."""
    rng = np.random.default_rng(seed)
    sheet, boxes = printed(typeset([blank_log(PAPERS["a4"])], PAPERS["a4"]))
    page = write(sheet, boxes, [Row(azimuth, count) for azimuth, count in rows], rng, Camera())
    page = page + rng.normal(0, 1.5, page.shape)
    _, data = cv2.imencode(".jpg", np.clip(page, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, 80])
    return bytes(data.tobytes())
