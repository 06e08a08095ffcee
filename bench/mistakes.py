"""How well the search for a mistake does on fresh made-up logs, in one table.

    PYTHONPATH=src:tests .venv/bin/python bench/mistakes.py [--logs 300] [--legs 5,10,20,40] [--part accuracy]

Parts: accuracy (place and kind against the optimum), calibration (whether the chances come true), alarms
(clean logs accused where the scatter is believed wrongly; large slips noticed), region (does the region
over all explanations hold the stations), times.

The optimum is the same posterior with what no tool can know: the very scatter and the very lengths that
the logs were drawn with. Beside it stand the figures of an earlier study of the optimum, whose made-up
walkers had somewhat shorter legs, so that its logs are somewhat easier.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from pacewright.core.pace.walker import Walker
from pacewright.core.slips.advice import advise
from pacewright.core.slips.explained_stations import likeliest_explanations, places_given
from pacewright.core.slips.leg_prior import LengthPrior
from pacewright.core.slips.mistake_search import SlipPosterior, search_slips
from pacewright.core.slips.mistakes import ACCUSE_BAYES_FACTOR
from pacewright.core.slips.normal_batch import factor
from pacewright.core.slips.place_mixture import mixture_of
from pacewright.core.slips.residuals import lay
from pacewright.core.slips.slip_pairs import find_pairs
from pacewright.core.slips.trial_logs import NOTHING
from pacewright.core.way.frames import map_frame
from pacewright.files.log_csv import read_log
from support.made_logs import MadeLog, draw_log
from support.simulator import USUAL, Person

WALKER = Walker(per_100_m=100 / USUAL.pace_m)
KNOWLEDGE = ("closure", "+ known", "+ 2 sightings")
EARLIER = {
    (5, 0): (0.64, 0.87, 0.64, 0.54),
    (5, 1): (0.80, 0.96, 0.78, 0.70),
    (5, 2): (0.86, 0.98, 0.80, 0.77),
    (10, 0): (0.50, 0.70, 0.52, 0.42),
    (10, 1): (0.66, 0.83, 0.67, 0.57),
    (10, 2): (0.72, 0.89, 0.71, 0.63),
    (20, 0): (0.36, 0.56, 0.41, 0.32),
    (20, 1): (0.52, 0.68, 0.56, 0.45),
    (20, 2): (0.58, 0.73, 0.60, 0.51),
    (40, 0): (0.27, 0.44, 0.33, 0.25),
    (40, 1): (0.40, 0.55, 0.46, 0.35),
    (40, 2): (0.46, 0.60, 0.50, 0.41),
}
"""Leg first, leg among the first three, kind first, both first; with a prior on the route."""
EARLIER_WITHOUT_ROUTE = {
    (5, 0): (0.63, 0.53),
    (5, 1): (0.80, 0.70),
    (5, 2): (0.86, 0.76),
    (10, 0): (0.48, 0.40),
    (10, 1): (0.64, 0.55),
    (10, 2): (0.72, 0.62),
    (20, 0): (0.33, 0.29),
    (20, 1): (0.49, 0.43),
    (20, 2): (0.55, 0.49),
    (40, 0): (0.23, 0.22),
    (40, 1): (0.36, 0.33),
    (40, 2): (0.43, 0.38),
}
"""Leg first, both first."""
OPPOSITES = {"tally_added": "tally_lost", "paces_for_steps": "steps_for_paces"}

Place = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Score:
    """How one log came out: the truth's chances and ranks, and what was said of the top answers."""

    leg_rank: int
    kind_rank: int
    both_rank: int
    leg_said: float
    kind_said: float
    both_said: float


def logs(rng: np.random.Generator, legs: int, knows: int, many: int, **more: object) -> Iterator[MadeLog]:
    for number in range(many):
        yield _draw(rng, "loop" if number % 2 else "wander", legs, knows, **more)


def _draw(rng: np.random.Generator, shape: str, legs: int, knows: int, **more: object) -> MadeLog:
    return draw_log(rng, shape, legs, known=knows > 0, sightings=2 if knows > 1 else 0, **more)


