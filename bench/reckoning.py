"""Seconds for reading, reckoning and covariances of logs of 1,000, 10,000 and 100,000 legs.

The last column is the whole time per leg over that of the shortest log: it stays near 1 as long as the
work is linear in the legs.
"""

from __future__ import annotations

import random
import time

from pacewright.core.pace.walker import Walker
from pacewright.core.way.reckoning import reckon
from pacewright.files.log_csv import read_log

SIZES = (1_000, 10_000, 100_000)
TURNS = 3


def page(legs: int) -> bytes:
    """A made-up log: every tenth leg ends at a marker, every twentieth boxes an obstacle."""
    chance = random.Random(legs)
    rows = ["# azimuth: magnetic degrees", "# count: paces", "# start: Gate", "azimuth,count,notes"]
    for i in range(legs):
        notes = f"[at marker {i}] dry" if i % 10 == 9 else "[box right 40] pond" if i % 20 == 5 else ""
        rows.append(f"{chance.randrange(360)},{chance.randrange(20, 900)},{notes}")
    return "\n".join(rows).encode("utf-8")


def times(data: bytes) -> tuple[float, float, float]:
    """The seconds of one reading, one reckoning and all covariances of it."""
    began = time.perf_counter()
    log = read_log(data)
    was_read = time.perf_counter()
    reckoning = reckon(log, Walker())
    reckoned = time.perf_counter()
    spread = reckoning.covariances()
    done = time.perf_counter()
    assert len(spread) == len(log.legs) + 1
    return was_read - began, reckoned - was_read, done - reckoned


def main() -> None:
    """Print a line a size: the least of some turns."""
    print(f"{'legs':>8} {'read s':>9} {'reckon s':>9} {'covar. s':>9} {'us a leg':>9} {'to first':>9}")
    first = 0.0
    for legs in SIZES:
        data = page(legs)
        parts = [min(column) for column in zip(*(times(data) for _ in range(TURNS)), strict=True)]
        a_leg = sum(parts) / legs
        first = first or a_leg
        told = " ".join(f"{part:>9.4f}" for part in parts)
        print(f"{legs:>8} {told} {a_leg * 1e6:>9.2f} {a_leg / first:>9.2f}")


if __name__ == "__main__":
    main()
