"""How fast a log is searched for, in what memory, and the rate of the inner loops beside a copy.

    python bench/locate_speed.py [--logs 3] [--large]

Each search is of 20 legs with their lie and the side the slope faces, on made hills of 30 by 30 km
(`--large`: 90 by 90 km as well), the land's layers at hand. Processor seconds are of both threads together:
half of them is what two quiet cores take. The inner loops are timed turn by turn with a copy of the bytes
that they must read and write, so that whatever else the machine does strikes both.
"""

from __future__ import annotations

import argparse
import os
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

sys.path[:0] = [str(Path(__file__).parent.parent / part) for part in ("src", "tests")]

from pacewright.ground.locate.kernel_arguments import LegChance, StationChance  # noqa: E402
from pacewright.ground.locate.kernels import kernels  # noqa: E402
from pacewright.ground.locate.land_layers import LandLayers  # noqa: E402
from support.made_land_walks import hilly_land, walk_on  # noqa: E402
from support.searches import searched, terrain_of  # noqa: E402

SIDE, PAD, TILE = 1104, 60, 24
TURNS = 15


def main() -> None:
    said = argparse.ArgumentParser(description="How fast a log is searched for.")
    said.add_argument("--logs", type=int, default=3)
    said.add_argument("--large", action="store_true", help="90 by 90 km as well.")
    asked = said.parse_args()
    print(f"Load before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    kernel_rates()
    for cells in (1000, 3000) if asked.large else (1000,):
        searches(cells, asked.logs)
    print(f"Load after: {os.getloadavg()[0]:.1f}")


def searches(cells: int, logs: int) -> None:
    land = hilly_land(cells, 0.16, seed=0)
    ground = LandLayers(terrain_of(land))
    # The first search compiles, and makes the layers.
    searched(land, walk_on(land, 3, {"trend", "side"}, 1), ground=ground)
    for seed in range(logs):
        walk = walk_on(land, 20, {"trend", "side"}, 2000 + seed)
        wall, processor = time.perf_counter(), time.process_time()
        found = searched(land, walk, ground=ground)
        wall, processor = time.perf_counter() - wall, time.process_time() - processor
        km = f"{cells * 0.03:.0f}"
        print(f"{km} by {km} km: {processor:.2f} processor s, {wall:.2f} s by the clock, "
              f"{found.region.km2:.3f} km2 left", flush=True)  # fmt: skip
    most_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    print(f"Most memory so far: {most_mb:.0f} MB")


def kernel_rates() -> None:
    """Cells a second on one thread, with the bytes that a cell must have read and written."""
    loops, rng = kernels(), np.random.default_rng(1)
    fields = [rng.random((SIDE + 16, SIDE + 16), dtype=np.float32) for _ in range(4)]
    height = rng.random((SIDE + 2 * PAD, SIDE + 2 * PAD), dtype=np.float32) * 500
    maps = rng.random((1, *height.shape), dtype=np.float32)
    tiles = SIDE // TILE
    runs = np.array([[k, 0, tiles] for k in range(tiles)], np.int32)
    most = [np.zeros((tiles, tiles), np.float32) for _ in range(3)]
    none: Any = np.zeros((1, 1), np.float32)
    land = (height, np.zeros((1, 1), np.uint16), np.zeros((0, 1, 1), np.uint8), np.ones((1, 9), np.float32),
            np.ones((1, 5377), np.float32), maps, np.full(6, PAD + 0.4), *most)  # fmt: skip

    def spread() -> None:
        loops.scatter(fields[0], fields[1], runs, TILE, 1, 0.1, 0.1, 0.01, 1)

    slips = np.array([[12.0, 5.0, 0.004], [-9.0, 14.0, 0.004], [3.0, -4.0, 0.01], [-3.0, 4.0, 0.01],
                      [7.0, 1.0, 0.002], [0.0, -11.0, 0.002], [-15.0, -2.0, 0.003]])  # fmt: skip

    def weighing(trend: int, reading_m: float, extra: int, ways: int = 0) -> Callable[[], None]:
        leg = tuple(LegChance(trend, 8.0, 6.0, 0.1, 0.3, -1, 0.3, 1.0))
        station = tuple(StationChance(-1, reading_m, 100.0, 900.0, 100.0, 0.02, extra))
        offsets = fields[2:] if reading_m > -9000.0 else [none, none]

        def weigh() -> None:
            loops.weigh(fields[1], offsets[0], fields[0], offsets[1], runs, TILE, 1.0, leg, slips[:ways],
                        station, *land)  # fmt: skip

        return weigh

    # Belief read and written; heights at both ends of a leg; a map of chances; the offset read and written.
    rate("spread", spread, 8)
    rate("weigh side", weighing(-1, -99999.0, 0), 12)
    rate("weigh lie", weighing(2, -99999.0, -1), 16)
    rate("weigh lie and side", weighing(2, -99999.0, 0), 20)
    rate("weigh lie and altimeter", weighing(2, 400.0, -1), 24)
    # Every way a slip may have gone is the same belief once more, read from elsewhere.
    rate("... lie and side, slips", weighing(2, -99999.0, 0, len(slips)), 20 + 4 * len(slips))


def rate(name: str, work: Callable[[], None], bytes_a_cell: int) -> None:
    source = np.random.default_rng(2).random(SIDE * SIDE * bytes_a_cell // 8, dtype=np.float32)
    goal = np.empty_like(source)
    work()
    ours, copies = [], []
    for _ in range(TURNS):
        begun = time.thread_time()
        work()
        ours.append(time.thread_time() - begun)
        begun = time.thread_time()
        goal[:] = source
        copies.append(time.thread_time() - begun)
    cells = SIDE * SIDE / min(ours) / 1e6
    print(f"{name:24s} {cells:5.0f} million cells a second on one thread, "
          f"{min(copies) / min(ours):.2f} of the rate of a copy of its {bytes_a_cell} bytes")  # fmt: skip


if __name__ == "__main__":
    main()