def search(made: MadeLog, **more: object) -> SlipPosterior:
    return search_slips(read_log(made.text.encode()), WALKER, **more)


def optimum(made: MadeLog) -> SlipPosterior:
    log = read_log(made.text.encode())
    unit = 1.0 if log.heading.known else 1 / USUAL.pace_m
    n = len(log.legs)
    prior = LengthPrior(
        np.log(np.maximum([leg.count for leg in log.legs], 0.5) * (USUAL.pace_m * unit)),
        np.ones(n, dtype=bool),
        math.log(400 * unit),
        0.8,
        1e7,
        1e7,
    )
    return search_slips(log, WALKER, length_prior=prior, levels=(1.0,), level_shares=(1.0,))


def chances(
    found: SlipPosterior,
) -> tuple[dict[Place, float], dict[str, float], dict[tuple[Place, str], float]]:
    """Chances of places, kinds and both, given that there is a mistake."""
    places: dict[Place, float] = {}
    kinds: dict[str, float] = {}
    both: dict[tuple[Place, str], float] = {}

    def add(place: Place, kind: str, chance: float) -> None:
        places[place] = places.get(place, 0.0) + chance
        kinds[kind] = kinds.get(kind, 0.0) + chance
        both[place, kind] = both.get((place, kind), 0.0) + chance

    total = found.mistake_probability
    for slip, chance in zip(found.slips, found.slip_probability / total, strict=True):
        add(("leg", slip.legs[0]) if slip.legs else ("log", 0), OPPOSITES.get(slip.kind, slip.kind), chance)
    for gap, chance in zip(found.gaps, found.gap_probability / total, strict=True):
        for leg in gap.after_legs:
            add(("gap", leg), "leg_missing", chance / len(gap.after_legs))
    return places, kinds, both


def rank(chance_of: dict, truth: object, rng: np.random.Generator) -> int:
    """Rank of the truth from 0, ties at random."""
    mine = chance_of.get(truth, -1.0)
    if mine < 0:
        return len(chance_of)
    others = np.array([chance for key, chance in chance_of.items() if key != truth])
    equal = int(np.sum(np.abs(others - mine) <= 1e-9 * (1e-12 + mine)))
    return int(np.sum(others > mine * (1 + 1e-9))) + int(rng.integers(0, equal + 1))


def truth_of(made: MadeLog) -> tuple[Place, str]:
    kind = OPPOSITES.get(str(made.kind), str(made.kind))
    if made.leg is None:
        return ("log", 0), kind
    return (("gap" if kind == "leg_missing" else "leg"), made.leg), kind


def score(made: MadeLog, found: SlipPosterior, rng: np.random.Generator) -> Score:
    places, kinds, both = chances(found)
    place, kind = truth_of(made)
    return Score(
        rank(places, place, rng),
        rank(kinds, kind, rng),
        rank(both, (place, kind), rng),
        max(places.values()),
        max(kinds.values()),
        max(both.values()),
    )


def firsts(scores: list[Score]) -> np.ndarray:
    return np.array(
        [(one.leg_rank < 1, one.leg_rank < 3, one.kind_rank < 1, one.both_rank < 1) for one in scores],
        dtype=float,
    ).mean(axis=0)


