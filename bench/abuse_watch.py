"""What a bench of abuse looks at meanwhile: memory of all processes, and how late the machine wakes it."""

from __future__ import annotations

import contextlib
import math
import re
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

LOOK_S = 0.5
LOOKS = 20


def memory_mb(number: int) -> float:
    """The memory of a process and of those it started; pages that they share count once."""
    return sum(map(_own_mb, _with_children(number)))


def _with_children(number: int) -> list[int]:
    found = [number]
    for at in found:
        with contextlib.suppress(OSError):
            for task in Path(f"/proc/{at}/task").iterdir():
                found += map(int, (task / "children").read_text().split())
    return found


def _own_mb(number: int) -> float:
    try:
        text = Path(f"/proc/{number}/smaps_rollup").read_text()
    except OSError:
        return 0.0
    found = re.search(r"^Pss:\s+(\d+)", text, re.MULTILINE)
    return int(found[1]) / 1000 if found else 0.0


@dataclass
class Watch:
    """Looks at the memory as long as it lasts."""

    number: Callable[[], int]
    """Gives the number of the desk's process: one that was killed comes back with another."""
    seen: list[float] = field(default_factory=list)
    late: list[float] = field(default_factory=list)
    is_on: bool = True

    def work(self) -> None:
        """Look until told to stop, and note in ms how late the machine wakes whoever looks."""
        while self.is_on:
            self.seen.append(memory_mb(self.number()))
            for _ in range(LOOKS):
                began = time.perf_counter()
                time.sleep(LOOK_S / LOOKS)
                self.late.append(1000 * (time.perf_counter() - began - LOOK_S / LOOKS))

    def clear(self) -> None:
        """Forget what was seen so far."""
        self.seen, self.late = [], []

    def quarters(self) -> list[float]:
        """The mean memory in each quarter of the time."""
        edges = [len(self.seen) * part // 4 for part in range(5)]
        pairs = [self.seen[a:b] or [math.nan] for a, b in pairwise(edges)]
        return [sum(one) / len(one) for one in pairs]
