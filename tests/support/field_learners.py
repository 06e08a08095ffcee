"""Learners on a field of stakes, one by one, with one known truth each; for tests.

A card is walked as its words say: leg by leg, an obstacle boxed where it stands (square out, past, square
back) or gone round in two sides. What may go wrong is done as people do it: the wrong card is picked up, the
walk begins at the neighbour's stake, nobody leaves, a leg is walked the opposite way with its box, or left
out, or dialled wrong. It shares no code with what grades.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

PACE_M = 1.6
WHOLE_LEG = ("azimuth_reversed", "leg_missing", "quadrant_wrong", "steps_for_paces", "digits_swapped")


@dataclass(frozen=True, slots=True)
class Truth:
    """Where a learner ended, and what went wrong."""

    ended_m: tuple[float, float]
    kind: str
    leg: int | None = None
    card: int | None = None


def pieces(leg: Any, turned_deg: float = 0.0, times: float = 1.0) -> list[tuple[float, float]]:
    """The straight ways of one leg of a card: azimuth and metres."""
    azimuth_deg, bar = leg.azimuth_deg + turned_deg, leg.obstacle
    if bar is None:
        return [(azimuth_deg, leg.length_m * times)]
    side = 1 if bar.side == "right" else -1
    out, back = (90, -90) if bar.way == "box" else (60, -60)
    ways = [(azimuth_deg, bar.at_m)]
    if bar.way == "box":
        ways += [
            (azimuth_deg + side * out, bar.offset_m),
            (azimuth_deg, bar.past_m),
            (azimuth_deg + side * back, bar.offset_m),
        ]
    else:
        ways += [(azimuth_deg + side * out, bar.past_m), (azimuth_deg + side * back, bar.past_m)]
    ways.append((azimuth_deg, leg.length_m - bar.at_m - bar.past_m))
    return [(azimuth, metres * times) for azimuth, metres in ways if metres > 0]


def _dialled_otherwise(kind: str, leg: Any, chance: random.Random) -> float | None:
    whole = round(leg.azimuth_deg) % 360
    if kind == "azimuth_reversed":
        return 180.0
    if kind == "quadrant_wrong":
        return chance.choice((90.0, -90.0))
    # As it stands on the card: no zeros in front.
    digits = str(whole)
    if len(digits) < 2:
        return None
    k = chance.randrange(len(digits) - 1)
    other = int(digits[:k] + digits[k + 1] + digits[k] + digits[k + 2 :])
    if other == whole or other >= 360:
        return None
    turned = float(other - whole)
    # What comes out as a quarter or half circle is told by that name as well: no use asking which it was.
    off = min(abs((turned - name + 180) % 360 - 180) for name in (90.0, 180.0, 270.0))
    return turned if off > 12.0 else None


def walk(
    card: Any, start_m: Sequence[float], chance: random.Random, kind: str = "", leg: int = 0
) -> Truth | None:
    """Walk a card from a place with one slip on a leg, or none; None where the leg cannot suffer it."""
    compass_deg, stride = chance.gauss(0.0, 1.5), math.exp(chance.gauss(0.0, 0.03))
    east, north = start_m
    for number, one in enumerate(card.legs, start=1):
        turned, times = 0.0, 1.0
        if number == leg and kind == "leg_missing":
            continue
        if number == leg and kind == "steps_for_paces":
            times = 0.5
        elif number == leg and kind:
            other = _dialled_otherwise(kind, one, chance)
            if other is None:
                return None
            turned = other
        for azimuth_deg, metres in pieces(one, turned, times):
            held = math.radians(azimuth_deg + compass_deg + chance.gauss(0.0, 2.5))
            paces = max(1, round(metres / PACE_M))
            far = (paces + chance.gauss(0.0, max(1.0, 0.05 * paces))) * PACE_M * stride
            east, north = east + far * math.sin(held), north + far * math.cos(held)
    return Truth((east, north), kind or "none", leg or None, card.number)