def accuracy(legs: list[int], many: int, seed: int) -> None:
    """Place and kind, with and without the route's own prior, against the optimum on the same logs."""
    print("place and kind: leg first, leg in three, kind first, both first")
    every: dict[str, list[np.ndarray]] = {"search": [], "optimum": [], "route": []}
    for n in legs:
        for knows, name in enumerate(KNOWLEDGE):
            rng, ties = np.random.default_rng(seed + 10 * n + knows), np.random.default_rng(0)
            scores: dict[str, list[Score]] = {"search": [], "optimum": [], "route": []}
            for made in logs(rng, n, knows, many):
                scores["search"].append(score(made, search(made), ties))
                scores["optimum"].append(score(made, optimum(made), ties))
                scores["route"].append(score(made, search(made, route_prior=True), ties))
            for kind, found in scores.items():
                every[kind].append(firsts(found))
                print(f"  n {n:2d} {name:13s} {kind:8s} {_row(firsts(found))}")
            earlier = EARLIER[n, knows]
            leg1, both1 = EARLIER_WITHOUT_ROUTE[n, knows]
            print(f"  n {n:2d} {name:13s} earlier  {_row(earlier)}   without {leg1:.2f}, both {both1:.2f}")
            for what in ("leg", "kind", "both"):
                said = np.mean([getattr(one, f"{what}_said") for one in scores["search"]])
                was = np.mean([getattr(one, f"{what}_rank") < 1 for one in scores["search"]])
                print(f"       {what:4s} said {said:.3f}, was {was:.3f}")
    means = {kind: np.mean(rows, axis=0) for kind, rows in every.items()}
    print(f"search / optimum, all cells:          {_row(means['search'] / means['optimum'])}")
    print(f"search with route / optimum without:  {_row(means['route'] / means['optimum'])}")
    print(f"logs a cell {many}, standard error of one figure about {0.5 / math.sqrt(many):.3f}")


def _row(numbers: object) -> str:
    return " ".join(f"{number:.3f}" for number in np.asarray(numbers))


def calibration(legs: list[int], many: int, seed: int) -> None:
    """Whether the chances said of the top leg come true, every walker's scatter a quarter off."""
    print("top leg, said against was; scatter lognormally a quarter off")
    tops: list[tuple[float, bool]] = []
    for n in legs:
        for knows in range(len(KNOWLEDGE)):
            rng, ties = np.random.default_rng(seed + 10 * n + knows), np.random.default_rng(0)
            for number in range(many):
                person, shape = _other_scatter(rng), ("loop", "wander")[number % 2]
                made = _draw(rng, shape, n, knows, person=person)
                one = score(made, search(made), ties)
                tops.append((one.leg_said, one.leg_rank < 1))
    _tenths(tops)


def _tenths(tops: list[tuple[float, bool]]) -> None:
    """Print said against was, overall and for every tenth."""
    said, was = np.array([t[0] for t in tops]), np.array([t[1] for t in tops], dtype=float)
    print(f"top leg: said {said.mean():.3f}, was {was.mean():.3f} ({said.size} logs)")
    tenth = np.minimum((said * 10).astype(int), 9)
    for number in range(10):
        mine = tenth == number
        if mine.any():
            error = math.sqrt(max(was[mine].mean() * (1 - was[mine].mean()), 0.01) / mine.sum())
            print(
                f"  {number / 10:.1f} to {number / 10 + 0.1:.1f}: said {said[mine].mean():.3f}, "
                f"was {was[mine].mean():.3f} +-{error:.3f} ({mine.sum()})"
            )


def mark_of(made: MadeLog) -> float:
    """By how many standard deviations of the clean log the mistake moves what was observed."""
    clean = search_slips(read_log(made.clean_text.encode()), WALKER, levels=(1.0,), level_shares=(1.0,))
    spoiled = search_slips(read_log(made.text.encode()), WALKER, levels=(1.0,), level_shares=(1.0,))
    one, other = (lay(found.model, NOTHING).at() for found in (clean, spoiled))
    moved = factor(one.covariance).whiten(other.residual - one.residual)
    return float(np.sqrt((moved**2).sum()))


def alarms(legs: list[int], many: int, seed: int) -> None:
    """Clean logs accused where every walker's scatter is lognormally a quarter off, and slips noticed.

    Accused: at the Bayes factor above which a log is said to hold a mistake. Noticed: a mistake is called
    more likely than not (exit code 1).
    """
    print("clean logs: accused, doubted; slips above 3 sd: accused, noticed")
    doubt, slips = [], []
    for n in legs:
        for knows, name in enumerate(KNOWLEDGE):
            rng = np.random.default_rng(seed + 10 * n + knows)
            clean, found = [], []
            for number in range(many):
                person = _other_scatter(rng)
                made = _draw(rng, ("loop", "wander")[number % 2], n, knows, mistake=False, person=person)
                clean.append(search(made).bayes_factor)
            for made in logs(rng, n, knows, many):
                mark = mark_of(made)
                if mark > 3:
                    found.append((mark, search(made).bayes_factor))
            doubt += clean
            slips += found
            print(f"  n {n:2d} {name:13s} {_row(_above(clean))}; {_row(_above([b for _, b in found]))}")
    print(f"all {len(doubt)} clean logs: {_row(_above(doubt))}")
    print(f"all {len(slips)} slips above 3 sd: {_row(_above([b for _, b in slips]))}")
    print(f"  3 to 5 sd: {_row(_above([b for mark, b in slips if mark <= 5]))}")
    print(f"  above 5 sd: {_row(_above([b for mark, b in slips if mark > 5]))}")


