"""The legs of one card on a field: drawn at random, inside the field, to end at a stake."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import unit_vectors
from pacewright.core.way.reckoning import walked_covariance
from pacewright.course.course import CLOSES_WITHIN_M, CourseLeg, Drill, Obstacle, Side
from pacewright.course.ending import ending_covariance, normal_share, walked_pieces, walking_frame
from pacewright.course.field_asked import FieldAsked

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

KEPT_IN_SDS: Final = 2.0
"""Turning points keep this many standard deviations of their own scatter inside the field."""
TURNS_DEG: Final = (30.0, 150.0)
"""A turn between two legs: neither straight on, which hides where the leg ends, nor back along it."""
_HOMEWARD: Final = 0.7
"""After a leg the end lies no farther than this part of the legs still to come, laid out straight."""
_AHEAD: Final = 0.5
"""A card that is to show the compass goes out and along: no leg turns more than 60 degrees off the line."""
_TRIES: Final = 60
_CLOSINGS: Final = 6


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """The open ground, its base line, and what every azimuth and length does on it.

    Attributes
    ----------
    asked
        What was asked.
    spacing_m
        Between stakes.
    least_along, most_along, deep
        The edges, in metres from the first stake along the base line and from the line.
    azimuth_deg, length_m
        The azimuths and lengths to draw from, shapes (a,) and (k,).
    along_step, deep_step
        One metre on each azimuth, along the base line and into the field, shape (a,).
    count_variance, across_variance
        Of a leg of each length, along and across it, shape (k,).
    scale_sd
        Of the pace scale, as a part of one.
    shared_sd
        How far compass bias and pace scale move an end, as a part of its distance from the start.
    """

    asked: FieldAsked
    spacing_m: float
    least_along: float
    most_along: float
    deep: float
    azimuth_deg: Array
    length_m: Array
    along_step: Array
    deep_step: Array
    count_variance: Array
    across_variance: Array
    scale_sd: float
    shared_sd: float

    @property
    def base(self) -> Array:
        """The unit vector along the base line, east and north."""
        return np.array([float(part) for part in unit_vectors(self.asked.base_azimuth_deg)])

    @property
    def inward(self) -> Array:
        """The unit vector into the field, east and north."""
        along = self.base
        sign = 1.0 if self.asked.field_side == "right" else -1.0
        return sign * np.array([along[1], -along[0]])

    def stake_m(self, stake: int) -> tuple[float, float]:
        """East and north of a stake; the first stands at 0, 0."""
        east, north = self.base * (self.spacing_m * stake)
        return float(east), float(north)

    def along_variance(self, azimuth: Ints, length: Ints) -> Array:
        """What legs, by number of azimuth and length, add to the variance along the base line."""
        cosine2 = self.along_step[azimuth] ** 2
        variance: Array = cosine2 * self.count_variance[length]
        variance += (1.0 - cosine2) * self.across_variance[length]
        return variance

    def keeps_inside(self, along: Array, deep: Array, spread2: Array) -> NDArray[np.bool_]:
        """Which points keep their distance from every edge and from the base line.

        Parameters
        ----------
        along, deep
            Of the points.
        spread2
            The variance of each in the worst direction.
        """
        margin = KEPT_IN_SDS * np.sqrt(spread2)
        inside: NDArray[np.bool_] = (
            (along - margin >= self.least_along)
            & (along + margin <= self.most_along)
            & (deep - margin >= 0.0)
            & (deep + margin <= self.deep)
        )
        return inside


def lay_field(asked: FieldAsked, spacing_m: float) -> Field:
    """The field with its stakes so far apart; the base line lies in the middle of its side."""
    frame = walking_frame(asked.walker, asked.azimuth_reference)
    azimuth_deg = np.arange(0.0, 360.0, asked.azimuth_step_deg)
    length_m = np.array(asked.lengths_m)
    on_north = np.array([walked_covariance(0.0, length, asked.walker, frame) for length in length_m])
    along, across = unit_vectors(azimuth_deg - asked.base_azimuth_deg)[::-1]
    base_m = spacing_m * (asked.stakes - 1)
    ends_m = (asked.field_m[0] - base_m) / 2.0
    return Field(
        asked=asked,
        spacing_m=spacing_m,
        least_along=-ends_m,
        most_along=base_m + ends_m,
        deep=asked.field_m[1],
        azimuth_deg=azimuth_deg,
        length_m=length_m,
        along_step=along,
        deep_step=across if asked.field_side == "right" else -across,
        count_variance=on_north[:, 1, 1],
        across_variance=on_north[:, 0, 0],
        scale_sd=frame.scale_sd,
        shared_sd=max(math.radians(frame.bias_sd_deg), frame.scale_sd),
    )


@dataclass(slots=True)
class CardDrawer:
    """Draws the legs of cards on one field and keeps account of what it met.

    Attributes
    ----------
    field
        The field.
    most_sd_m
        How much an end may scatter along the base line.
    rng
        Chance.
    met_sd_m
        The usual scatter of the closed cards met on each try, fit or not: what a complaint speaks of.
    ahead
        1 or -1 while legs are drawn that all lead on along the base line, up or down it; else 0.
    """

    field: Field
    most_sd_m: float
    rng: np.random.Generator
    met_sd_m: list[float]
    ahead: int = 0

    def legs(self, start: int, end: int, drill: Drill, name: str) -> tuple[CourseLeg, ...] | None:
        """The legs of a card from one stake to another, or None where no try led there.

        Parameters
        ----------
        start, end
            Numbers of the stakes, from 0.
        drill
            What else it trains.
        name
            Of the stake where it ends.
        """
        self.ahead = 0 if drill != "bias" else (1 if end > start else -1)
        for _ in range(_TRIES):
            first = self._first_legs(start, end)
            if first is None:
                continue
            for closing in self._closings(first, start, end):
                legs = self._as_legs([*first, *closing], name)
                found = self._with_obstacle(legs, start, drill) if drill in ("box", "detour") else legs
                if found is not None and self._ends_surely(found, start, end):
                    return found
        return None

    def _first_legs(self, start: int, end: int) -> list[tuple[int, int]] | None:
        """Draw all legs but the last two, as numbers of azimuth and length."""
        field = self.field
        along, deep, spread2 = field.spacing_m * start, 0.0, 0.0
        legs: list[tuple[int, int]] = []
        for left in range(field.asked.legs - 1, 1, -1):
            fits = self._open_legs(start, along, deep, spread2, legs[-1][0] if legs else None)
            to_end = np.hypot(
                along + field.along_step[:, None] * field.length_m - field.spacing_m * end,
                deep + field.deep_step[:, None] * field.length_m,
            )
            open_legs = np.flatnonzero(
                fits & (to_end <= _HOMEWARD * left * field.length_m[-1] * (1.0 if not self.ahead else 1.2))
            )
            if not open_legs.size:
                return None
            a, k = divmod(int(open_legs[self.rng.integers(open_legs.size)]), field.length_m.size)
            legs.append((a, k))
            along += float(field.along_step[a] * field.length_m[k])
            deep += float(field.deep_step[a] * field.length_m[k])
            spread2 += float(max(field.count_variance[k], field.across_variance[k]))
        return legs

    def _open_legs(
        self, start: int, along: float, deep: float, spread2: float, came: int | None
    ) -> NDArray[np.bool_]:
        """Which azimuths and lengths lead on from a point, shape (a, k)."""
        field = self.field
        to_along = along + field.along_step[:, None] * field.length_m
        to_deep = deep + field.deep_step[:, None] * field.length_m
        from_start2 = (to_along - field.spacing_m * start) ** 2 + to_deep**2
        spread = spread2 + np.maximum(field.count_variance, field.across_variance)
        inside = field.keeps_inside(to_along, to_deep, spread + field.shared_sd**2 * from_start2)
        fits = self._turns(np.arange(field.azimuth_deg.size), came) & self._leads_on(field.along_step)
        return inside & fits[:, None]

    def _leads_on(self, along_step: Array) -> NDArray[np.bool_]:
        """Which azimuths lead on along the base line; all where that is not asked for."""
        if not self.ahead:
            return np.ones(along_step.shape, dtype=bool)
        leads: NDArray[np.bool_] = along_step * self.ahead >= _AHEAD
        return leads

    def _turns(self, azimuths: Ints, came: int | Ints | None) -> NDArray[np.bool_]:
        """Which azimuths turn neither too little nor too much from the one come by."""
        if came is None:
            return np.ones(azimuths.shape, dtype=bool)
        apart = np.abs(self.field.azimuth_deg[azimuths] - self.field.azimuth_deg[came])
        turn = np.minimum(apart, 360.0 - apart)
        return (turn >= TURNS_DEG[0]) & (turn <= TURNS_DEG[1])

    def _closings(self, first: list[tuple[int, int]], start: int, end: int) -> list[list[tuple[int, int]]]:
        """Some of the last two legs that end at the stake and surely, in random order."""
        field = self.field
        came_a, came_k = np.array(first, dtype=np.int64).reshape(-1, 2).T
        along = field.spacing_m * start + float(field.along_step[came_a] @ field.length_m[came_k])
        deep = float(field.deep_step[came_a] @ field.length_m[came_k])
        spread2 = float(np.maximum(field.count_variance, field.across_variance)[came_k].sum())
        a, k = np.nonzero(self._open_legs(start, along, deep, spread2, first[-1][0] if first else None))
        go_along = field.spacing_m * end - (along + field.along_step[a] * field.length_m[k])
        go_deep = -(deep + field.deep_step[a] * field.length_m[k])
        last_a, last_k, off = self._nearest_leg(go_along, go_deep)
        on = self._turns(last_a, a) & self._leads_on(field.along_step[last_a])
        closed = np.flatnonzero((off <= CLOSES_WITHIN_M) & on)
        if not closed.size:
            return []
        a, k, last_a, last_k = a[closed], k[closed], last_a[closed], last_k[closed]
        variance = field.along_variance(came_a, came_k).sum() + field.along_variance(a, k)
        variance += field.along_variance(last_a, last_k)
        sd = np.sqrt(variance + (field.scale_sd * field.spacing_m * (end - start)) ** 2)
        self.met_sd_m.append(float(np.median(sd)))
        chosen = self.rng.permutation(np.flatnonzero(sd <= self.most_sd_m))[:_CLOSINGS]
        return [[(int(a[i]), int(k[i])), (int(last_a[i]), int(last_k[i]))] for i in chosen]

    def _nearest_leg(self, along: Array, deep: Array) -> tuple[Ints, Ints, Array]:
        """The azimuth and length that come nearest to a step, and by how much they miss it."""
        field = self.field
        side = 1.0 if field.asked.field_side == "right" else -1.0
        azimuth = np.degrees(np.arctan2(side * deep, along)) + field.asked.base_azimuth_deg
        a = np.rint(azimuth / field.asked.azimuth_step_deg).astype(np.int64) % field.azimuth_deg.size
        k = np.rint((np.hypot(along, deep) - field.length_m[0]) / field.asked.length_step_m).astype(np.int64)
        k = np.clip(k, 0, field.length_m.size - 1)
        off = np.hypot(
            field.along_step[a] * field.length_m[k] - along, field.deep_step[a] * field.length_m[k] - deep
        )
        return a, k, off

    def _as_legs(self, drawn: list[tuple[int, int]], name: str) -> tuple[CourseLeg, ...]:
        open_ground = [
            CourseLeg(float(self.field.azimuth_deg[a]), float(self.field.length_m[k])) for a, k in drawn
        ]
        last = open_ground.pop()
        return (*open_ground, CourseLeg(last.azimuth_deg, last.length_m, ends=name))

    def _ends_surely(self, legs: tuple[CourseLeg, ...], start: int, end: int) -> bool:
        """Whether a card's end scatters little enough, where its legs truly come out."""
        field, asked = self.field, self.field.asked
        covariance = ending_covariance(legs, asked.walker, asked.azimuth_reference)
        sd_m = math.sqrt(float(field.base @ covariance @ field.base))
        walked = float(np.sum([leg.step_m() for leg in legs], axis=0) @ field.base)
        off = walked - field.spacing_m * (end - start)
        half = field.spacing_m / 2.0
        wrong = normal_share((off - half) / sd_m) + normal_share((-off - half) / sd_m)
        return sd_m <= self.most_sd_m and wrong <= asked.most_wrong_share

    def _with_obstacle(
        self, legs: tuple[CourseLeg, ...], start: int, drill: Drill
    ) -> tuple[CourseLeg, ...] | None:
        """The legs with an obstacle in the middle of the longest, or None where there is no room."""
        longest = max(range(len(legs)), key=lambda i: legs[i].length_m)
        sides: list[Side] = ["right", "left"]
        for side in sides if self.rng.random() < 0.5 else sides[::-1]:
            barred = _barred(legs[longest], drill, side, self.field.asked.length_step_m)
            changed = (*legs[:longest], barred, *legs[longest + 1 :])
            if self._goes_round_inside(changed, longest, start):
                return changed
        return None

    def _goes_round_inside(self, legs: tuple[CourseLeg, ...], barred: int, start: int) -> bool:
        field, asked = self.field, self.field.asked
        place = np.array(field.stake_m(start)) + np.sum(
            [np.zeros(2), *(leg.step_m() for leg in legs[:barred])], axis=0
        )
        pieces = walked_pieces(legs[barred])
        steps = np.array([CourseLeg(azimuth, length).step_m() for azimuth, length in pieces])
        points = place + np.cumsum(steps, axis=0)[:-1]
        covariance = ending_covariance(legs[: barred + 1], asked.walker, asked.azimuth_reference)
        spread2 = np.full(len(points), float(np.linalg.eigvalsh(covariance)[-1]))
        return bool(field.keeps_inside(points @ field.base, points @ field.inward, spread2).all())


def _barred(leg: CourseLeg, drill: Drill, side: Side, step_m: float) -> CourseLeg:
    """Put an obstacle into the middle third of a leg."""
    third = max(1, math.floor(leg.length_m / step_m / 3.0)) * step_m
    box = drill == "box"
    bar = Obstacle("box" if box else "detour", side, third, third, third if box else 0.0)
    return CourseLeg(leg.azimuth_deg, leg.length_m, leg.ends, obstacle=bar)
