"""What every leg of a card should read, where it ends, and how far off still counts as ordinary.

A way round an obstacle is written out: to it, aside, past, back, on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import normal_azimuth, unit_vectors
from pacewright.core.log.log_heading import Heading
from pacewright.core.log.remarks import At, Ground, LegSlope, Remark
from pacewright.core.log.travel_log import Cells, Leg, TravelLog, compose_log
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY, CountScatter
from pacewright.core.pace.tally import whole_count
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.slip_entries import count_text
from pacewright.core.way.frames import ASSUMED_PACE_M, class_ratio, map_frame
from pacewright.core.way.reckoning import Reckoning, reckon
from pacewright.core.way.regions import half_widths
from pacewright.course.course import DETOUR_DEG, Card, Course, CourseLeg

Array = NDArray[np.float64]

MEASURED: Final = CountScatter(scale_sd_pct=0.2, count_sd_pct=0.2, count_floor=0.1)
"""Lengths that a partner measures with a line, in per cent and paces (assumed): nothing is counted."""
LEAST_PART_M: Final = 0.5
"""A part of a leg before or behind an obstacle that is shorter than this is not walked by itself."""


@dataclass(frozen=True, slots=True)
class KeyRow:
    """What one row of the log should read.

    Attributes
    ----------
    leg
        The leg of the card, from 1; the parts of a way round an obstacle share it.
    azimuth_deg
        From the north of the course.
    length_m
        How far it goes.
    count
        The same in the learner's paces, a whole number.
    ends_m
        Where it ends, east and north.
    at
        The post where it ends, None on open ground.
    along, across
        How far from there an ordinary counter may end, along the leg and across it, in paces: half the
        width of the region that holds 95 walks of 100, reckoned from the last post.
    """

    leg: int
    azimuth_deg: float
    length_m: float
    count: int
    ends_m: tuple[float, float]
    at: str | None
    along: float
    across: float


@dataclass(frozen=True, slots=True, eq=False)
class AnswerKey:
    """What a card asks of one learner.

    Attributes
    ----------
    card
        The card.
    walker
        The learner, with the pace count that was used.
    assumed_pace
        True where the learner has no pace count, so that a pace of 1.5 m was assumed.
    rows
        What the log should read.
    log
        The same as a travel log.
    places_m
        Where the walk starts and where every row ends; shape (n + 1, 2).
    reckoning
        The log in metres, with what ordinary scatter makes of it.
    """

    card: Card
    walker: Walker
    assumed_pace: bool
    rows: tuple[KeyRow, ...]
    log: TravelLog
    places_m: Array
    reckoning: Reckoning

    @property
    def pace_m(self) -> float:
        """The length of one ordinary pace in metres."""
        return self.walker.pace_m()

    def covariance(self, start: int = 0, end: int | None = None) -> Array:
        """The ordinary scatter of a row's end as seen from an earlier one's, in square metres."""
        return self.reckoning.relative_covariance(start, len(self.rows) if end is None else end)

    def steps_m(self) -> Array:
        """East and north of every row, shape (n, 2)."""
        steps: Array = np.diff(self.places_m, axis=0)
        return steps


@dataclass(frozen=True, slots=True)
class _Part:
    leg: int
    azimuth_deg: float
    length_m: float
    whole: CourseLeg
    at: str | None


def answer_key(
    course: Course, number: int, walker: Walker | None = None, *, probability: float = DEFAULT_PROBABILITY
) -> AnswerKey:
    """What every leg of a card should read for one learner, and how far off still counts as ordinary.

    Parameters
    ----------
    course, number
        The course and the number of the card.
    walker
        The learner's pace count and scatter; without a pace count, a pace of 1.5 m is assumed. What the
        compass was found to be off before is left out: the card asks for the azimuth as it stands.
    probability
        The share of ordinary walks that ends within `along` and `across`.

    Raises
    ------
    MissingComplaint
        The course has no such card.
    ValueComplaint
        The probability is none.
    """
    card = course.card(number)
    given = walker or Walker()
    counted = _as_counted(given, card)
    parts = list(_parts(card))
    legs = tuple(_key_leg(part, counted) for part in parts)
    log = compose_log(Heading(azimuth_reference=course.azimuth_reference, start=card.start), legs)
    reckoning = reckon(log, counted, map_frame(log.heading, counted))
    places = _places(course.places_m(card), parts)
    starts = _last_posts(parts)
    rows = []
    for k, (part, leg) in enumerate(zip(parts, legs, strict=True)):
        spread = reckoning.relative_covariance(starts[k], k + 1)
        along, across = half_widths(spread, part.azimuth_deg, probability)
        east, north = places[k + 1].tolist()
        rows.append(
            KeyRow(
                part.leg,
                part.azimuth_deg,
                part.length_m,
                whole_count(leg.count),
                (east, north),
                part.at,
                along / counted.pace_m(),
                across / counted.pace_m(),
            )
        )
    return AnswerKey(card, counted, given.per_100_m is None, tuple(rows), log, places, reckoning)


def _as_counted(walker: Walker, card: Card) -> Walker:
    compass = replace(walker.compass, bias_deg=0.0, sighting_bias_deg=0.0)
    count = MEASURED if card.drill == "azimuth" else walker.count
    return replace(walker, compass=compass, count=count, per_100_m=walker.per_100_m or 100.0 / ASSUMED_PACE_M)


def _parts(card: Card) -> Iterator[_Part]:
    for number, leg in enumerate(card.legs, start=1):
        ways = [(a, m) for a, m in _ways(leg) if m >= LEAST_PART_M]
        at = card.ends if number == len(card.legs) else leg.ends
        for k, (azimuth_deg, length_m) in enumerate(ways, start=1):
            yield _Part(number, azimuth_deg, length_m, leg, at if k == len(ways) else None)


def _ways(leg: CourseLeg) -> list[tuple[float, float]]:
    bar, azimuth_deg = leg.obstacle, leg.azimuth_deg
    if bar is None:
        return [(azimuth_deg, leg.length_m)]
    sense = 1.0 if bar.side == "right" else -1.0
    rest = leg.length_m - bar.at_m - bar.past_m
    if bar.way == "box":
        out, back = normal_azimuth(azimuth_deg + 90.0 * sense), normal_azimuth(azimuth_deg - 90.0 * sense)
        around = [(out, bar.offset_m), (azimuth_deg, bar.past_m), (back, bar.offset_m)]
    else:
        out = normal_azimuth(azimuth_deg + DETOUR_DEG * sense)
        back = normal_azimuth(azimuth_deg - DETOUR_DEG * sense)
        around = [(out, bar.past_m), (back, bar.past_m)]
    return [(azimuth_deg, bar.at_m), *around, (azimuth_deg, rest)]


def _key_leg(part: _Part, walker: Walker) -> Leg:
    ground, slope = part.whole.ground or None, part.whole.slope
    remarks: list[Remark] = []
    classes = {one.ground for one in walker.classes if one.ground}
    if ground in classes:
        remarks.append(Ground(ground))
    if slope:
        remarks.append(LegSlope(slope))
    if part.at:
        remarks.append(At(part.at))
    pace_class = walker.pace_class(ground if ground in classes else None, slope) if walker.classes else None
    pace_m = walker.pace_m() * (class_ratio(pace_class, walker) if pace_class else 1.0)
    count = max(1, whole_count(part.length_m / pace_m))
    cells = Cells(count_text(round(part.azimuth_deg, 1)), str(count), "")
    return Leg(cells, tuple(remarks), azimuth_deg=part.azimuth_deg, count=float(count))


def _places(ends_m: Array, parts: list[_Part]) -> Array:
    """Where every part ends; the last part of a leg ends where the leg does."""
    places = [ends_m[0]]
    for k, part in enumerate(parts):
        last = k + 1 == len(parts) or parts[k + 1].leg != part.leg
        east, north = unit_vectors(part.azimuth_deg)
        step = part.length_m * np.array([float(east), float(north)])
        places.append(ends_m[part.leg] if last else places[-1] + step)
    return np.array(places)


def _last_posts(parts: list[_Part]) -> list[int]:
    """For every part, the station of the last post before it; 0 is the start."""
    starts, last = [], 0
    for k, part in enumerate(parts):
        starts.append(last)
        last = k + 1 if part.at else last
    return starts
