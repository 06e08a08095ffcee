"""Every page of a PDF of scans is read; what is no scan, locked or a bomb is refused in one sentence."""

from __future__ import annotations

import io
import zlib
from pathlib import Path

import cv2
import numpy as np
import pikepdf
import pytest

from pacewright.exceptions import FormatComplaint
from pacewright.reading.corner_marks import find_page
from pacewright.reading.page_read import read_pages
from pacewright.reading.scans import is_pdf, read_scans, scans_as_jpeg
from pacewright.reading.strips import page_picture, row_strip
from pacewright.sheets.log_page import blank_log
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.typesetting import typeset
from support.limited import run_limited
from support.photographed_page import Camera, Row, printed, write
from support.scanned_pdf import pdf_of, scanned


@pytest.fixture(scope="module")
def pages():
    pdf = typeset([blank_log(PAPERS["a5"], pages=2)], PAPERS["a5"])
    rng = np.random.default_rng(3)
    sheets = []
    for number in (0, 1):
        sheet, boxes = printed(pdf, number)
        sheets.append(
            write(sheet, boxes, [Row("305", "240"), Row("14", "77")], rng, Camera()).astype(np.uint8)
        )
    return pdf, sheets


def test_every_page_of_a_pdf_of_scans_is_read_in_order(pages):
    _, sheets = pages
    read = read_pages(scanned(sheets))
    assert [page.page for page in read] == [1, 2]
    assert [[row.number for row in page.rows] for page in read] == [[1, 2], [16, 17]]
    assert all([len(row.azimuth.text) for row in page.rows] == [3, 2] for page in read)


def test_a_page_of_a_pdf_that_is_none_of_ours_keeps_no_other_from_being_read(pages):
    _, sheets = pages
    first, blank, second = read_pages(scanned([sheets[0], np.full_like(sheets[0], 240), sheets[1]]))
    assert (first.page, second.page) == (1, 2)
    assert isinstance(blank, FormatComplaint) and blank.what.startswith("page 2: no log page is to be seen")


@pytest.mark.parametrize("bits", [1, 8])
def test_scans_in_black_and_white_and_packed_without_loss_are_found(pages, bits):
    _, sheets = pages
    high, wide = sheets[0].shape
    points = np.packbits(sheets[0] > 128, axis=1) if bits == 1 else sheets[0]
    packed = zlib.compress(points.tobytes())
    data = pdf_of([(packed, wide, high)], pikepdf.Name.FlateDecode, bits)
    (grey,) = read_scans(data)
    assert grey.shape == sheets[0].shape
    assert find_page(grey).code.page == 1


def test_a_row_is_cut_out_of_the_page_at_the_place_it_is_written(pages):
    _, sheets = pages
    read = read_pages(scanned(sheets[1:]))[0]
    assert read.picture is not None
    strips = [
        cv2.imdecode(np.frombuffer(row_strip(read.picture, number), np.uint8), cv2.IMREAD_GRAYSCALE)
        for number in (16, 17, 18)
    ]
    dark = [float(np.mean(strip[15:-15, 80:420] < 120)) for strip in strips]
    assert min(dark[:2]) > 4 * dark[2]
    assert page_picture(read.picture).startswith(b"\xff\xd8\xff")
    with pytest.raises(IndexError):
        row_strip(read.picture, 15)


def test_the_pages_of_a_pdf_of_scans_are_taken_out_as_pictures_within_bounds(pages):
    _, sheets = pages
    whole = scanned(sheets)
    taken = scans_as_jpeg(whole, 2, 10_000_000)
    found = [cv2.imdecode(np.frombuffer(one, np.uint8), cv2.IMREAD_GRAYSCALE) for one in taken]
    assert [find_page(grey).code.page for grey in found] == [1, 2]
    for most, most_bytes, said in (
        (1, 10_000_000, "this PDF has 2 pages. Give at most 1 scan at a time"),
        (2, 1_000, "larger than 0 MB together. Give fewer pages"),
    ):
        with pytest.raises(FormatComplaint, match=said):
            scans_as_jpeg(whole, most, most_bytes)


def locked(data):
    whole = io.BytesIO()
    with pikepdf.Pdf.open(io.BytesIO(data)) as pdf:
        pdf.save(whole, encryption=pikepdf.Encryption(owner="a", user="b"))
    return whole.getvalue()


def test_what_is_no_pdf_of_scans_is_said_in_one_sentence(pages):
    pdf, sheets = pages
    whole = scanned(sheets)
    for data, said in (
        (pdf, "page 1: this page is no scan"),
        (whole[:900], "this PDF is cut off or damaged"),
        (locked(whole), "locked with a password"),
        (pdf_of([(b"no", 900, 900)], pikepdf.Name.FlateDecode), "page 1: its picture cannot be unpacked"),
        (pdf_of([(b"no", 900, 900)], pikepdf.Name.JBIG2Decode), "page 1: its picture is packed in a way"),
        (pdf_of([(b"", 50_000, 50_000)], pikepdf.Name.FlateDecode), "page 1: this picture says it is 50000"),
    ):
        assert is_pdf(data)
        with pytest.raises(FormatComplaint) as refused:
            read_pages(data)
        assert said in refused.value.what and refused.value.do and "\n" not in str(refused.value)


@pytest.mark.slow
def test_a_picture_that_unpacks_to_more_than_it_says_takes_no_memory():
    code = """
import sys, zlib
sys.path.insert(0, {folder!r})
import pikepdf
from support.scanned_pdf import pdf_of
from pacewright.reading.scans import read_scans
packer = zlib.compressobj(9)
bomb = b"".join(packer.compress(bytes(1 << 24)) for _ in range(256)) + packer.flush()
list(read_scans(pdf_of([(bomb, 900, 900)], pikepdf.Name.FlateDecode)))
"""
    done = run_limited(code.format(folder=str(Path(__file__).parents[1])), most_bytes=2_000_000_000)
    assert "its picture unpacks to more than it says" in done.out + done.err
    assert "MemoryError" not in done.out + done.err