def _above(factors: list[float]) -> tuple[float, float]:
    return float(np.mean(np.array(factors) > ACCUSE_BAYES_FACTOR)), float(np.mean(np.array(factors) > 1.0))


def _other_scatter(rng: np.random.Generator) -> Person:
    azimuth, count = np.exp(0.25 * rng.standard_normal(2))
    return Person(azimuth_sd_deg=USUAL.azimuth_sd_deg * azimuth, count_sd=USUAL.count_sd * count)


def region(legs: list[int], many: int, seed: int) -> None:
    """Does the 95 % region over all explanations hold the stations, on an even mix."""
    print("95 % region over all explanations holds the station: clean, with a mistake, even mix (loops)")
    for n in legs:
        for knows in (0, 1):
            shares = []
            for mistake in (False, True):
                rng = np.random.default_rng(seed + 10 * n + knows)
                inside: list[bool] = []
                for _ in range(many):
                    made = draw_log(rng, "loop", n, known=knows > 0, mistake=mistake)
                    # With a leg missing the stations are not those of the log.
                    if made.kind != "leg_missing":
                        inside += _held(made)
                shares.append(np.mean(inside))
            print(f"  n {n:2d} {KNOWLEDGE[knows]:13s} {_row(shares)} {np.mean(shares):.3f}")


def _held(made: MadeLog) -> list[bool]:
    log = read_log(made.text.encode())
    found = search_slips(log, WALKER, frame=map_frame(log.heading, WALKER))
    stations = np.arange(1, len(log.legs))
    explanations = likeliest_explanations(found)
    places = places_given(found, explanations, stations)
    return [
        bool(mixture_of(explanations.weight, places, i).contains(made.places_m[k])[0])
        for i, k in enumerate(stations)
    ]


def times(legs: list[int], many: int, seed: int) -> None:
    """Milliseconds a log: one scatter, the mixture, pairs, advice; the least of three."""
    print("milliseconds a log: search with one scatter, with the mixture, pairs, advice")
    for n in legs:
        for knows, name in enumerate(KNOWLEDGE):
            made = next(logs(np.random.default_rng(seed + n), n, knows, 1))
            log = read_log(made.text.encode())
            found = search_slips(log, WALKER)
            row = [
                _least(lambda log=log: search_slips(log, WALKER, levels=(1.0,), level_shares=(1.0,))),
                _least(lambda log=log: search_slips(log, WALKER)),
                _least(lambda found=found: find_pairs(found)) if n <= 20 else math.nan,
                _least(lambda found=found: advise(found)),
            ]
            print(f"  n {n:2d} {name:13s} {' '.join(f'{ms:6.1f}' for ms in row)}")


def _least(work: object) -> float:
    took = []
    for _ in range(3):
        begin = time.perf_counter()
        work()  # type: ignore[operator]
        took.append(time.perf_counter() - begin)
    return 1000 * min(took)


PARTS = {"accuracy": accuracy, "calibration": calibration, "alarms": alarms, "region": region, "times": times}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--logs", type=int, default=300, help="logs a cell")
    parser.add_argument("--legs", default="5,10,20,40")
    parser.add_argument("--seed", type=int, default=20260514)
    parser.add_argument("--part", choices=[*PARTS, "all"], default="all")
    given = parser.parse_args()
    legs = [int(n) for n in given.legs.split(",")]
    for name, part in PARTS.items():
        if given.part in (name, "all"):
            part(legs, given.logs, given.seed)


if __name__ == "__main__":
    main()
