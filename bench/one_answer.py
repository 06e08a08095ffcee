"""Whether the answers about one log can be trusted, on days in the field made up apart from the tool.

    PYTHONPATH=src:tests .venv/bin/python bench/one_answer.py [--logs 300] [--legs 5,10,20] [--part readings]

Parts: readings (one look back wrong and no leg: is a leg accused?), attraction (iron at one or two
stations: is a leg accused?), ways (does the region of the way back hold who walks it, and do known places
make it smaller?), chances (do the chances said come true?), times. Each figure stands beside what is
aimed at. Nothing is asserted; figures are shares of the logs drawn, `+-` is one standard error.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from one_answer_asked import PERSON, PRIOR, Checked, WayHome, ask_check, ask_way_home, kind_shares
from one_answer_times import times
from support.field_bound import area, way_back_covariance
from support.field_slips import Slip, Spoiled, spoil_ground, spoiled_day
from support.field_walks import (
    Outing,
    Page,
    Walked,
    as_written,
    draw_day,
    draw_plan,
    planned_places,
    read_off_map,
    walk,
    walk_instruction,
)

BACK_SLIPS = ("back_not_turned",) * 3 + ("back_misread", "back_swapped", "back_copied")
"""Half of the slips in looking back are those of not turning round, the slip of learners."""

# Readings and iron.


def draw_loop(rng: np.random.Generator, legs: int) -> Outing:
    return Outing(draw_plan(rng, legs, "loop"), looks_back=set(range(1, legs + 1)))


def spoil(rng: np.random.Generator, outing: Outing, kind: str | None) -> Spoiled | None:
    return spoiled_day(rng, draw_day(rng, PERSON), outing, kind)


def readings(legs: Sequence[int], many: int, seed: int) -> None:
    print("One look back wrong, no leg wrong (loops, back azimuths on all legs)")
    every: list[tuple[Slip, Checked]] = []
    for n in legs:
        rng = np.random.default_rng([seed, n])
        made: list[tuple[Slip, Checked]] = []
        while len(made) < many:
            one = spoil(rng, draw_loop(rng, n), BACK_SLIPS[rng.integers(len(BACK_SLIPS))])
            if one is not None and one.slip is not None:
                made.append((one.slip, ask_check(one.page)))
        clean = [ask_check(walk(rng, draw_day(rng, PERSON), draw_loop(rng, n)).page) for _ in range(many)]
        print(f"  n {n:2d}: {_reading_row(made)}")
        print(f"        without a slip {_accused(clean)}")
        every += made
    for kind in dict.fromkeys(BACK_SLIPS):
        print(f"  {kind:15s}: {_reading_row([one for one in every if one[0].kind == kind])}")
    print(f"  all: {_reading_row(every)}")
    print("  aimed at: a leg accused in at most 2.5 %, the look back first in 95 %")


def _reading_row(made: Sequence[tuple[Slip, Checked]]) -> str:
    large = [said.first.is_it(slip.struck) for slip, said in made if slip.size_sd > 4]
    accused = _accused([said for _, said in made])
    return f"{accused}; off by more than 4 sd, it is first in {share(large)} of {len(large)}"


def _accused(those: Sequence[Checked]) -> str:
    outright = share([one.accuses_outright for one in those])
    return f"a leg accused in {share([one.accuses_leg for one in those])} (outright {outright})"


def attraction(legs: Sequence[int], many: int, seed: int) -> None:
    print("Iron of 5 to 30 degrees at stations (loops, back azimuths on all legs)")
    every: list[Checked] = []
    for n in legs:
        for stations in (1, 2):
            rng = np.random.default_rng([seed, n, stations])
            checked, first = [], []
            for _ in range(many):
                outing, slips = _with_iron(rng, draw_loop(rng, n), stations)
                said = ask_check(walk(rng, draw_day(rng, PERSON), outing).page)
                checked.append(said)
                first.append(any(said.first.is_it(slip.struck) for slip in slips))
            print(
                f"  n {n:2d}, {stations} with iron: {_accused(checked)}; "
                f"such a station is first in {share(first)}"
            )
            every += checked
    print(f"  all: {_accused(every)}")
    print("  aimed at: a leg accused in at most 2.5 %")


def _with_iron(rng: np.random.Generator, outing: Outing, stations: int) -> tuple[Outing, list[Slip]]:
    slips: list[Slip] = []
    while len(slips) < stations:
        made = spoil_ground(rng, outing, "station_pulled")
        assert made is not None
        outing = made[0]
        slips.append(made[1])
    return outing, slips


def share(those: Sequence[bool]) -> str:
    if not those:
        return "none"
    # So that none of a few is not said to be none for sure.
    believed = (sum(those) + 0.5) / (len(those) + 1.0)
    error = math.sqrt(believed * (1 - believed) / len(those))
    return f"{100 * float(np.mean(those)):.1f} % +-{100 * error:.1f}"


# Ways back.


def ways(legs: Sequence[int], many: int, seed: int) -> None:
    """Open logs of 12 legs: the same person walks the instruction on the same day, 20 times a log."""
    print("Ways back of open logs of 12 legs, two known places to 10 m on the way")
    for where, stations in (("at thirds", (4, 8)), ("middle and end", (6, 12))):
        rng = np.random.default_rng([seed, stations[0]])
        ratio, least = [], []
        held: dict[str, list[float]] = {"with": [], "without": []}
        names = dict(zip(stations, ("Old ford", "Split oak"), strict=True))
        for _ in range(many):
            day = draw_day(rng, PERSON)
            walked = walk(rng, day, Outing(draw_plan(rng, 12, "open"), names))
            page = read_off_map(rng, walked, list(names.values()))
            pages = {"with": page, "without": replace(page, known={})}
            asked = {key: ask_way_home(one) for key, one in pages.items()}
            for key, way in asked.items():
                held[key].append(_held(rng, walked, way))
            ratio.append(asked["with"].area / asked["without"].area)
            bounds = [way_back_covariance(page, PERSON, dict.fromkeys(k, 10.0)) for k in (stations, ())]
            least.append(area(bounds[0]) / area(bounds[1]))
        for key, shares in held.items():
            error = float(np.std(shares)) / math.sqrt(many)
            print(f"  {where}, {key:7s} places: the 95 % region holds {np.mean(shares):.3f} +-{error:.3f}")
        print(
            f"  {where}: area with over without, median {np.median(ratio):.3f} "
            f"(the least that the information allows: {np.median(least):.3f})"
        )
    print("  aimed at: 0.95 +-0.01, and the least")


def _held(rng: np.random.Generator, walked: Walked, way: WayHome, walks: int = 20) -> float:
    back = walk_instruction(rng, walked.day, way.azimuth_deg, way.count, walks)
    return float(np.mean(way.holds(as_written(walked.day, walked.places_m[-1] + back))))


# Chances.


def chances(legs: Sequence[int], many: int, seed: int) -> None:
    """Half of the logs clean; slips by kind as often as the search takes them; scatter a quarter off."""
    print("Chances said against what was so")
    rng = np.random.default_rng([seed, 4])
    any_slip: list[tuple[float, bool]] = []
    first: list[tuple[float, bool]] = []
    every: list[tuple[float, bool]] = []
    for number in range(4 * many):
        made = _mixed(rng, legs[number % len(legs)])
        said, truth = ask_check(made.page), made.slip and made.slip.struck
        any_slip.append((said.mistake_probability, truth is not None))
        was = [(one.probability, truth is not None and one.is_it(truth)) for one in said.chances]
        first.append(was[0])
        every += was
    for name, pairs in (("a mistake", any_slip), ("the likeliest thing", first), ("every thing", every)):
        print(f"  {name} ({len(pairs)}):")
        _tenths(pairs)
    print("  aimed at: said less was within 0.02 in every tenth")


def _mixed(rng: np.random.Generator, legs: int) -> Spoiled:
    """Draw a log: some with looks back, bearings, known places, markers met again; slipped or clean."""
    loose = math.exp(0.25 * rng.standard_normal())
    person = replace(PERSON, holding_sd_deg=2.5 * loose, count_sd=0.05 * loose)
    outing, known = _rich_outing(rng, legs, ("loop", "eight", "open")[rng.integers(3)])

    def write(walked: Walked) -> Page:
        return read_off_map(rng, walked, known)

    slipped = rng.random() < PRIOR
    shares = kind_shares(write(walk(rng, draw_day(rng, person), outing))) if slipped else {}
    kinds, weights = list(shares), np.array(list(shares.values()))
    while True:
        kind = kinds[rng.choice(len(kinds), p=weights / weights.sum())] if slipped else None
        made = spoiled_day(rng, draw_day(rng, person), outing, kind, write)
        if made is not None:
            return made


def _rich_outing(rng: np.random.Generator, legs: int, shape: str) -> tuple[Outing, list[str]]:
    plan = draw_plan(rng, legs, shape)
    middle = planned_places(plan, PERSON.pace_m).mean(axis=0)
    things = {}
    for name in ("Fire tower", "Water tank"):
        turn, far = rng.uniform(0, 2 * math.pi), rng.uniform(1000, 3000)
        things[name] = (
            float(middle[0] + far * math.sin(turn)),
            float(middle[1] + far * math.cos(turn)),
        )
    stations = sorted(rng.choice(np.arange(1, legs), size=min(3, legs - 1), replace=False).tolist())
    sights = [(station, name) for station in stations for name in things if rng.random() < 0.5]
    names = {legs // 3: "Old ford"}
    known = ["Old ford"] if rng.random() < 0.5 else []
    if shape == "open":
        names[legs] = "Split oak"
        known.append("Split oak")
    looks_back = set(range(1, legs + 1)) if rng.random() < 0.5 else set()
    known += sorted({name for _, name in sights})
    return Outing(plan, names, looks_back, things, sights), known


def _tenths(pairs: Sequence[tuple[float, bool]]) -> None:
    said, was = np.array([one[0] for one in pairs]), np.array([one[1] for one in pairs], dtype=float)
    tenth = np.minimum((said * 10).astype(int), 9)
    for number in range(10):
        mine = tenth == number
        if mine.any():
            mean = was[mine].mean()
            believed = (was[mine].sum() + 0.5) / (mine.sum() + 1.0)
            error = math.sqrt(believed * (1 - believed) / mine.sum())
            less = said[mine].mean() - mean
            print(
                f"    {number / 10:.1f} to {(number + 1) / 10:.1f}: said {said[mine].mean():.3f}, "
                f"was {mean:.3f}, less {less:+.3f} +-{error:.3f} ({mine.sum()})"
            )


PARTS = {"readings": readings, "attraction": attraction, "ways": ways, "chances": chances}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--logs", type=int, default=300, help="logs a figure")
    parser.add_argument("--legs", default="5,10,20")
    parser.add_argument("--seed", type=int, default=20260514)
    parser.add_argument("--part", choices=[*PARTS, "times", "all"], default="all")
    given = parser.parse_args()
    for name, part in PARTS.items():
        if given.part in (name, "all"):
            part([int(n) for n in given.legs.split(",")], given.logs, given.seed)
    if given.part in ("times", "all"):
        times(given.seed)


if __name__ == "__main__":
    main()
