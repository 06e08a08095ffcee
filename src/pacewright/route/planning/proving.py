"""Plan, let walkers walk it, charge what was lost where, plan again: until what is walked keeps the bound."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.search import Progress, Searcher, Way
from pacewright.route.planning.walking import Walked, walk_plan

ROUNDS: Final = 10
_TRIED_BY: Final = 1000
_PROVED_BY: Final = 4000
_SAFEST_ROUNDS: Final = 3
_MOST_OPENED_LATER: Final = 200


@dataclass(frozen=True, slots=True, eq=False)
class ProvedPlan:
    """A plan and what became of those who walked it.

    Attributes
    ----------
    legs
        In turn.
    said
        The chance of arriving as the plan's own reckoning has it.
    walked
        Walkers that the plan was not chosen by.
    rounds
        How many plans were walked before.
    """

    legs: tuple[PlanLeg, ...]
    said: float
    walked: Walked
    rounds: int

    @property
    def chance(self) -> float:
        """The chance of arriving, as walked."""
        return self.walked.arrived

    @property
    def minutes(self) -> float:
        """All legs, without rests."""
        return sum(leg.minutes for leg in self.legs)


def find_proved_plan(
    searcher: Searcher, rng: np.random.Generator, progress: Progress | None = None
) -> ProvedPlan | None:
    """The fastest plan whose walked chance keeps the bound, or the surest where none does.

    Parameters
    ----------
    searcher
        The land, the walker and what is asked; it keeps what walking charged.
    rng
        Where the walkers' chance comes from.
    progress
        Told of the share that is done.

    Returns
    -------
    ProvedPlan or None
        None where there is no way at all that keeps off what is barred.
    """
    miss, best = searcher.asked.miss, None
    if searcher.is_shut_off():
        return None
    for number in range(ROUNDS):
        way = searcher.safest() if searcher.asked.most_min is not None else searcher.fastest()
        if progress is not None:
            progress((number + 1) / (ROUNDS + _SAFEST_ROUNDS))
        if way is None and not searcher.by_count and number == 0:
            # The surest from sight to sight is something to fall back on, and soon found.
            best = _surest(searcher, rng, best, progress)
            if best is not None and best.walked.missed <= miss and searcher.asked.most_min is None:
                return best
            # Legs that end by count alone lead round what no line leads round.
            searcher.open_by_count()
            searcher.most_opened = _MOST_OPENED_LATER
            way = searcher.fastest() if searcher.asked.most_min is None else searcher.safest()
        if way is None:
            break
        tried = _walk(searcher, way, rng, _TRIED_BY)
        if tried.missed <= miss or searcher.asked.most_min is not None:
            walked = _walk(searcher, way, rng, _PROVED_BY)
            best = _better(best, ProvedPlan(way.legs, way.chance, walked, number + 1))
            if walked.missed <= miss or searcher.asked.most_min is not None:
                return best
            tried = walked
        _charge(searcher, way, tried)
    return _surest(searcher, rng, best, progress)


def _surest(
    searcher: Searcher, rng: np.random.Generator, best: ProvedPlan | None, progress: Progress | None
) -> ProvedPlan | None:
    for number in range(_SAFEST_ROUNDS):
        way = searcher.safest()
        if progress is not None:
            progress((ROUNDS + number + 1) / (ROUNDS + _SAFEST_ROUNDS))
        if way is None:
            break
        walked = _walk(searcher, way, rng, _PROVED_BY)
        best = _better(best, ProvedPlan(way.legs, way.chance, walked, ROUNDS + number + 1))
        if walked.missed <= searcher.asked.miss or not _charge(searcher, way, walked):
            break
    return best


def prove(searcher: Searcher, legs: Sequence[PlanLeg], rng: np.random.Generator) -> ProvedPlan:
    """Let walkers walk a plan made by hand."""
    walked = walk_plan(searcher.land, searcher.figures, legs, searcher.asked.spread, rng, _PROVED_BY)
    return ProvedPlan(tuple(legs), math.prod(leg.chance for leg in legs), walked, 0)


def _walk(searcher: Searcher, way: Way, rng: np.random.Generator, walkers: int) -> Walked:
    return walk_plan(searcher.land, searcher.figures, way.legs, searcher.asked.spread, rng, walkers)


def _better(one: ProvedPlan | None, other: ProvedPlan) -> ProvedPlan:
    return other if one is None or other.chance > one.chance else one


def _charge(searcher: Searcher, way: Way, walked: Walked) -> bool:
    """Charge every step with what was lost there beyond its chance; False where nothing is."""
    by_leg, at, is_charged = walked.by_leg, 0, False
    worst, worst_loss = way.keys[0], -1.0
    for step, key in zip(way.steps, way.keys, strict=True):
        count = len(step.legs)
        kept = float(np.prod(1.0 - by_leg[at : at + count]))
        at += count
        loss = -math.log(max(kept, 1e-3))
        beyond = loss + math.log(max(step.chance, 1e-9))
        if loss > worst_loss:
            worst, worst_loss = key, loss
        if beyond > searcher.charges.get(key, 0.0) + 1e-4:
            searcher.charges[key] = beyond
            is_charged = True
    if not is_charged:
        # All lost is what was reckoned; a little more on the worst step turns the search elsewhere.
        searcher.charges[worst] = searcher.charges.get(worst, 0.0) + 0.25 * worst_loss
    return is_charged
