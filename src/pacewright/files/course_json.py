"""A practice course as the keys of --json."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from pacewright.course.answer_key import AnswerKey
from pacewright.course.course import Card, Course


def course_keys(course: Course, wrong_stake_shares: Mapping[int, float] | None = None) -> dict[str, Any]:
    """A course as keys.

    Parameters
    ----------
    course
        The course.
    wrong_stake_shares
        By number of the card, how often a perfect counter would end at a wrong stake.
    """
    shares = wrong_stake_shares or {}
    return {
        "title": course.title,
        "kind": course.kind,
        "azimuth_reference": course.azimuth_reference,
        "seed": course.seed,
        "tolerance_m": course.tolerance_m,
        "posts": [
            {
                "name": post.name,
                "east": post.place_m[0],
                "north": post.place_m[1],
                "sd_m": post.sd_m,
                "note": post.note,
                "word": post.word,
            }
            for post in course.posts
        ],
        "barred": [asdict(one) for one in course.barred],
        "cards": [_card_keys(course, card, shares.get(card.number)) for card in course.cards],
        "facts": [asdict(fact) for fact in course.facts],
    }


def _card_keys(course: Course, card: Card, share: float | None) -> dict[str, Any]:
    return {
        "number": card.number,
        "start": card.start,
        "ends": card.ends,
        "drill": card.drill,
        "start_minute": card.start_minute,
        "length_m": card.length_m,
        "legs": [asdict(leg) for leg in card.legs],
        "places": course.places_m(card).round(3).tolist(),
        "wrong_stake_share": share,
    }


def answer_key_keys(key: AnswerKey) -> dict[str, Any]:
    """What a card asks of one learner as keys; `along` and `across` in the learner's paces."""
    return {
        "card": key.card.number,
        "start": key.card.start,
        "ends": key.card.ends,
        "pace_m": key.pace_m,
        "assumed_pace": key.assumed_pace,
        "covariance_m2": key.covariance().tolist(),
        "rows": [
            {
                "leg": row.leg,
                "azimuth_deg": row.azimuth_deg,
                "length_m": row.length_m,
                "count": row.count,
                "at": row.at,
                "east": row.ends_m[0],
                "north": row.ends_m[1],
                "along": row.along,
                "across": row.across,
            }
            for row in key.rows
        ],
    }
