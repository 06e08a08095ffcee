"""The chance to enter barred land among posts, for learners who miss posts and follow the rule."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.course.course import Fact
from pacewright.course.leg_graph import LegGraph
from pacewright.course.missed_posts import Outing, leg_risks, outing_of, walk_lane
from pacewright.course.posts_asked import PostsAsked
from pacewright.exceptions import NoAnswerComplaint

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

MARGIN: Final = 0.7
"""Lanes are chosen under this part of the bound: the chances of legs are themselves told by chance."""
_A_LEG: Final = 2_000
_A_CARD: Final = 4_000


def clear_of_barred(asked: PostsAsked, graph: LegGraph, rng: np.random.Generator) -> tuple[LegGraph, Array]:
    """The legs that by themselves keep under the bound, and the chance on each, shape (posts, posts).

    Raises
    ------
    NoAnswerComplaint
        No leg does.
    """
    if not asked.barred:
        return graph, np.zeros(graph.allowed.shape)
    outing, places_m = _outing(asked)
    risk = leg_risks(outing, places_m, graph.allowed, _A_LEG, rng)
    safe = graph.allowed & (risk <= MARGIN * asked.most_barred_share)
    if not safe.any():
        raise NoAnswerComplaint(
            f"no leg keeps the chance to enter barred land under {100 * asked.most_barred_share:g} % for"
            f" learners who miss its post and follow the rule of the card; the safest comes to"
            f" {100 * float(risk[graph.allowed].min()):.1f} %",
            "Move posts, ask for shorter legs, or state a backstop that leads away",
        )
    refused = {**graph.refused, "too risky for who misses the post": int((graph.allowed & ~safe).sum())}
    return replace(graph, allowed=safe, refused=refused), risk


def barred_facts(asked: PostsAsked, lanes: Ints, rng: np.random.Generator) -> tuple[Fact, ...]:
    """What the key says of barred land: every card walked afresh by learners who follow the rule.

    Parameters
    ----------
    asked
        The course.
    lanes
        Posts of every card in order, shape (cards, legs + 1).
    rng
        Chance.

    Raises
    ------
    NoAnswerComplaint
        A card does not keep under the bound after all.
    """
    outing, places_m = _outing(asked)
    entered, missed, both = [], [], []
    for lane in lanes:
        outcome = walk_lane(outing, places_m[lane], _A_CARD if asked.barred else 1_000, rng)
        entered.append(float(outcome.entered.mean()))
        missed.append(float(outcome.missed.mean()))
        both.append(float((outcome.entered & outcome.missed).mean()))
    told = (Fact("missed_share_mean", float(np.mean(missed)), "share"),)
    if not asked.barred:
        return told
    if max(entered) > asked.most_barred_share:
        raise NoAnswerComplaint(
            f"a card comes to a chance of {100 * max(entered):.2f} % to enter barred land, more than the"
            f" {100 * asked.most_barred_share:g} % stated",
            "Set the course with another seed, move posts, or state a greater bound if the land allows it",
        )
    of_missing = [b / m for b, m in zip(both, missed, strict=True) if m > 0.0]
    return (
        *told,
        Fact("barred_chance_most", max(entered), "share"),
        Fact("barred_chance_missing", max(of_missing, default=0.0), "share"),
        Fact("barred_learners", float(np.sum(entered)), "learners"),
        Fact("barred_chance_bound", asked.most_barred_share, "share"),
        Fact("barred_walked", float(_A_CARD), "count"),
    )


def _outing(asked: PostsAsked) -> tuple[Outing, Array]:
    places_m = np.array([post.place_m for post in asked.posts], dtype=np.float64)
    return outing_of(asked.walker, asked.finding, asked.safety, asked.barred, places_m), places_m
