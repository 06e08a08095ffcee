"""Made-up classes: learners with habits of their own, who walk cards and make slips, for tests alone.

Written without the tool's own grading, on the made-up walker of `support.simulator`. A card is a list of
azimuths and counts for a pace of `PACE_M`; a learner holds it with an own compass bias and an own pace,
which both differ a little from day to day. A slip is walked: what stands on the card is not what is done.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from support.made_mistakes import entries_after
from support.simulator import Person, Route, draw_route, walk_instruction

Floats = NDArray[np.float64]

PACE_M = 1.6
DAY_BIAS_SD_DEG = 0.5
DAY_SCALE_SD = 0.015

WALKED_KINDS = (
    "tally_lost",
    "tally_added",
    "azimuth_reversed",
    "digit_misread",
    "digits_swapped",
    "leg_missing",
    "steps_for_paces",
    "paces_for_steps",
    "quadrant_wrong",
)


@dataclass(frozen=True, slots=True)
class MadeLearner:
    """Who walks: habits as they truly are."""

    name: str
    bias_deg: float = 0.0
    log_scale: float = 0.0
    azimuth_sd_deg: float = 2.5
    count_sd: float = 0.05
    up: float = 0.0
    down: float = 0.0
    slips: dict[str, float] = field(default_factory=dict)

    def person(self) -> Person:
        return Person(PACE_M, self.azimuth_sd_deg, self.count_sd, 1.0, 0.0, 0.0)

    def usual_miss_m(self, length_m: float = 1000.0, legs: int = 5) -> float:
        """The root mean square miss of a straight walk."""
        own = (np.radians(self.azimuth_sd_deg) ** 2 + self.count_sd**2) / legs
        return float(length_m * np.sqrt(np.radians(self.bias_deg) ** 2 + self.log_scale**2 + own))


@dataclass(frozen=True, slots=True)
class MadeWalk:
    """One walk of a card: the slip that was walked (kind, leg from 1) or None, and the true finish."""

    learner: int
    card: int
    slip: tuple[str, int] | None
    finish_m: Floats


@dataclass(frozen=True, slots=True)
class MadeClass:
    """A class, its cards (azimuths and counts) and all its walks."""

    learners: tuple[MadeLearner, ...]
    cards: tuple[Route, ...]
    slopes: tuple[tuple[str, ...], ...]
    walks: tuple[MadeWalk, ...]


def draw_learners(
    rng: np.random.Generator,
    n: int,
    *,
    bias_sd_deg: float = 1.5,
    scale_sd: float = 0.03,
    spread: float = 0.25,
    class_bias_deg: float = 0.0,
    slope_sd: float = 0.0,
) -> tuple[MadeLearner, ...]:
    """Draw learners about a class; none drifts to one side unless the class does."""
    return tuple(
        MadeLearner(
            f"Learner {k + 1}",
            class_bias_deg + bias_sd_deg * float(rng.standard_normal()),
            scale_sd * float(rng.standard_normal()),
            2.5 * float(np.exp(spread * rng.standard_normal())),
            0.05 * float(np.exp(spread * rng.standard_normal())),
            slope_sd * float(rng.standard_normal()),
            slope_sd * float(rng.standard_normal()),
        )
        for k in range(n)
    )


def draw_cards(
    rng: np.random.Generator, n: int, legs: int = 6, *, median_m: float = 180.0, shape: str = "wander"
) -> tuple[Route, ...]:
    """Draw cards of legs of some 180 m."""
    person = Person(PACE_M)
    return tuple(draw_route(rng, shape, legs, median_m=median_m, sigma=0.4, person=person) for _ in range(n))


def walk_class(
    rng: np.random.Generator,
    learners: Sequence[MadeLearner],
    cards: Sequence[Route],
    walks: int,
    *,
    slip_share: float = 0.0,
    kinds: Sequence[str] = WALKED_KINDS,
    hilly: bool = False,
) -> MadeClass:
    """Let every learner walk so many cards, drawn evenly; a share of the walks holds one slip."""
    slopes = tuple(
        tuple(rng.choice(["up", "level", "down"] if hilly else [""], size=card.count.size)) for card in cards
    )
    made = []
    for k, learner in enumerate(learners):
        for _ in range(walks):
            card = int(rng.integers(len(cards)))
            route, slip = cards[card], None
            if rng.random() < slip_share:
                slip, route = _slipped(rng, route, learner, kinds)
            made.append(MadeWalk(k, card, slip, _finish(rng, route, learner, slopes[card])))
    return MadeClass(tuple(learners), tuple(cards), slopes, tuple(made))


def _slipped(
    rng: np.random.Generator, route: Route, learner: MadeLearner, kinds: Sequence[str]
) -> tuple[tuple[str, int] | None, Route]:
    if learner.slips:
        names = list(learner.slips)
        weight = np.array([learner.slips[name] for name in names])
        kind = str(rng.choice(names, p=weight / weight.sum()))
    else:
        kind = str(rng.choice(list(kinds)))
    ways = [
        (leg, entries)
        for leg in range(route.count.size)
        if (entries := walked_instead(kind, int(route.azimuth_deg[leg]), int(route.count[leg])))
    ]
    if not ways:
        return None, route
    leg, entries = ways[rng.integers(len(ways))]
    return (kind, leg + 1), _with_entry(route, leg, entries[rng.integers(len(entries))])


def _with_entry(route: Route, leg: int, entry: tuple[int, int]) -> Route:
    azimuth, count = route.azimuth_deg.copy(), route.count.copy()
    azimuth[leg], count[leg] = entry
    return replace(route, azimuth_deg=azimuth, count=count)


def walked_instead(kind: str, azimuth: int, count: int) -> list[tuple[int, int]]:
    """What is walked where the card asks this azimuth and count and a slip of a kind is made."""
    if kind == "leg_missing":
        return [(azimuth, 0)]
    # A hundred that is not tallied is walked once more, and steps counted as paces halve the leg.
    if kind == "tally_lost":
        return [(azimuth, count + 100)] if count > 100 else []
    if kind == "tally_added":
        return [(azimuth, count - 100)] if count > 100 else []
    if kind == "steps_for_paces":
        return [(azimuth, round(count / 2))]
    if kind == "paces_for_steps":
        return [(azimuth, 2 * count)]
    return entries_after(kind, azimuth, count)


def _finish(rng: np.random.Generator, route: Route, learner: MadeLearner, slopes: Sequence[str]) -> Floats:
    legs = route.count.size
    tilt = np.array([{"up": learner.up, "down": learner.down}.get(lie, 0.0) for lie in slopes])
    bias = learner.bias_deg + DAY_BIAS_SD_DEG * rng.standard_normal()
    scale = np.exp(learner.log_scale + tilt + DAY_SCALE_SD * rng.standard_normal())
    rounding = rng.uniform(-0.5, 0.5, (2, legs)) * (route.count > 0)
    steps = walk_instruction(
        rng,
        route.azimuth_deg + rounding[0],
        route.count + rounding[1],
        np.full(legs, bias),
        np.broadcast_to(scale, (legs,)),
        replace(learner.person(), count_floor=0.0) if not route.count.all() else learner.person(),
    )
    finish: Floats = steps.sum(axis=0)
    return finish


def counted_on_the_way(
    rng: np.random.Generator, learner: MadeLearner, length_m: Floats, slopes: Sequence[str]
) -> NDArray[np.int64]:
    """What a learner counts on one day from post to post, paces."""
    tilt = np.array([{"up": learner.up, "down": learner.down}.get(lie, 0.0) for lie in slopes])
    scale = np.exp(learner.log_scale + tilt + DAY_SCALE_SD * rng.standard_normal())
    paces = length_m / (PACE_M * scale)
    sd = np.maximum(learner.count_sd * paces, 1.0)
    return np.maximum(1, np.rint(paces + sd * rng.standard_normal(paces.shape))).astype(np.int64)
