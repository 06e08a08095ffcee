"""How often a log is found on a terrain, whether what is claimed holds, and how fast that is.

    python bench/locate.py [LOGS] [KIND,...]

Made-up hills and walkers (tests/support/made_land_walks.py), which share no code with the search; kinds that
end in -real walk on hills that the plotting library of the developer's environment ships. Every line gives
shares over LOGS logs (fixed seeds); the kernel's rate is given against a copy of the same bytes in the same
run.
"""

from __future__ import annotations

import sys
import time
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

sys.path[:0] = [str(Path(__file__).parent.parent / part) for part in ("src", "tests")]

from support.made_land_walks import LandWalker, MadeLand, hilly_land, walk_on  # noqa: E402
from support.searches import how_well, searched  # noqa: E402

CELLS = 500
ALL = {"trend", "side", "lie", "alt", "stream"}
CASES: dict[str, tuple[set[str], int, LandWalker, float, float]] = {
    # remarks, legs, walker, steepness of the land, error of its heights in metres
    "side": ({"trend", "side"}, 20, LandWalker(), 0.16, 0.0),
    "alt": ({"trend", "alt"}, 10, LandWalker(), 0.16, 0.0),
    "all": (ALL - {"stream"}, 8, LandWalker(), 0.16, 0.0),
    "slips": ({"trend", "side"}, 20, LandWalker(slip=0.05), 0.16, 0.0),
    "heights": ({"trend", "alt"}, 10, LandWalker(), 0.16, 10.0),
    "trend": ({"trend"}, 15, LandWalker(), 0.16, 0.0),
    "gentle": ({"trend", "side"}, 15, LandWalker(), 0.04, 0.0),
    "alt-real": ({"trend", "alt"}, 10, LandWalker(), 0.0, 0.0),
    "side-real": ({"trend", "side"}, 20, LandWalker(), 0.0, 0.0),
}


def main() -> None:
    logs = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    wanted = sys.argv[2].split(",") if len(sys.argv) > 2 else list(CASES)
    print("kind      logs  <100 m  <200 m  start<100  held  claimed  can tell  km2 (median)  s (median)")
    claims: list[tuple[float, bool]] = []
    for kind in wanted:
        claims += one_case(kind, logs)
    say_claims(claims)
    kernel_rate()


