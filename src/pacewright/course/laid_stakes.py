"""Stakes in a ring or a grid, and cards that lead over the open ground between them.

Beside stakes along a base line these are common practice of scout and military instruction (from memory).
On a ring every card crosses open ground; on a grid a class fits a square field. Which stake is nearest hangs
on both directions, so the share of wrong stakes is told as a bound.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import unit_vectors
from pacewright.course.course import CLOSES_WITHIN_M, Card, Course, CourseLeg, Drill, Fact, Post
from pacewright.course.ending import ending_covariance, wrong_stake_most
from pacewright.course.field_asked import STAKE_NAMES, FieldAsked
from pacewright.course.post_words import draw_words
from pacewright.exceptions import NoAnswerComplaint, ValueComplaint

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]

STAKE_SD_M: Final = 0.3
"""How well a stake stands on a ring or a grid that was taped (assumed)."""
RING_SHARE: Final = 0.9
"""The ring takes so much of the shorter side of the field: turning points stay inside the field."""
TURNS_DEG: Final = (30.0, 150.0)
_TRIES: Final = 60
_AWAY: Final = 1.5
"""A card ends at least so many least spacings from its start: whoever stays put then stands far off."""


@dataclass(frozen=True, slots=True, eq=False)
class _Ground:
    """The field, its stakes, and every way to walk: one metre on each azimuth (a, 2), and lengths (k,)."""

    asked: FieldAsked
    stakes: Array
    azimuth_deg: Array
    unit: Array
    length_m: Array

    def holds(self, places: Array) -> Bools:
        """Which places lie on the field, its middle at 0, 0; shape (..., 2) to (...)."""
        base, inward = _axes(self.asked)
        along, deep = np.abs(places @ base), np.abs(places @ inward)
        return np.asarray((along <= self.asked.field_m[0] / 2.0) & (deep <= self.asked.field_m[1] / 2.0))


def set_laid_course(asked: FieldAsked, rng: np.random.Generator) -> Course:
    """Set a course on a ring or a grid of stakes: the same generator gives the same course.

    Raises
    ------
    ValueComplaint
        A drill is asked for that needs a base line.
    NoAnswerComplaint
        No cards end surely enough, or none fit the field.
    """
    needs_line = set(asked.drills) - {"", "azimuth"}
    if needs_line:
        raise ValueComplaint(
            f"the drill {', '.join(sorted(needs_line))} needs stakes along a base line",
            "Leave it out, or set the stakes in a line",
        )
    ground = _lay(asked)
    words = draw_words(asked.stakes, rng)
    posts = tuple(
        Post(STAKE_NAMES[k], (float(east), float(north)), STAKE_SD_M, word=words[k])
        for k, (east, north) in enumerate(ground.stakes)
    )
    cards: list[Card] = []
    for number in range(asked.learners):
        before = cards[-1] if number % asked.stakes else None
        cards.append(_card(ground, posts, number, before, rng))
    made = Course(asked.title, "field", asked.azimuth_reference, posts, tuple(cards), asked.seed)
    shares = [wrong_stake_most(card, made, asked.walker) for card in made.cards]
    walker = asked.walker
    facts = (
        Fact("stake_spacing", _least_spacing(ground.stakes), "m"),
        Fact("wrong_stake_share_mean", float(np.mean(shares)), "share"),
        Fact("wrong_stake_share_most", max(shares), "share"),
        Fact("waves", math.ceil(asked.learners / asked.stakes), "count"),
        Fact("assumed_azimuth_sd", walker.compass.azimuth_sd_deg, "deg"),
        Fact("assumed_bias_sd", walker.compass.bias_sd_deg, "deg"),
        Fact("assumed_count_sd", walker.count.count_sd_pct, "pct"),
        Fact("assumed_count_floor", walker.count.count_floor, "pace"),
        Fact("assumed_scale_sd", walker.count.scale_sd_pct, "pct"),
    )
    return Course(*(made.title, made.kind, made.azimuth_reference, posts, made.cards, asked.seed, facts))


def _axes(asked: FieldAsked) -> tuple[Array, Array]:
    base = np.array([float(part) for part in unit_vectors(asked.base_azimuth_deg)])
    return base, np.array([base[1], -base[0]])


def _lay(asked: FieldAsked) -> _Ground:
    base, inward = _axes(asked)
    if asked.shape == "ring":
        radius_m = RING_SHARE * min(asked.field_m) / 2.0
        turn_rad = 2.0 * np.pi * np.arange(asked.stakes) / asked.stakes
        laid = radius_m * np.stack([np.sin(turn_rad), np.cos(turn_rad)], axis=1)
    else:
        rows = max(1, round(math.sqrt(asked.stakes * asked.field_m[1] / asked.field_m[0])))
        columns = math.ceil(asked.stakes / rows)
        row, column = np.divmod(np.arange(asked.stakes), columns)
        along = RING_SHARE * asked.field_m[0] * (column / max(columns - 1, 1) - 0.5)
        deep = RING_SHARE * asked.field_m[1] * (row / max(rows - 1, 1) - 0.5) * (rows > 1)
        laid = along[:, None] * base + deep[:, None] * inward
    azimuth_deg = np.arange(0.0, 360.0, asked.azimuth_step_deg)
    unit = np.stack(unit_vectors(azimuth_deg), axis=1)
    return _Ground(asked, np.round(laid, 1), azimuth_deg, unit, np.array(asked.lengths_m))


def _least_spacing(stakes: Array) -> float:
    apart = np.hypot(*np.moveaxis(stakes[:, None] - stakes[None], -1, 0))
    return float(apart[~np.eye(len(stakes), dtype=bool)].min())


def _card(
    ground: _Ground, posts: tuple[Post, ...], number: int, before: Card | None, rng: np.random.Generator
) -> Card:
    asked = ground.asked
    start = number % asked.stakes
    drill: Drill = asked.drills[number % len(asked.drills)] if asked.drills else ""
    least_m = _AWAY * _least_spacing(ground.stakes)
    for end in rng.permutation(asked.stakes).tolist():
        reach_m = math.dist(ground.stakes[start], ground.stakes[end])
        if reach_m < least_m or reach_m > 0.9 * asked.legs * asked.lengths_m[-1]:
            continue
        for _ in range(_TRIES):
            legs = _legs(ground, start, end, rng)
            if legs is None:
                continue
            minute = number // asked.stakes * asked.wave_minutes
            card = Card(number + 1, posts[start].name, legs, posts[end].name, drill, minute)
            if _is_sure(ground, posts, card) and _ends_apart(asked, posts, card, before):
                return card
    raise NoAnswerComplaint(
        f"no card of {asked.legs} legs from {asked.lengths_m[0]:g} to {asked.lengths_m[-1]:g} m leads surely"
        f" from {posts[start].name} to another stake of this {asked.shape}",
        "Set fewer stakes, take a larger field, ask for shorter or fewer legs, or allow more wrong stakes",
    )


def _legs(ground: _Ground, start: int, end: int, rng: np.random.Generator) -> tuple[CourseLeg, ...] | None:
    """Draw legs from one stake to another, or None where this try led nowhere."""
    place, came, drawn = ground.stakes[start], None, []
    steps = ground.unit[:, None] * ground.length_m[:, None]
    for _ in range(ground.asked.legs - 2):
        open_legs = np.argwhere(ground.holds(place + steps) & _turns(ground, came)[:, None])
        if not len(open_legs):
            return None
        a, k = (int(part) for part in open_legs[rng.integers(len(open_legs))])
        drawn.append((a, k))
        place, came = place + steps[a, k], a
    last = _closing(ground, place, came, ground.stakes[end], rng)
    if last is None:
        return None
    ways = [(float(ground.azimuth_deg[a]), float(ground.length_m[k])) for a, k in (*drawn, *last)]
    name = STAKE_NAMES[end]
    legs = [CourseLeg(azimuth, length) for azimuth, length in ways[:-1]]
    return (*legs, CourseLeg(*ways[-1], ends=name))


def _turns(ground: _Ground, came: int | None) -> Bools:
    """Which azimuths turn neither too little nor too much from the one come by."""
    if came is None:
        return np.ones(ground.azimuth_deg.shape, dtype=bool)
    apart = np.abs(ground.azimuth_deg - ground.azimuth_deg[came])
    turn = np.minimum(apart, 360.0 - apart)
    return np.asarray((turn >= TURNS_DEG[0]) & (turn <= TURNS_DEG[1]))


def _closing(
    ground: _Ground, place: Array, came: int | None, end: Array, rng: np.random.Generator
) -> list[tuple[int, int]] | None:
    """Two last legs that come out at the end, or None."""
    steps = ground.unit[:, None] * ground.length_m[:, None]
    between = place + steps
    left = end - between
    azimuth = np.degrees(np.arctan2(left[..., 0], left[..., 1])) % 360.0
    last_a = np.rint(azimuth / ground.asked.azimuth_step_deg).astype(np.intp) % ground.azimuth_deg.size
    step_m = ground.asked.length_step_m
    last_k = np.rint((np.hypot(left[..., 0], left[..., 1]) - ground.length_m[0]) / step_m).astype(np.intp)
    last_k = np.clip(last_k, 0, ground.length_m.size - 1)
    off = np.hypot(*np.moveaxis(ground.unit[last_a] * ground.length_m[last_k][..., None] - left, -1, 0))
    apart = np.abs(ground.azimuth_deg[last_a] - ground.azimuth_deg[:, None])
    turn = np.minimum(apart, 360.0 - apart)
    fits = (off <= CLOSES_WITHIN_M) & (turn >= TURNS_DEG[0]) & (turn <= TURNS_DEG[1])
    fits &= ground.holds(between) & _turns(ground, came)[:, None]
    found = np.argwhere(fits)
    if not len(found):
        return None
    a, k = (int(part) for part in found[rng.integers(len(found))])
    return [(a, k), (int(last_a[a, k]), int(last_k[a, k]))]


def _is_sure(ground: _Ground, posts: tuple[Post, ...], card: Card) -> bool:
    made = Course("", "field", ground.asked.azimuth_reference, posts, (card,))
    return wrong_stake_most(card, made, ground.asked.walker) <= ground.asked.most_wrong_share


def _ends_apart(asked: FieldAsked, posts: tuple[Post, ...], card: Card, before: Card | None) -> bool:
    """Whether two neighbours end apart by more than their scatter explains."""
    if before is None:
        return True
    if card.ends == before.ends:
        return False
    places = {post.name: np.array(post.place_m) for post in posts}
    apart = places[card.ends] - places[before.ends]
    length = float(np.hypot(*apart))
    spread = sum(ending_covariance(one.legs, asked.walker, asked.azimuth_reference) for one in (card, before))
    sd = math.sqrt(float(apart @ spread @ apart)) / length
    return length >= asked.gap_sds * sd
