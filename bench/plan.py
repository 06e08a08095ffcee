"""Plans on the bundled ground: what is missed by walkers that share no code with the tool, and the time.

    python bench/plan.py [CASES]

Prints a row a kind of ground: how many cases hold what was asked, what was said against what was walked, and
processor seconds to plan and prove.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from pacewright.answers.plan import answer_plan
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


def main() -> None:
    """Run all kinds."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    first = cases(1, with_tracks=True, seed=9)[0]
    # The first run may compile.
    answer_plan(first.held, WALKER, first.asked, np.random.default_rng(1))
    run("tracks and streams", cases(count, with_tracks=True, seed=1))
    run("streams only", cases(count, with_tracks=False, seed=2))


if __name__ == "__main__":
    main()
