"""Log pages read from made photographs of real handwriting: marks found, digits right, sure and unsure, time.

    PYTHONPATH=src:tests python bench/read.py [--marks 500] [--pages 20] [--seed 0] [--half 2]

The photographs (`tests/support/photographed_page.py`) are of the printed page on A4, Letter and A5 in turn,
any way up, tilted to 40 degrees, curled, creased, in shadow, blurred, as JPEG; every digit is from the hand
of somebody else (`tests/support/handwriting.py`). The weight of the second opinion was chosen on the first
half of the images of each digit: `--half 2` takes only the others. Pages are written full: four digits in
both numbers.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import replace

import numpy as np

from pacewright.exceptions import Complaint
from pacewright.reading.corner_marks import find_page
from pacewright.reading.page_read import SURE, ReadPage, read_page
from pacewright.reading.photographs import read_photograph
from pacewright.sheets.log_page import blank_log
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.typesetting import typeset
from support import photographed_page
from support.handwriting import handwritten
from support.photographed_page import Row, any_camera, photograph, printed, write

PAPERS_IN_TURN = ("a4", "letter", "a5")


def made_photograph(seed: int, *, is_small: bool) -> tuple[bytes, list[Row]]:
    """One photograph, and what is written on its page; a small one has 1800 by 2400 points."""
    rng = np.random.default_rng(seed)
    sheet, boxes = PRINTED[seed % len(PRINTED)]
    rows = [
        Row(
            *("".join(map(str, rng.integers(0, 10, 4))) for _ in range(2)),
            tuple(np.nonzero(rng.random(5) < 0.15)[0]),
        )
        for _ in boxes.rows[:20]
    ]
    camera = any_camera(rng, seed)
    if is_small:
        camera = replace(camera, wide_px=1800, high_px=2400)
    return photograph(write(sheet, boxes, rows, rng, camera), camera), rows


def marks(count: int, seed: int) -> None:
    """How often the page is found, and what is said where it is not."""
    missed: dict[str, int] = {}
    for at in range(count):
        data, _ = made_photograph(seed + at, is_small=True)
        try:
            find_page(read_photograph(data))
        except Complaint as complaint:
            missed[complaint.what] = missed.get(complaint.what, 0) + 1
    found = count - sum(missed.values())
    print(f"pages found by marks and code: {found} of {count} ({100 * found / count:.1f} %) {missed or ''}")


def pages(count: int, seed: int) -> None:
    """How many digits are right, how many wrong without a mark, how many marked; the time of a page."""
    right, chance, marked, seconds, ticks = [], [], [], [], []
    for at in range(count):
        data, rows = made_photograph(seed + at, is_small=False)
        begin = time.perf_counter(), time.process_time()
        page = read_page(data)
        seconds.append((time.perf_counter() - begin[0], time.process_time() - begin[1]))
        for kind, is_right, sure, by_shape in _digits(page, rows):
            del kind
            right.append(is_right)
            chance.append(sure)
            marked.append(by_shape)
        read = {row.number: set(row.ticks) for row in page.rows}
        names = ("at", "see", "box left", "box right", "est")
        ticks += [
            (name in read.get(number, ())) == (place in row.ticks)
            for number, row in enumerate(rows, start=1)
            for place, name in enumerate(names)
        ]
    ok, sure, shape = np.array(right), np.array(chance), np.array(marked)
    print(f"digits: {len(ok)}, right {100 * ok.mean():.2f} %")
    print(f"ticks: {len(ticks)}, right {100 * np.mean(ticks):.2f} %")
    for least in sorted({0.7, 0.8, 0.85, 0.9, 0.95, 0.97, SURE}):
        is_sure = (sure >= least) & ~shape
        print(
            f"  sure from {least:.2f}: wrong and not marked {100 * (is_sure & ~ok).mean():.2f} %, "
            f"marked {100 * (~is_sure).mean():.2f} %{'   <- as it is set' if least == SURE else ''}"
        )
    wall, cpu = np.median(seconds, axis=0)
    print(f"a page: {wall:.1f} s by the clock, {cpu:.1f} s of processor time (median of {count})")


def _digits(page: ReadPage, rows: list[Row]) -> list[tuple[str, bool, float, bool]]:
    found = []
    read = {row.number: row for row in page.rows}
    for number, row in enumerate(rows, start=1):
        for kind, true in (("azimuth", row.azimuth), ("count", row.count)):
            got = getattr(read[number], kind) if number in read else None
            if got is None or len(got.text) != len(true):
                found += [(kind, False, 0.0, bool(got and got.doubt))] * len(true)
                continue
            by_shape = got.doubt not in ("", "digit")
            found += [
                (kind, digit == one, max(chances), by_shape)
                for digit, one, chances in zip(true, got.text, got.chances, strict=True)
            ]
    return found


if __name__ == "__main__":
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("--marks", type=int, default=500)
    reader.add_argument("--pages", type=int, default=20)
    reader.add_argument("--seed", type=int, default=0)
    reader.add_argument("--half", type=int, choices=(1, 2))
    asked = reader.parse_args()
    if asked.half:
        own = slice(250 * (asked.half - 1), 250 * asked.half)
        hands = {digit: images[own] for digit, images in handwritten().items()}
        photographed_page.handwritten = lambda: hands
    PRINTED = [printed(typeset([blank_log(PAPERS[name])], PAPERS[name])) for name in PAPERS_IN_TURN]
    if asked.marks:
        marks(asked.marks, asked.seed)
    if asked.pages:
        pages(asked.pages, asked.seed)
