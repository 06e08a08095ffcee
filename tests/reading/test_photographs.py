"""What is no photograph of a page is refused with one sentence, before it can take memory."""

from __future__ import annotations

import struct
import zlib

import cv2
import numpy as np
import pytest

from pacewright.exceptions import FormatComplaint, MissingComplaint
from pacewright.reading.photographs import ENOUGH_PIXELS, read_photograph
from support.limited import run_limited


def png(wide, high, rows=b""):
    """A PNG file that says so much of its size (W3C Recommendation, Portable Network Graphics, 2003)."""

    def part(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", wide, high, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + part(b"IHDR", head) + part(b"IDAT", zlib.compress(rows)) + part(b"IEND", b"")
    )


def jpeg(wide=900, high=1200, grey=200):
    return cv2.imencode(".jpg", np.full((high, wide), grey, np.uint8))[1].tobytes()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"azimuth,count,notes\n", "this is not a photograph"),
        (b"", "this is not a photograph"),
        (b"\0\0\0\x18ftypheic\0\0\0\0", "HEIC"),
        (png(50_000, 50_000), "more than any telephone takes"),
        (png(20, 20), "only 20 by 20 points"),
        (jpeg()[: len(jpeg()) // 2], "cut off or damaged"),
        (jpeg()[:10], "cut off or damaged"),
        (png(900, 900)[:-20], "cut off or damaged"),
        (png(900, 900, b"\0" * 10), "cut off or damaged"),
    ],
)
def test_what_cannot_be_read_is_said_in_one_sentence(data, said):
    with pytest.raises(FormatComplaint) as refused:
        read_photograph(data)
    assert said in refused.value.what and refused.value.do and "\n" not in str(refused.value)


def test_a_large_photograph_is_made_smaller_and_a_bomb_is_not_unpacked():
    # 50 million points, and a PNG that would unpack to 2.5 thousand millions.
    code = """
import cv2, numpy as np
from pacewright.reading.photographs import read_photograph
data = cv2.imencode(".jpg", np.zeros((8660, 5774), np.uint8))[1].tobytes()
print(read_photograph(data).shape)
import sys
sys.path.insert(0, {folder!r})
from reading.test_photographs import png
read_photograph(png(50_000, 50_000))
"""
    from pathlib import Path

    done = run_limited(code.format(folder=str(Path(__file__).parents[1])), most_bytes=2_000_000_000)
    shape, complaint = done.out.splitlines()
    assert done.code == 0, done.err
    assert np.prod([int(one) for one in shape.strip("()").split(",")]) <= ENOUGH_PIXELS
    assert "more than any telephone takes" in complaint


def test_without_the_libraries_the_complaint_says_how_to_install_them(monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "cv2", None)
    with pytest.raises(MissingComplaint, match=r'pip install "pacewright\[read\]"'):
        read_photograph(jpeg())
