"""A digit of the page misread: is its leg named first, with the reader's chances in the log and without them?

    PYTHONPATH=src:tests python bench/misread_digits.py [--pages 12] [--logs 200] [--legs 5,10,20] [--seed 0]

What a reader makes of a digit is measured: pages full of the digits of real hands are photographed
(`tests/support/photographed_page.py`) and read, and every digit keeps what was read of it with its chances.
A made walk (`tests/support/made_logs.py`) is then written down without a mistake and read digit by digit,
each digit as one that was measured; one number of a log is read wrongly, by one that was read wrongly.
The confusion and the walks are drawn from the world; what is under test is the search alone.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from pacewright.core.log.travel_log import Cells, Leg, TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.mistakes import Findings, find_mistakes
from pacewright.exceptions import Complaint
from pacewright.files.log_csv import format_cells, read_log
from pacewright.reading.log_rows import doubt_remarks
from pacewright.reading.page_read import SURE, ReadNumber, read_page
from pacewright.sheets.log_page import blank_log
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.typesetting import typeset
from support.made_logs import draw_log
from support.photographed_page import Row, any_camera, photograph, printed, write
from support.simulator import USUAL

Chances = tuple[float, ...]
Pool = dict[int, list[Chances]]
WALKER = Walker(per_100_m=100 / USUAL.pace_m)
KNOWLEDGE = ("closure", "+ known", "+ 2 sightings")


def measured(pages: int, seed: int) -> Pool:
    """What was read of every digit, by what it is."""
    sheets = [printed(typeset([blank_log(PAPERS[name])], PAPERS[name])) for name in ("a4", "letter", "a5")]
    pool: Pool = {digit: [] for digit in range(10)}
    for at in range(seed, seed + pages):
        rng = np.random.default_rng(at)
        sheet, boxes = sheets[at % len(sheets)]
        rows = [
            Row(*("".join(map(str, rng.integers(0, 10, 4))) for _ in range(2)), ()) for _ in boxes.rows[:20]
        ]
        camera = any_camera(rng, at)
        try:
            page = read_page(photograph(write(sheet, boxes, rows, rng, camera), camera))
        except Complaint:
            continue
        read = {row.number: row for row in page.rows}
        for number, row in enumerate(rows, start=1):
            for kind, true in (("azimuth", row.azimuth), ("count", row.count)):
                got = getattr(read[number], kind) if number in read else None
                if got is not None and len(got.text) == len(true):
                    for digit, chances in zip(true, got.chances, strict=True):
                        pool[int(digit)].append(chances)
    return pool


def as_read(rng: np.random.Generator, text: str, pool: Pool, *, wrong_at: int | None = None) -> ReadNumber:
    """A number read digit by digit; the one at `wrong_at` as one that was misread."""
    found = []
    for at, digit in enumerate(text):
        known = pool[int(digit)]
        fit = [one for one in known if (int(np.argmax(one)) != int(digit)) == (at == wrong_at)]
        found.append(fit[rng.integers(len(fit))])
    read = "".join(str(int(np.argmax(one))) for one in found)
    return ReadNumber(read, tuple(found), "digit" if any(max(one) < SURE for one in found) else "")


def misread_log(
    rng: np.random.Generator, log: TravelLog, pool: Pool
) -> tuple[bytes, bytes, int, bool] | None:
    """A log with one number misread: without chances and with them, the leg, and whether it was marked."""
    able = {digit for digit, known in pool.items() if any(int(np.argmax(one)) != digit for one in known)}
    places = [
        (leg, column, at)
        for leg, row in enumerate(log.legs, start=1)
        for column in ("azimuth", "count")
        for at, digit in enumerate(getattr(row.cells, column))
        if digit.isdecimal() and int(digit) in able
    ]
    struck, struck_column, wrong_at = places[rng.integers(len(places))]
    heading = [line.removeprefix("# ").rstrip("\n") for line in log.page.lines if str(line).startswith("#")]
    plain, told, leg, marked = [], [], 0, False
    for row in log.rows:
        cells, remarks = row.cells, []
        if isinstance(row, Leg):
            leg += 1
            texts = {}
            for column in ("azimuth", "count"):
                at = wrong_at if (leg, column) == (struck, struck_column) else None
                number = as_read(rng, getattr(cells, column), pool, wrong_at=at)
                marked = marked or (at is not None and bool(number.doubt))
                texts[column] = number.text
                remarks += doubt_remarks(number, column, heading)
            cells = Cells(texts["azimuth"], texts["count"], cells.notes)
        plain.append(format_cells(cells, log.page))
        told.append(
            format_cells(
                Cells(cells.azimuth, cells.count, " ".join([cells.notes, *remarks]).strip()), log.page
            )
        )
    top = "".join(f"# {line}\n" for line in heading) + "azimuth,count,notes\n"
    return (top + "".join(plain)).encode(), (top + "".join(told)).encode(), struck, marked


def is_first(findings: Findings, leg: int) -> bool:
    """Whether the leg is the likeliest place of a mistake."""
    places = [(one.probability, one.leg) for one in findings.by_leg]
    places += [(one.probability, None) for one in findings.by_reading]
    return max(places, key=lambda one: one[0])[1] == leg


def main(asked: argparse.Namespace) -> None:
    """Print the table."""
    pool = measured(asked.pages, asked.seed)
    every = [(digit, int(np.argmax(one)), max(one)) for digit, known in pool.items() for one in known]
    wrong = [one for one in every if one[0] != one[1]]
    print(f"{len(every)} digits measured, {len(wrong)} misread, {sum(c >= SURE for *_, c in wrong)} sure")
    rng = np.random.default_rng(asked.seed + 1)
    print("legs  observed        logs  leg first: without  with   (misread and not marked: without  with)")
    everything: list[tuple[bool, bool, bool]] = []
    for legs in asked.legs:
        for knows, name in enumerate(KNOWLEDGE):
            here = [one for number in range(asked.logs) if (one := trial(rng, legs, knows, number, pool))]
            everything += here
            print(f"{legs:4d}  {name:14s} {len(here):5d}  {_shares(here)}")
    print(f"all   {'':14s} {len(everything):5d}  {_shares(everything)}")


def trial(
    rng: np.random.Generator, legs: int, knows: int, number: int, pool: Pool
) -> tuple[bool, bool, bool] | None:
    """Of one log: found without the chances, found with them, marked; None where the log refuses it."""
    shape = "loop" if number % 2 else "wander"
    made = draw_log(rng, shape, legs, known=knows > 0, sightings=2 if knows > 1 else 0, mistake=False)
    plain, told, leg, marked = misread_log(rng, read_log(made.text.encode()), pool)
    try:
        logs = read_log(plain), read_log(told)
    except Complaint:
        # An azimuth that no compass has is told by the log itself.
        return None
    without, with_chances = (is_first(find_mistakes(log, WALKER), leg) for log in logs)
    return without, with_chances, marked


def _shares(found: Sequence[tuple[bool, bool, bool]]) -> str:
    table = np.array(found, dtype=float).reshape(-1, 3)
    silent = table[table[:, 2] == 0]
    hidden = f"({silent[:, 0].mean():.3f}  {silent[:, 1].mean():.3f}, {len(silent)})" if len(silent) else ""
    return f"{table[:, 0].mean():18.3f}  {table[:, 1].mean():.3f}  {hidden}"


if __name__ == "__main__":
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("--pages", type=int, default=12)
    reader.add_argument("--logs", type=int, default=200)
    reader.add_argument(
        "--legs", type=lambda text: [int(one) for one in text.split(",")], default=[5, 10, 20]
    )
    reader.add_argument("--seed", type=int, default=0)
    main(reader.parse_args())
