"""Plans on the bundled ground: what is missed by walkers that share no code with the tool, and the time.

    python bench/plan.py [CASES] [seed=N] [PART]...

Parts: tracks, streams (3 to 5 km), long (14 to 17 km, both kinds of ground), hand (ten legs by hand, proved).
All of them where none is named. Prints a row a kind of ground: how many cases hold what was asked, what was
said against what was walked, and processor seconds to plan and prove; and how busy the machine was beside.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from pacewright.answers.hand_plan import HandLeg
from pacewright.answers.plan import answer_plan, prove_by_hand
from support.made_plans import WALKER, Case, cases, walked_apart

WALKERS = 2000


def run(name: str, made: list[Case]) -> None:
    """Plan every case, let others walk it, and print a row."""
    said, walked, times, straight, held = [], [], [], [], 0
    for number, case in enumerate(made):
        begun = time.process_time()
        answer = answer_plan(case.held, WALKER, case.asked, np.random.default_rng(1))
        times.append(time.process_time() - begun)
        straight.append(answer.straight.walked.missed)
        if answer.plan is None:
            print(f"  {name} {number}: no plan, said so")
            continue
        missed = 1.0 - walked_apart(answer, WALKERS, number)
        told = (
            f"said {answer.plan.walked.missed:.3f}, walked {missed:.3f}, reckoned {1 - answer.plan.said:.3f}"
        )
        print(f"  {name} {number}: {told}, {answer.minutes:.0f} min, {times[-1]:.1f} s, {answer.holds}")
        said.append(answer.plan.walked.missed)
        walked.append(missed)
        held += answer.holds
    kept = np.array(walked) <= 0.05 + 0.01
    gap = np.abs(np.array(said) - np.array(walked))
    print(
        f"{name}: {len(made)} cases, {held} say that they hold; walked miss <= 0.05 (+0.01 of chance) in "
        f"{kept.sum()}; mean {np.mean(walked):.3f}, worst {np.max(walked):.3f}; "
        f"straight {np.mean(straight):.2f}; "
        f"said against walked: mean {gap.mean():.3f}, worst {gap.max():.3f}; "
        f"seconds: median {np.median(times):.1f}, most {np.max(times):.1f}"
    )


def run_by_hand(made: list[Case]) -> None:
    """Prove ten legs that lead straight on, and print the processor seconds."""
    times = []
    for case in made:
        step = np.subtract(case.asked.goal.place_m, case.asked.start.place_m) / 10.0
        azimuth_deg = float(np.degrees(np.arctan2(*step)) % 360.0)
        legs = [HandLeg(azimuth_deg, float(np.hypot(*step)), "", number) for number in range(1, 11)]
        begun = time.process_time()
        prove_by_hand(case.held, WALKER, case.asked, legs, np.random.default_rng(1))
        times.append(time.process_time() - begun)
    seconds = f"median {np.median(times):.2f}, most {np.max(times):.2f}"
    print(f"ten legs by hand: {len(made)} cases, seconds: {seconds}")


LONG = (14_000.0, 17_000.0)


def main() -> None:
    """Run what was named."""
    words = sys.argv[1:]
    count = next((int(word) for word in words if word.isdigit()), 10)
    seed = next((int(word[5:]) for word in words if word.startswith("seed=")), 1)
    parts = [word for word in words if word in PARTS] or list(PARTS)
    first = cases(1, with_tracks=True, seed=9)[0]
    # The first run may compile.
    answer_plan(first.held, WALKER, first.asked, np.random.default_rng(1))
    for part in parts:
        PARTS[part](count, seed)
    if hasattr(os, "getloadavg"):
        print(f"Waiting for a processor, mean of five minutes: {os.getloadavg()[1]:.1f} on {os.cpu_count()}")


def _long(count: int, seed: int) -> None:
    for name, with_tracks in (("long, tracks and streams", True), ("long, streams only", False)):
        run(name, cases(count, with_tracks=with_tracks, seed=seed + 2, far=LONG))


PARTS = {
    "tracks": lambda count, seed: run("tracks and streams", cases(count, with_tracks=True, seed=seed)),
    "streams": lambda count, seed: run("streams only", cases(count, with_tracks=False, seed=seed + 1)),
    "long": _long,
    "hand": lambda count, seed: run_by_hand(cases(count, with_tracks=True, seed=seed)),
}


if __name__ == "__main__":
    main()
