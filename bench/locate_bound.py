"""How often an altimeter could tell the place at best: who knows the figure of every walk to the metre.

    python bench/locate_bound.py [--logs 40] [--cells 500] [--legs 10] [--steep 0.16]

The best that remarks allow, whatever the search: every start of the land is tried with the legs as they were
truly walked, exact heights, the noise, wrong remarks and unknown offset as the walkers have them, nothing
slipped. What is missed even so, no search can find. Shares no code with the search.
"""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.special import ndtr

sys.path[:0] = [str(Path(__file__).parent.parent / "tests")]

from support.made_land_walks import LandWalk, LandWalker, MadeLand, hilly_land, walk_on  # noqa: E402

Floats = NDArray[np.float64]
LOGS_A_LAND = 10
TRENDS = ("down", "level", "up")


def main() -> None:
    asked = _asked()
    off_m, claims = [], []
    for seed in range(asked.logs):
        if seed % LOGS_A_LAND == 0:
            land = hilly_land(asked.cells, asked.steep, seed // LOGS_A_LAND)
        off, claim = best_place(land, walk_on(land, asked.legs, {"trend", "alt"}, 1000 + seed))
        off_m.append(off)
        claims.append(claim)
    near, far = (float(np.mean(np.array(off_m) <= limit)) for limit in (100.0, 200.0))
    print(f"{asked.logs} logs of {asked.legs} legs with lie and altimeter, {asked.cells * 0.03:.0f} km of "
          f"{100 * asked.steep:.0f} %: {near:.2f} within 100 m, {far:.2f} within 200 m, "
          f"{np.mean(claims):.2f} said")  # fmt: skip


def best_place(land: MadeLand, walk: LandWalk) -> tuple[float, float]:
    """How far off the likeliest start is, and the chance of being within 100 m of it."""
    log_chance = chances(land, walk)
    weight = np.exp(log_chance - log_chance.max())
    weight /= weight.sum()
    smooth = ndimage.gaussian_filter(weight, 40.0 / land.cell_m)
    row, column = np.unravel_index(int(smooth.argmax()), smooth.shape)
    rows, columns = np.indices(weight.shape)
    claim = float(weight[np.hypot(rows - row, columns - column) * land.cell_m <= 100.0].sum())
    east, north = walk.stations_m[0]
    off = np.hypot((column + 0.5) * land.cell_m - east, -(row + 0.5) * land.cell_m - north)
    return float(off), claim


def chances(land: MadeLand, walk: LandWalk) -> Floats:
    """The logarithm of the chance of a log, for every cell as its start."""
    person, rows = LandWalker(), walk.text.splitlines()[3:]
    steps = (walk.stations_m - walk.stations_m[0]) * (1.0, -1.0) / land.cell_m
    heights = land.height_m.astype(float)
    there = [ndimage.shift(heights, (-s[1], -s[0]), order=1, mode="nearest") for s in steps]
    lengths = np.hypot(*np.diff(walk.stations_m, axis=0).T)
    total = _readings(there, rows, person)
    for k, length in enumerate(lengths):
        total += np.log(_lie(there[k + 1] - there[k], _lie_of(rows[k + 1]), float(length), person))
    inside = _inside(heights.shape, steps)
    return np.where(inside, total, -np.inf)


def _readings(there: list[Floats], rows: list[str], person: LandWalker) -> Floats:
    """Readings share an offset that is normal; it is integrated out in closed form."""
    read = np.array([float(re.search(r"alt (-?\d+) m", row)[1]) for row in rows])  # type: ignore[index]
    off = read[:, None, None] - np.stack(there)
    own, shared = person.altimeter_sd_m**2, person.altimeter_off_sd_m**2
    count = len(read)
    squares = ((off**2).sum(axis=0) - shared / (own + count * shared) * off.sum(axis=0) ** 2) / own
    return np.asarray(-0.5 * squares)


def _lie(rise_m: Floats, said: str, length_m: float, person: LandWalker) -> Floats:
    limit = max(5.0, 0.03 * length_m)
    up, down = ndtr((rise_m - limit) / person.rise_sd_m), ndtr((-rise_m - limit) / person.rise_sd_m)
    told: Any = {"up": up, "down": down, "level": 1.0 - up - down}[said]
    return np.asarray((1.0 - person.wrong) * told + person.wrong / 3.0)


def _lie_of(row: str) -> str:
    return next(one for one in TRENDS if f"[{one}]" in row)


def _inside(shape: tuple[int, ...], steps: Floats) -> NDArray[np.bool_]:
    rows, columns = np.indices(shape)
    inside = np.ones(shape, dtype=bool)
    for across, down in steps:
        r, c = rows + down, columns + across
        inside &= (r >= 0) & (r < shape[0]) & (c >= 0) & (c < shape[1])
    return inside


def _asked() -> argparse.Namespace:
    said = argparse.ArgumentParser(description="How often an altimeter could tell the place at best.")
    said.add_argument("--logs", type=int, default=40)
    said.add_argument("--cells", type=int, default=500, help="Of the made land each way, 30 m each.")
    said.add_argument("--legs", type=int, default=10)
    said.add_argument("--steep", type=float, default=0.16, help="Root mean square slope.")
    return said.parse_args()


if __name__ == "__main__":
    main()
