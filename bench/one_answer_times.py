"""Times of the one answer: milliseconds beside what is aimed at, and beside a yardstick of the same run.

The yardsticks are work that nobody can leave out: the same search of the legs and their closure alone,
one dense and one sparse solution of as many unknowns by a general library. A ratio to them says more of
the program than milliseconds do, which say as much of the machine.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from one_answer_asked import ask_adjusted, ask_command, ask_log, ask_search
from pacewright.core.log.travel_log import TravelLog
from support.field_walks import Outing, Page, Plan, draw_day, draw_plan, joined, read_off_map, walk

THINGS = {"Fire tower": (2500.0, 1800.0), "Water tank": (-2200.0, 900.0), "Grey crag": (400.0, -2600.0)}
BLOCK = (12, 88)
"""Of a long log: a loop of so many legs, then so many on, and again."""


def times(seed: int) -> None:
    print("Times, the least of three")
    _search_time(rich_page(np.random.default_rng([seed, 40]), 40))
    _answer_times(rich_page(np.random.default_rng([seed, 60]), 60))
    for legs, ties in ((1_000, 10), (100_000, 1_000)):
        _adjustment_time(ask_log(long_page(np.random.default_rng([seed, legs]), legs)), legs, ties)


def _search_time(page: Page) -> None:
    log, bare = ask_log(page), ask_log(bare_page(page))
    searched, alone = took(lambda: ask_search(log))[0], took(lambda: ask_search(bare))[0]
    what = f"search of {len(page.rows)} legs, looks back on all, bearings, known places"
    print(f"  {what}: {_against(searched, 60)}; over its legs and closure alone {searched / alone:.1f}")


def _answer_times(page: Page) -> None:
    """What a command takes from the log's text to the last key, less one search where it holds one."""
    log = ask_log(page)
    searched = took(lambda: ask_search(log))[0]
    print(f"  log of {len(page.rows)} legs: its search {1000 * searched:.0f} ms")
    for command in ("reckon", "back", "adjust", "check"):
        whole = took(lambda command=command: ask_command(command, page))[0]
        beyond = whole - searched if whole > searched else whole
        print(
            f"    {command:6s} beyond a search: {_against(beyond, 30)}; "
            f"all of it over the search {whole / searched:.2f}"
        )


def _adjustment_time(log: TravelLog, legs: int, ties: int) -> None:
    adjusted, found = took(lambda: ask_adjusted(log))
    regions = took(found.covariances)[0]
    few = legs <= 1_000
    yard = took(lambda: (dense_solution if few else sparse_solution)(legs))[0]
    total, aim_ms, what = (adjusted + regions, 50, "all") if few else (adjusted, 2_000, "no")
    print(
        f"  adjustment of {legs} legs, {ties} ties, {what} regions: {_against(total, aim_ms)}, "
        f"{total / yard:.2f} of the yardstick; all regions {regions / adjusted:.2f} of the places"
    )


def _against(seconds: float, aim_ms: float) -> str:
    return f"{1000 * seconds:.1f} ms, {1000 * seconds / aim_ms:.2f} of the {aim_ms:g} aimed at"


def took(work: Callable[[], Any], runs: int = 3) -> tuple[float, Any]:
    """The shortest of a few runs, and what it gave."""
    seconds, answer = [], None
    for _ in range(runs):
        begun = time.perf_counter()
        answer = work()
        seconds.append(time.perf_counter() - begun)
    return min(seconds), answer


def rich_page(rng: np.random.Generator, legs: int) -> Page:
    """Draw a loop with everything beside its legs: looks back on all, nine bearings, four known places."""
    names = {legs // 3: "Old ford", 2 * legs // 3: "Split oak"}
    sights = [(station, name) for station in (legs // 5, legs // 2, 4 * legs // 5) for name in THINGS]
    outing = Outing(draw_plan(rng, legs, "loop"), names, set(range(1, legs + 1)), THINGS, sights)
    walked = walk(rng, draw_day(rng), outing)
    return read_off_map(rng, walked, ["Old ford", "Split oak", "Fire tower", "Water tank"])


def bare_page(page: Page) -> Page:
    """The same page with its legs and its closure alone."""
    return Page(tuple(replace(row, back=None) for row in page.rows))


def long_page(rng: np.random.Generator, legs: int) -> Page:
    """Draw a long log that comes by a marker again once in a hundred legs."""
    blocks: list[Plan] = []
    for _ in range(legs // sum(BLOCK)):
        blocks += [draw_plan(rng, BLOCK[0], "loop"), draw_plan(rng, BLOCK[1], "open")]
    plan = joined(*blocks)
    names = {spot: f"Marker {spot}" for spot in plan.meets.values() if spot}
    return walk(rng, draw_day(rng), Outing(plan, names)).page


def dense_solution(legs: int) -> Any:
    """Solve as many equations as there are places, two a leg, by Cholesky, and invert them."""
    return np.linalg.inv(np.linalg.cholesky(_normal(legs).toarray()))


def sparse_solution(legs: int) -> Any:
    """Solve as many equations as there are places, two a leg, by a general sparse library."""
    from scipy.sparse.linalg import splu

    normal = _normal(legs)
    return splu(normal).solve(np.ones(normal.shape[0]))


def _normal(legs: int) -> Any:
    """The normal equations of a chain of places, with a tie in every hundred legs."""
    import scipy.sparse as sparse

    first = np.arange(0, legs - BLOCK[0], sum(BLOCK))
    one = np.concatenate([np.arange(legs - 1), first])
    other = np.concatenate([np.arange(1, legs), first + BLOCK[0]])
    row = np.arange(one.size)
    signs = np.concatenate([np.ones(one.size), -np.ones(one.size)])
    chain = sparse.csr_matrix((signs, (np.tile(row, 2), np.concatenate([other, one]))), (one.size, legs))
    return sparse.kron(chain.T @ chain + 1e-3 * sparse.eye(legs), sparse.eye(2), format="csc")
