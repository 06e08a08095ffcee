"""Time of a least-squares adjustment, next to a general factor-graph library on the same figure.

The log is made up: 100,000 legs that meet 1,000 markers again, nearby
ones or any, in the map frame with compass bias and pace scale unknown. The library, gtsam, is given the
same legs and ties (as plain differences of places, without the shared unknowns, which would slow it) and
asked for one linear solution, its graph already built. The last column is how far the two figures differ
where both have the same unknowns.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.adjustment import Adjustment, adjust_reckoning
from pacewright.core.way.frames import Frame
from pacewright.core.way.observations import Observations, Tie
from pacewright.core.way.reckoning import Reckoning, SharedTerm

TURN_SD_DEG, COUNT_SD, FLOOR_M = 2.5, 0.05, 1.6
MARKER_SD_M = 1.0
RUNS = 3


def make(legs: int, loops: int, nearby: bool, seed: int = 1) -> tuple[Reckoning, Observations]:
    """Make a reckoned walk in a square of 2 km that comes by `loops` markers again."""
    rng = np.random.default_rng(seed)
    first = rng.integers(0, legs - 60, loops)
    second = first + rng.integers(20, 60, loops) if nearby else rng.integers(1, legs + 1, loops)
    pairs = np.unique(np.sort(np.stack([first, second], axis=1), axis=1), axis=0)
    pairs = pairs[pairs[:, 1] > pairs[:, 0] + 1]
    pairs = pairs[np.unique(pairs[:, 1], return_index=True)[1]]
    true = rng.uniform(-1000, 1000, (legs + 1, 2))
    true[0] = 0
    for one, other in pairs:
        true[other] = true[one]
    step = np.diff(true, axis=0)
    length = np.hypot(*step.T)
    length_sd, turn_sd_rad = np.maximum(COUNT_SD * length, FLOOR_M), np.radians(TURN_SD_DEG)
    azimuth_rad = np.arctan2(step[:, 0], step[:, 1]) + turn_sd_rad * rng.standard_normal(legs)
    read = np.maximum(length + length_sd * rng.standard_normal(legs), 1.0)
    along = np.stack([np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=1)
    across = np.stack([along[:, 1], -along[:, 0]], axis=1)
    own = (length_sd**2)[:, None, None] * along[:, :, None] * along[:, None, :]
    own += ((turn_sd_rad * read) ** 2)[:, None, None] * across[:, :, None] * across[:, None, :]
    place = np.concatenate([np.zeros((1, 2)), np.cumsum(along * read[:, None], axis=0)])
    turned = SharedTerm("compass bias", np.radians(1.5) ** 2, np.stack([place[:, 1], -place[:, 0]], axis=1))
    reckoning = Reckoning(
        frame=Frame("map", "metre", "magnetic", 0.0, 1.6, 1.6, 1.5, 0.03),
        names=(None,) * (legs + 1),
        azimuth_deg=np.degrees(azimuth_rad) % 360,
        length=read,
        place=place,
        own=own,
        own_sum=np.concatenate([np.zeros((1, 2, 2)), np.cumsum(own, axis=0)]),
        turn_variance_rad2=np.full(legs, turn_sd_rad**2),
        shared=(turned, SharedTerm("pace scale", 0.03**2, place)),
        remarks=(),
    )
    ties = tuple(Tie(int(i), int(j), MARKER_SD_M, "marker") for i, j in pairs)
    return reckoning, Observations(ties, (), (), (), ())


def library_graph(gtsam: Any, reckoning: Reckoning, observations: Observations) -> Any:
    """The same figure as a linear graph of the library."""
    graph = gtsam.NonlinearFactorGraph()
    start = gtsam.noiseModel.Isotropic.Sigma(2, 1e-6)
    graph.add(gtsam.PriorFactorPoint2(0, np.zeros(2), start))
    for k, (step, own) in enumerate(zip(np.diff(reckoning.place, axis=0), reckoning.own, strict=True)):
        noise = gtsam.noiseModel.Gaussian.Covariance(own)
        graph.add(gtsam.BetweenFactorPoint2(k, k + 1, step, noise))
    for tie in observations.ties:
        noise = gtsam.noiseModel.Isotropic.Sigma(2, tie.sd)
        graph.add(gtsam.BetweenFactorPoint2(tie.first, tie.second, np.zeros(2), noise))
    values = gtsam.Values()
    for k in range(len(reckoning.place)):
        values.insert(k, np.zeros(2))
    return graph.linearize(values)


def best_of(work: Callable[[], Any]) -> tuple[float, Any]:
    """The shortest of a few runs, and what it gave."""
    seconds = []
    for _ in range(RUNS):
        begun = time.perf_counter()
        answer = work()
        seconds.append(time.perf_counter() - begun)
    return min(seconds), answer


def difference(adjustment: Adjustment, solved: Any) -> float:
    """How far the two figures lie apart at most, in metres, at a hundred stations."""
    stations = np.linspace(1, len(adjustment.place) - 1, 100).astype(int)
    theirs: NDArray[np.float64] = np.array([solved.at(int(k)) for k in stations])
    return float(np.abs(theirs - adjustment.place[stations]).max())


def main() -> None:
    """Print a line for each figure."""
    import scipy.sparse.linalg  # noqa: F401  # Its loading is start-up, not work.

    try:
        import gtsam
    except ImportError:
        gtsam = None
        print("gtsam is not installed here: only our own times are printed.")
    print("    legs   ties  revisits  adjust s regions s  gtsam s ratio  differ m")
    for legs, loops, nearby in [
        (1_000, 10, True),
        (10_000, 100, True),
        (100_000, 1_000, True),
        (100_000, 1_000, False),
        (1_000_000, 10_000, True),
    ]:
        reckoning, observations = make(legs, loops, nearby)
        ours, adjustment = best_of(partial(adjust_reckoning, reckoning, observations, 1.5))
        regions, _ = best_of(adjustment.covariances)
        where = "nearby" if nearby else "any"
        line = f"{legs:8d} {len(observations.ties):6d}  {where:8} {ours:9.3f} {regions:9.3f}"
        if gtsam is not None and legs <= 100_000:
            graph = library_graph(gtsam, reckoning, observations)
            theirs, solved = best_of(graph.optimize)
            line += f" {theirs:8.3f} {theirs / ours:5.1f} {difference(adjustment, solved):9.1e}"
        print(line, flush=True)


if __name__ == "__main__":
    main()
