"""How often a log is found on a terrain, and whether what is claimed holds.

    python bench/locate.py [--kinds side,alt] [--logs 20] [--first 0] [--keep FILE] ...

Made-up hills and walkers (tests/support/made_land_walks.py), which share no code with the search; kinds that
end in -real walk on hills that the plotting library of the developer's environment ships. With --keep every
log found is added to a file and left out the next time, so that parts add up; what is printed is said of all
that the file holds of these kinds. `locate_speed.py` says how fast it is.
"""

from __future__ import annotations

import argparse
import csv
import math
import sys
import time
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

sys.path[:0] = [str(Path(__file__).parent.parent / part) for part in ("src", "tests")]

from support.made_land_walks import LandWalk, LandWalker, MadeLand, as_mapped, hilly_land, walk_on  # noqa: E402
from support.searches import NORTH, WEST, how_well, searched  # noqa: E402

LOGS_A_LAND = 10
NEAR_M = 100.0


class Kind(NamedTuple):
    """What is written, how long, by whom, how steep the land is, and how far its heights are off."""

    remarks: frozenset[str]
    legs: int
    walker: LandWalker = LandWalker()
    steep: float = 0.16
    error_m: float = 0.0


def _said(text: str) -> frozenset[str]:
    return frozenset(text.split())


SLIPS = LandWalker(slip=0.05)
KINDS: dict[str, Kind] = {
    "side": Kind(_said("trend side"), 20),
    "alt": Kind(_said("trend alt"), 10),
    "all": Kind(_said("trend side lie alt"), 8),
    "stream": Kind(_said("trend stream lie"), 15),
    "trend": Kind(_said("trend"), 15),
    "gentle": Kind(_said("trend side"), 15, steep=0.04),
    "side-slips": Kind(_said("trend side"), 20, SLIPS),
    "alt-slips": Kind(_said("trend alt"), 10, SLIPS),
    "side-heights": Kind(_said("trend side"), 20, error_m=10.0),
    "alt-heights": Kind(_said("trend alt"), 10, error_m=10.0),
    "all-heights": Kind(_said("trend side lie alt"), 8, error_m=10.0),
    "side-real": Kind(_said("trend side"), 20),
    "alt-real": Kind(_said("trend alt"), 10),
}


class Told(NamedTuple):
    """What came of one log; `places` are chances said, each with 1 where it was right."""

    kind: str
    cells: int
    seed: int
    now_off_m: float
    start_off_m: float
    is_held: int
    can_tell: int
    km2: float
    processor_s: float
    places: tuple[tuple[float, int], ...]


def main() -> None:
    asked = _asked()
    kinds = asked.kinds.split(",") if asked.kinds else list(KINDS)
    held = dict(_read(asked.keep))
    end = time.monotonic() + 60.0 * asked.minutes
    # A few logs of every kind, and then more: whatever time there is, all kinds are seen.
    for seed in range(asked.first, asked.first + asked.logs):
        for kind in kinds:
            key = (kind, asked.cells, seed)
            if key in held or time.monotonic() > end:
                continue
            held[key] = one_log(*key)
            _add(asked.keep, held[key])
    told = [one for one in held.values() if one.kind in kinds and one.cells == asked.cells]
    say_kinds(told)
    say_claims("of the likeliest place", [one.places[0] for one in told if one.places])
    say_claims("of all places told", [place for one in told for place in one.places])