def one_case(kind: str, logs: int) -> list[tuple[float, bool]]:
    remarks, legs, person, steep, error_m = CASES[kind]
    told, times = [], []
    for seed in range(logs):
        land = real_hills() if kind.endswith("-real") else hilly_land(CELLS, steep, seed=seed // 10)
        walk = walk_on(land, legs, remarks, 1000 + seed, person)
        map_of_it = with_error(land, error_m, seed)
        begun = time.perf_counter()
        answer = searched(map_of_it, walk)
        times.append(time.perf_counter() - begun)
        told.append(how_well(land, walk, answer))
    near, far = (np.mean([one.now_off_m <= limit for one in told]) for limit in (100.0, 200.0))
    start = np.mean([one.start_off_m <= 100.0 for one in told])
    held, tells = np.mean([one.is_held for one in told]), np.mean([one.can_tell for one in told])
    claim, km2 = np.mean([one.claim for one in told]), np.median([one.km2 for one in told])
    found = f"{near:6.2f}  {far:6.2f}  {start:9.2f}  {held:.2f}  {claim:7.2f}  {tells:8.2f}  {km2:12.3f}"
    print(f"{kind:9s} {logs:4d}  {found}  {np.median(times):10.2f}", flush=True)
    return [(one.claim, one.now_off_m <= 100.0) for one in told]


@lru_cache(maxsize=1)
def real_hills() -> MadeLand:
    """Hills of 30 by 32 km, 3 arc-seconds drawn out to cells of 30 m (74.5 m by 92.5 m in the file)."""
    import matplotlib.cbook
    from scipy import ndimage

    held = matplotlib.cbook.get_sample_data("jacksboro_fault_dem.npz")
    heights = held["elevation"].astype(float)
    down = np.arange(int(heights.shape[0] * 92.5 / 30.0)) * 30.0 / 92.5
    across = np.arange(int(heights.shape[1] * 74.5 / 30.0)) * 30.0 / 74.5
    at = np.meshgrid(down, across, indexing="ij")
    return MadeLand(ndimage.map_coordinates(heights, at, order=3).astype(np.float32), 30.0)


def with_error(land: MadeLand, error_m: float, seed: int) -> MadeLand:
    """The land as a map has it: heights off by so much, some 200 m long."""
    if error_m == 0:
        return land
    from scipy import ndimage

    noise = ndimage.gaussian_filter(
        np.random.default_rng(seed).normal(size=land.height_m.shape), 200.0 / 60.0
    )
    return MadeLand((land.height_m + error_m * noise / noise.std()).astype(np.float32), land.cell_m)


def say_claims(claims: list[tuple[float, bool]]) -> None:
    """Chance said against chance true, in fifths."""
    said = np.array([one for one, _ in claims])
    true = np.array([one for _, one in claims])
    for low in np.arange(0.0, 1.0, 0.2):
        inside = (said >= low) & (said < low + 0.2 + 1e-9 * (low > 0.7))
        if inside.any():
            is_said, is_true = said[inside].mean(), true[inside].mean()
            fifth = f"said {low:.1f} to {low + 0.2:.1f}"
            print(f"{fifth}: {is_said:.3f} said, {is_true:.3f} true ({inside.sum()} logs)")


def kernel_rate() -> None:
    """Cells a second that one leg takes, against a copy of the bytes it must touch."""
    from pacewright.ground.locate.kernel_arguments import LegChance, StationChance
    from pacewright.ground.locate.kernels import kernels

    side, pad = 1104, 60
    loops, rng = kernels(), np.random.default_rng(1)
    here, moved = (rng.random((side + 16, side + 16), dtype=np.float32) for _ in range(2))
    height = rng.random((side + 2 * pad, side + 2 * pad), dtype=np.float32) * 500
    nothing: Any = np.zeros((1, 1), np.float32)
    maps = rng.random((1, *height.shape), dtype=np.float32)
    runs = np.array([[k, 0, side // 24] for k in range(side // 24)], np.int32)
    most = [np.zeros((side // 24, side // 24), np.float32) for _ in range(3)]
    leg = tuple(LegChance(2, 8.0, 6.0, 0.1, 0.3, -1, 0.3, 1.0))
    station = tuple(StationChance(-1, -99999.0, 100.0, 900.0, 100.0, 0.02, 0))
    at = np.full(6, pad + 0.4)
    land = (height, np.zeros((1, 1), np.uint16), np.zeros((0, 1, 1), np.uint8), np.ones((1, 9), np.float32))

    def one_leg() -> None:
        loops.scatter(here, moved, runs, 24, 1, 0.1, 0.1, 0.01, 1)
        loops.weigh(moved, nothing, here, nothing, runs, 24, 1.0, leg, np.zeros((0, 3)), station, *land,
                    np.ones((1, 5377), np.float32), maps, at, *most)  # fmt: skip

    source, goal = (
        rng.random(side * side * 7 // 2, dtype=np.float32),
        np.empty(side * side * 7 // 2, np.float32),
    )
    ours, copies = [], []
    one_leg()
    for _ in range(9):
        begun = time.perf_counter()
        one_leg()
        ours.append(time.perf_counter() - begun)
        begun = time.perf_counter()
        goal[:] = source
        copies.append(time.perf_counter() - begun)
    # Scatter reads and writes 4 bytes a cell; the weighing reads belief, two heights and a map, and writes.
    print(f"one leg: {side * side / min(ours) / 1e6:.0f} million cells a second on one thread, "
          f"{min(copies) / min(ours):.2f} of the rate of a copy of the same 28 bytes a cell")  # fmt: skip


if __name__ == "__main__":
    main()
