"""How well a log fits a place: over all of it, and remark by remark."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.found_walk import FoundWalk
from pacewright.ground.locate.ground_said import GroundSaid
from pacewright.ground.locate.kernel_arguments import LegChance
from pacewright.ground.locate.question import Question

Floats = NDArray[np.float64]

DISAGREES_BELOW: Final = -3.5
"""Natural logarithm: a log that this land explains thirty times worse than chance does is not from here, or
holds more slips than are allowed for. A log that is from here comes out so low once in thirty at most."""


@dataclass(frozen=True, slots=True)
class RemarkFit:
    """One remark at a place: how much likelier it is there than anywhere.

    Attributes
    ----------
    leg, station
        Which it is of; the other is None.
    ratio
        Below 1 where it speaks against the place.
    """

    leg: int | None
    station: int | None
    ratio: float


def chance_anywhere(question: Question, said: GroundSaid) -> float:
    """The natural logarithm of the chance of all remarks if they had nothing to do with one place here.

    Either each is true of some place of this land taken at random, or each was written without looking:
    what explains them better is what a place has to beat.
    """
    under_each = [
        float(sum(np.log(np.maximum(part, 1e-30)).sum() for part in one.by_chance))
        for one in question.weighings
    ]
    chances = np.bincount(question.nodes.heights, weights=question.nodes.weight)
    at_random = float(np.logaddexp.reduce(np.array(under_each) + np.log(chances)))
    said_there = question.weighings[-1].stations
    readings = [one for one in said_there if one.reading_m > -9000.0]
    # An altimeter read without looking is as likely as one read anywhere; so is what is said beside it.
    blind = said.blind_chance - sum(math.log(3.5449077 * max(one.fill_m, 10.0)) for one in readings)
    beside = [one for one in said.stations if one.is_on_stream or one.slope_pct is not None]
    has_known = any(one.extra >= 0 for one in said_there)
    return at_random if beside or has_known else max(at_random, blind)


def remark_fits(question: Question, said: GroundSaid, walk: FoundWalk) -> tuple[RemarkFit, ...]:
    """How the remarks fit a walk, the worst first; readings of an altimeter are left out."""
    fits: list[RemarkFit] = []
    at = walk.places - (question.domain.top, question.domain.left) + question.domain.pad
    rows, columns = (np.clip(at[:, k].astype(int), 2, question.kind.shape[k] - 3) for k in (0, 1))
    weighing = question.weighings[-1]
    for k, one in enumerate(weighing.stations):
        if one.table >= 0 and said.stations[k].count:
            about = question.kind[rows[k] - 1 : rows[k] + 2, columns[k] - 1 : columns[k] + 2]
            here = float(weighing.tables[one.table][about].mean())
            fits.append(RemarkFit(None, k, here / float(weighing.tables[one.table, -1])))
    for k in range(len(said.legs)):
        leg = weighing.legs[k + 1]
        if leg.trend < 0:
            continue
        start, end = (float(question.height[rows[j], columns[j]]) for j in (k, k + 1))
        if min(start, end) < -9000.0:
            continue
        fits.append(RemarkFit(k + 1, None, _trend_chance(end - start, leg) / leg.unknown))
    return tuple(sorted(fits, key=lambda one: one.ratio))


def _trend_chance(rise_m: float, leg: LegChance) -> float:
    from scipy.special import ndtr

    limit, soft, wrong = leg.limit_m, leg.soft_m, leg.wrong
    up, down = float(ndtr((rise_m - limit) / soft)), float(ndtr((-rise_m - limit) / soft))
    said = (down, 1.0 - up - down, up)[leg.trend]
    return float((1.0 - wrong) * said + wrong / 3.0)