def one_log(kind: str, cells: int, seed: int) -> Told:
    remarks, legs, person, steep, error_m = KINDS[kind]
    land = real_hills() if kind.endswith("-real") else made_hills(cells, steep, seed // LOGS_A_LAND)
    walk = walk_on(land, legs, remarks, 1000 + seed, person)
    begun = time.process_time()
    answer = searched(as_mapped(land, error_m, seed), walk)
    took_s = time.process_time() - begun
    told = how_well(land, walk, answer)
    places = tuple((one.probability, int(_is_near(one.now_m, walk))) for one in answer.candidates)
    return Told(kind, cells, seed, told.now_off_m, told.start_off_m, int(told.is_held), int(told.can_tell),
                told.km2, took_s, places)  # fmt: skip


def _is_near(found: tuple[float, float], walk: LandWalk) -> bool:
    east, north = walk.stations_m[-1]
    return math.hypot(found[0] - WEST - east, found[1] - NORTH - north) <= NEAR_M


@lru_cache(maxsize=4)
def made_hills(cells: int, steep: float, seed: int) -> MadeLand:
    """Made land, kept for the logs that are walked on it."""
    return hilly_land(cells, steep, seed=seed)


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


def say_kinds(told: list[Told]) -> None:
    print(
        "kind          logs  <100 m  <200 m  start<100  held           said  can tell  km2 (median)  seconds"
    )
    for kind in dict.fromkeys(one.kind for one in told):
        mine = [one for one in told if one.kind == kind]
        near, far = (_share([one.now_off_m <= limit for one in mine]) for limit in (NEAR_M, 2 * NEAR_M))
        start, held = (
            _share([one.start_off_m <= NEAR_M for one in mine]),
            _share([one.is_held for one in mine]),
        )
        said = np.mean([one.places[0][0] if one.places else 0.0 for one in mine])
        rest = f"{_share([one.can_tell for one in mine]):8.2f}  {np.median([one.km2 for one in mine]):12.3f}"
        took_s = np.median([one.processor_s for one in mine])
        region = share_with_error(held, len(mine))
        print(f"{kind:12s}  {len(mine):4d}  {near:6.2f}  {far:6.2f}  {start:9.2f}  {region}"
              f"  {said:4.2f}  {rest}  {took_s:11.2f}")  # fmt: skip
    if told:
        held = _share([one.is_held for one in told])
        print(f"The region held the truth in {share_with_error(held, len(told))} of {len(told)} logs.")


def say_claims(what: str, places: list[tuple[float, int]]) -> None:
    """Chance said against chance true, in fifths."""
    said, true = (np.array([one[k] for one in places], dtype=float) for k in (0, 1))
    print(f"Chance said and true, {what}:")
    for low in np.arange(0.0, 1.0, 0.2):
        inside = (said >= low) & (said < low + 0.2 + 1e-6 * (low > 0.7))
        if inside.any():
            is_true = share_with_error(true[inside].mean(), int(inside.sum()))
            fifth = f"{low:.1f} to {low + 0.2:.1f}"
            print(f"  {fifth}: {said[inside].mean():.3f} said, {is_true} true of {inside.sum()}")


def _share(which: list[Any]) -> float:
    return float(np.mean(which))


def share_with_error(share: float, count: int) -> str:
    """A share with its standard error."""
    return f"{share:.3f} ± {math.sqrt(max(share * (1.0 - share), 0.5 / count) / count):.3f}"


def _read(path: str | None) -> Iterator[tuple[tuple[str, int, int], Told]]:
    if path is None or not Path(path).exists():
        return
    with Path(path).open(encoding="utf-8", newline="") as file:
        for kind, cells, seed, *numbers, places in csv.reader(file):
            now, start, held, tells, km2, took_s = (float(one) for one in numbers)
            pairs = read_pairs(places)
            one = Told(kind, int(cells), int(seed), now, start, int(held), int(tells), km2, took_s, pairs)
            yield (kind, int(cells), int(seed)), one


def _add(path: str | None, told: Told) -> None:
    if path is None:
        return
    with Path(path).open("a", encoding="utf-8", newline="") as file:
        csv.writer(file).writerow([*told[:-1], write_pairs(told.places)])


def read_pairs(text: str) -> tuple[tuple[float, int], ...]:
    """Chances said, each with 1 where it was right, as `write_pairs` wrote them."""
    return tuple((float(chance), int(hit)) for chance, hit in (one.split(":") for one in text.split()))


def write_pairs(places: tuple[tuple[float, int], ...]) -> str:
    """Chances said, each with 1 where it was right, for a cell of a file."""
    return " ".join(f"{chance:.4f}:{hit}" for chance, hit in places)


def _asked() -> argparse.Namespace:
    said = argparse.ArgumentParser(description="How often a log is found, and whether what is claimed holds.")
    said.add_argument("--kinds", default="", help="Parted by commas; all by default.")
    said.add_argument("--logs", type=int, default=20, help="Of each kind.")
    said.add_argument("--first", type=int, default=0, help="The first seed.")
    said.add_argument("--cells", type=int, default=500, help="Of the made land each way, 30 m each.")
    said.add_argument("--keep", help="A file to which every log is added.")
    said.add_argument("--minutes", type=float, default=60.0, help="Begin no log after so many.")
    return said.parse_args()


if __name__ == "__main__":
    main()
