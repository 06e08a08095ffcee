"""Whether chances said of places come true, over many short searches: said against true in each fifth.

    python bench/locate_said.py [--logs 12] [--first 0] [--keep FILE] [--minutes 15]

`locate.py` tells how well whole searches do; each takes seconds. Here a log is searched for on 4.8 by 4.8 km
with few legs, so that likely and unlikely answers of every kind come up and some hundred logs take minutes.
Every kind of remark is written on hills and on gentle ground, by people whose pencil slips on one leg in
twenty and by people whose does not, on heights that are exact and on heights that are off. Made-up land and
walkers (tests/support/made_land_walks.py) share no code with the search.
"""

from __future__ import annotations

import argparse
import csv
import math
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np

sys.path[:0] = [str(Path(__file__).parent.parent / part) for part in ("src", "tests", "bench")]

from locate import (  # noqa: E402
    NEAR_M,
    made_hills,
    read_pairs,
    say_claims,
    share_with_error,
    write_pairs,
)
from pacewright.answers.locate import LocateAsked  # noqa: E402
from pacewright.answers.located_walk import told_walk  # noqa: E402
from pacewright.core.pace.walker import Walker  # noqa: E402
from pacewright.files.log_csv import read_log  # noqa: E402
from pacewright.ground.locate.posterior import likely_places, region_of  # noqa: E402
from pacewright.ground.locate.search import search  # noqa: E402
from support.made_land_walks import LandWalk, LandWalker, MadeLand, as_mapped, walk_on  # noqa: E402
from support.searches import terrain_of  # noqa: E402

CELLS = 160
LOGS_A_LAND = 4
REMARKS = {
    "trend": ("trend", 12),
    "side": ("trend side", 9),
    "lie": ("trend stream lie", 9),
    "alt": ("trend alt", 6),
    "all": ("trend side lie alt", 4),
}
# Root mean square slope, and how far heights are off where they are off: a map of gentle ground whose
# heights were off by ten metres would show hills that are not there.
GROUNDS = {"hills": (0.16, 10.0), "gentle": (0.04, 3.0)}
TROUBLES = ("none", "slips", "heights")


class Case(NamedTuple):
    """One log: what is written, on which ground, what is wrong with it, and the seed."""

    remarks: str
    ground: str
    trouble: str
    seed: int


class Came(NamedTuple):
    """What came of it; `places` are chances said, each with 1 where it was right."""

    case: Case
    is_held: int
    km2: float
    places: tuple[tuple[float, int], ...]


def main() -> None:
    asked = _asked()
    came = _read(asked.keep)
    end = time.monotonic() + 60.0 * asked.minutes
    seeds = range(asked.first, asked.first + asked.logs)
    cases = [Case(r, g, t, seed) for seed in seeds for r in REMARKS for g in GROUNDS for t in TROUBLES]
    for case in cases:
        if case in came or time.monotonic() > end:
            continue
        came[case] = one_log(case)
        _add(asked.keep, came[case])
    say(list(came.values()))


def made(case: Case) -> tuple[MadeLand, MadeLand, LandWalk]:
    """The land as it is, as the map has it, and the walk."""
    steep, off_m = GROUNDS[case.ground]
    written, legs = REMARKS[case.remarks]
    land = made_hills(CELLS, steep, 500 + case.seed // LOGS_A_LAND)
    person = LandWalker(slip=0.05 if case.trouble == "slips" else 0.0)
    number = 7 * list(REMARKS).index(case.remarks) + list(TROUBLES).index(case.trouble)
    walk = walk_on(land, legs, frozenset(written.split()), 100 * case.seed + number, person)
    return land, as_mapped(land, off_m if case.trouble == "heights" else 0.0, case.seed), walk


def one_log(case: Case, asked: LocateAsked | None = None) -> Came:
    """Search for one log; what is said of the region and of the likely places."""
    asked = asked or LocateAsked()
    land, mapped, walk = made(case)
    terrain = terrain_of(mapped)
    log = read_log(walk.text.encode(), "made.csv")
    told, _ = told_walk(log, Walker(), terrain, None, asked.doubt, asked.slip_chance)
    starts = np.full(mapped.height_m.shape, 1.0 / mapped.height_m.size, np.float32)
    found = search(told, terrain, starts, workers=1)
    region = region_of(found.now, land.cell_m, 0.95)
    row, column = -walk.stations_m[-1][1] / land.cell_m, walk.stations_m[-1][0] / land.cell_m
    places = tuple(
        (one.chance, int(math.hypot(one.row - row, one.column - column) * land.cell_m <= NEAR_M))
        for one in likely_places(found.now, land.cell_m)
    )
    return Came(case, int(found.now[int(row), int(column)] >= region.least), region.km2, places)


def say(came: list[Came]) -> None:
    """Print shares by what is written, where, and under which trouble, then said against true."""
    print("                logs  held            km2 (median)  first place said, true")
    part: Callable[[Case], str]
    for part in (lambda one: one.remarks, lambda one: f"{one.ground}, {one.trouble}", lambda one: "all"):
        for name in dict.fromkeys(part(one.case) for one in came):
            mine = [one for one in came if part(one.case) == name]
            first = [one.places[0] if one.places else (0.0, 0) for one in mine]
            said, true = (float(np.mean([one[k] for one in first])) for k in (0, 1))
            held = share_with_error(float(np.mean([one.is_held for one in mine])), len(mine))
            km2 = float(np.median([one.km2 for one in mine]))
            print(f"{name:15s} {len(mine):5d}  {held}  {km2:12.3f}  {said:.3f} {true:.3f}")
    for ground in (*GROUNDS, ""):
        mine = [one for one in came if one.case.ground == ground or not ground]
        where = f", {ground}" if ground else ""
        say_claims(f"of the likeliest place{where}", [one.places[0] for one in mine if one.places])
        say_claims(f"of all places told{where}", [place for one in mine for place in one.places])


def _read(path: str | None) -> dict[Case, Came]:
    if path is None or not Path(path).exists():
        return {}
    found = {}
    with Path(path).open(encoding="utf-8", newline="") as file:
        for remarks, ground, trouble, seed, held, km2, places in csv.reader(file):
            case = Case(remarks, ground, trouble, int(seed))
            found[case] = Came(case, int(held), float(km2), read_pairs(places))
    return found


def _add(path: str | None, one: Came) -> None:
    if path is None:
        return
    with Path(path).open("a", encoding="utf-8", newline="") as file:
        row = [*one.case, one.is_held, f"{one.km2:.4f}", write_pairs(one.places)]
        csv.writer(file).writerow(row)


def _asked() -> argparse.Namespace:
    said = argparse.ArgumentParser(description="Whether chances said of places come true.")
    said.add_argument("--logs", type=int, default=12, help="Of each of thirty kinds.")
    said.add_argument("--first", type=int, default=0, help="The first seed.")
    said.add_argument("--keep", help="A file to which every log is added.")
    said.add_argument("--minutes", type=float, default=15.0, help="Begin no log after so many.")
    return said.parse_args()


if __name__ == "__main__":
    main()
