"""Slips of a made-up person in the field: one number on the page wrong, or one spot that misleads.

Each slip is made as a person makes it, on the page or on the ground, strikes evenly among the places and
the ways it can strike, and is told with what it struck and by how many standard deviations of honest
scatter that number is off. Written without the tool's own code.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple, TypeVar

import numpy as np

from support.field_walks import Day, Outing, Page, Person, Row, Sight, Walked, planned_places, walk

_T = TypeVar("_T")


class Struck(NamedTuple):
    """What a slip struck: a `leg`, the `gap` after a leg, the whole `log`, or a reading.

    Readings are `back` (of a leg), `bearing` (at a station, to a name), `place` (a name), `marker` (at a
    station) and `station` (all that was read there).
    """

    what: str
    leg: int | None = None
    station: int | None = None
    name: str | None = None


@dataclass(frozen=True, slots=True)
class Slip:
    """A slip that was made: its kind, what it struck, and how far off that is, in standard deviations."""

    kind: str
    struck: Struck
    size_sd: float


@dataclass(frozen=True, slots=True, eq=False)
class Spoiled:
    """A page with at most one slip in it, the walk it tells of, and the slip."""

    page: Page
    walked: Walked
    slip: Slip | None


def spoil_ground(rng: np.random.Generator, outing: Outing, kind: str) -> tuple[Outing, Slip] | None:
    """An outing on which a spot misleads: iron under it, or a place like the marker near it."""
    return _ON_GROUND[kind](rng, outing)


def spoil_page(rng: np.random.Generator, walked: Walked, page: Page, kind: str) -> tuple[Page, Slip] | None:
    """The page with one slip of a kind in it, None where no number can suffer it."""
    return _ON_PAGE[kind](rng, page, walked)


def spoiled_day(
    rng: np.random.Generator,
    day: Day,
    outing: Outing,
    kind: str | None,
    write: Callable[[Walked], Page] = lambda walked: walked.page,
) -> Spoiled | None:
    """A day with one slip of a kind (None: a clean day); None where the slip cannot happen.

    `write` gives the page of a walk, with what is known from a map on it.
    """
    if kind in _ON_GROUND:
        on_ground = spoil_ground(rng, outing, str(kind))
        if on_ground is None:
            return None
        walked = walk(rng, day, on_ground[0])
        return Spoiled(write(walked), walked, on_ground[1])
    walked = walk(rng, day, outing)
    page = write(walked)
    if kind is None:
        return Spoiled(page, walked, None)
    on_page = spoil_page(rng, walked, page, kind)
    return None if on_page is None else Spoiled(on_page[0], walked, on_page[1])


def _one(rng: np.random.Generator, those: Sequence[_T]) -> _T:
    return those[int(rng.integers(len(those)))]


def _apart_deg(one: float, other: float) -> float:
    return abs((one - other + 180.0) % 360.0 - 180.0)


def _count_sd(person: Person, count: float) -> float:
    return max(person.count_sd * count, person.count_least)


# On the ground.


def _station_pulled(rng: np.random.Generator, outing: Outing) -> tuple[Outing, Slip] | None:
    """Iron of 5 to 30 degrees either way at a station where the readings can show it."""
    plan = outing.plan
    told = {plan.spot(leg) for leg in outing.looks_back} | {plan.spot(leg - 1) for leg in outing.looks_back}
    told |= {plan.spot(station) for station, _ in outing.sights}
    free = sorted(told - set(outing.iron))
    if not free:
        return None
    station = _one(rng, free)
    pull = float(rng.uniform(5.0, 30.0) * rng.choice([-1.0, 1.0]))
    slip = Slip("station_pulled", Struck("station", station=station), abs(pull) / Person().look_back_sd_deg())
    return replace(outing, iron={**outing.iron, station: pull}), slip


def _marker_mistaken(rng: np.random.Generator, outing: Outing) -> tuple[Outing, Slip] | None:
    """Another place like the marker, some tenth of the way walked since aside, at least 50 m."""
    plan = outing.plan
    if not plan.meets:
        return None
    station = _one(rng, sorted(plan.meets))
    since = np.diff(planned_places(plan, Person().pace_m)[plan.meets[station] : station + 1], axis=0)
    aside = max(50.0, 0.1 * float(np.hypot(*since.T).sum())) * rng.standard_normal(2)
    slip = Slip(
        "marker_mistaken",
        Struck("marker", station=station),
        math.hypot(*aside) / Person().stands_within_m,
    )
    return replace(outing, impostors={station: (float(aside[0]), float(aside[1]))}), slip


# A leg's own numbers.


def _with_row(page: Page, leg: int, row: Row) -> Page:
    return replace(page, rows=(*page.rows[: leg - 1], row, *page.rows[leg:]))


def _azimuth_slip(kind: str, ways: Callable[[int], list[int]]) -> Callable[..., tuple[Page, Slip] | None]:
    def strike(rng: np.random.Generator, page: Page, walked: Walked) -> tuple[Page, Slip] | None:
        legs = [k for k, row in enumerate(page.rows, start=1) if ways(row.azimuth)]
        if not legs:
            return None
        leg = _one(rng, legs)
        return _other_azimuth(page, walked, kind, leg, _one(rng, ways(page.rows[leg - 1].azimuth)))

    return strike


def _other_azimuth(page: Page, walked: Walked, kind: str, leg: int, azimuth: int) -> tuple[Page, Slip]:
    row = page.rows[leg - 1]
    size = _apart_deg(row.azimuth, azimuth) / walked.day.person.holding_sd_deg
    return _with_row(page, leg, replace(row, azimuth=azimuth)), Slip(kind, Struck("leg", leg=leg), size)


def _count_slip(kind: str, ways: Callable[[int], list[int]]) -> Callable[..., tuple[Page, Slip] | None]:
    def strike(rng: np.random.Generator, page: Page, walked: Walked) -> tuple[Page, Slip] | None:
        legs = [k for k, row in enumerate(page.rows, start=1) if ways(row.count)]
        if not legs:
            return None
        leg = _one(rng, legs)
        return _other_count(page, walked, kind, leg, _one(rng, ways(page.rows[leg - 1].count)))

    return strike


def _other_count(page: Page, walked: Walked, kind: str, leg: int, count: int) -> tuple[Page, Slip]:
    row = page.rows[leg - 1]
    size = abs(row.count - count) / _count_sd(walked.day.person, row.count)
    return _with_row(page, leg, replace(row, count=count)), Slip(kind, Struck("leg", leg=leg), size)


def _leg_swapped(rng: np.random.Generator, page: Page, walked: Walked) -> tuple[Page, Slip] | None:
    ways = [
        (leg, column, number)
        for leg, row in enumerate(page.rows, start=1)
        for column, written, limit in (("azimuth", row.azimuth, 360), ("count", row.count, 10**9))
        for number in swapped(written, limit)
    ]
    legs = sorted({leg for leg, _, _ in ways})
    if not legs:
        return None
    struck = _one(rng, legs)
    leg, column, number = _one(rng, [way for way in ways if way[0] == struck])
    change = _other_azimuth if column == "azimuth" else _other_count
    return change(page, walked, "digits_swapped", leg, number)


def _leg_copied(rng: np.random.Generator, page: Page, walked: Walked) -> tuple[Page, Slip] | None:
    """The azimuth or the count of the line above, written once more."""
    ways = [
        (leg, column)
        for leg in range(2, len(page.rows) + 1)
        for column in ("azimuth", "count")
        if getattr(page.rows[leg - 1], column) != getattr(page.rows[leg - 2], column)
    ]
    if not ways:
        return None
    leg, column = _one(rng, ways)
    change = _other_azimuth if column == "azimuth" else _other_count
    return change(page, walked, "line_copied", leg, getattr(page.rows[leg - 2], column))


def _leg_missing(rng: np.random.Generator, page: Page, walked: Walked) -> tuple[Page, Slip] | None:
    """A row never written; a name at its end is put to the row before, as if that one led there."""
    rows = page.rows
    free = [leg for leg in range(2, len(rows) + 1) if not (rows[leg - 1].at and rows[leg - 2].at)]
    free += [1] if len(rows) > 1 and not rows[0].at else []
    if not free:
        return None
    gone = _one(rng, free)
    left = list(rows)
    lost = left.pop(gone - 1)
    if lost.at:
        left[gone - 2] = replace(left[gone - 2], at=lost.at)
    sights = tuple(
        replace(one, station=one.station - 1) if one.station >= gone else one for one in page.sights
    )
    scatter = math.sqrt(sum(_count_sd(walked.day.person, row.count) ** 2 for row in left))
    slip = Slip("leg_missing", Struck("gap", leg=gone - 1), lost.count / scatter)
    return replace(page, rows=tuple(left), sights=sights), slip


def _declination_mirrored(rng: np.random.Generator, page: Page, walked: Walked) -> tuple[Page, Slip]:
    """All azimuths turned by a declination of 3 to 15 degrees, the wrong way: by twice as much."""
    turn = 2 * int(rng.integers(3, 16)) * int(rng.choice([-1, 1]))
    person = walked.day.person
    rows = tuple(
        replace(
            row,
            azimuth=(row.azimuth + turn) % 360,
            back=None if row.back is None else (row.back + turn) % 360,
        )
        for row in page.rows
    )
    sights = tuple(replace(one, azimuth=(one.azimuth + turn) % 360) for one in page.sights)
    size = abs(turn) / math.hypot(person.instrument_sd_deg, person.habit_sd_deg)
    return replace(page, rows=rows, sights=sights), Slip("declination_mirrored", Struck("log"), size)


# Readings.


def _back_slip(
    kind: str, ways: Callable[[Page, int, int], list[int]]
) -> Callable[..., tuple[Page, Slip] | None]:
    """The slip that writes something else than the look back; `ways` takes page, leg and reading."""

    def strike(rng: np.random.Generator, page: Page, walked: Walked) -> tuple[Page, Slip] | None:
        able = {
            leg: found
            for leg, row in enumerate(page.rows, start=1)
            if row.back is not None
            if (found := ways(page, leg, row.back))
        }
        if not able:
            return None
        leg = _one(rng, sorted(able))
        back, row = _one(rng, able[leg]), page.rows[leg - 1]
        size = _apart_deg(float(row.back or 0), back) / walked.day.person.look_back_sd_deg()
        return _with_row(page, leg, replace(row, back=back)), Slip(kind, Struck("back", leg=leg), size)

    return strike


def _not_turned(page: Page, leg: int, back: int) -> list[int]:
    """The forward azimuth once more, or the other end of the needle."""
    return [page.rows[leg - 1].azimuth, (back + 180) % 360]


def _back_above(page: Page, leg: int, back: int) -> list[int]:
    above = page.rows[leg - 2].back if leg > 1 else None
    return [] if above is None or above == back else [above]


def _bearing_slip(
    kind: str, ways: Callable[[Walked, Sight], list[int]]
) -> Callable[..., tuple[Page, Slip] | None]:
    def strike(rng: np.random.Generator, page: Page, walked: Walked) -> tuple[Page, Slip] | None:
        able = {i: found for i, one in enumerate(page.sights) if (found := ways(walked, one))}
        if not able:
            return None
        i = _one(rng, sorted(able))
        one, azimuth = page.sights[i], _one(rng, able[i])
        size = _apart_deg(one.azimuth, azimuth) / walked.day.person.reading_sd_deg
        sights = (*page.sights[:i], replace(one, azimuth=azimuth), *page.sights[i + 1 :])
        return replace(page, sights=sights), Slip(
            kind, Struck("bearing", station=one.station, name=one.name), size
        )

    return strike


def _to_other_thing(walked: Walked, one: Sight) -> list[int]:
    """The honest reading turned to another thing that stands there."""
    from_here = {
        name: np.array(place) - walked.places_m[one.station] for name, place in walked.outing.things.items()
    }
    seen = {name: math.degrees(math.atan2(*step)) for name, step in from_here.items()}
    return [
        round(one.azimuth + direction - seen[one.name]) % 360
        for name, direction in seen.items()
        if name != one.name and _apart_deg(direction, seen[one.name]) >= 1.0
    ]


def _place_wrong(rng: np.random.Generator, page: Page, walked: Walked) -> tuple[Page, Slip] | None:
    """One of the two numbers of a known place read 100 to 500 m off the map."""
    if not page.known:
        return None
    name = _one(rng, sorted(page.known))
    off = [0, 0]
    off[int(rng.integers(2))] = 100 * int(rng.integers(1, 6)) * int(rng.choice([-1, 1]))
    east, north, sd = page.known[name]
    known = {**page.known, name: (east + off[0], north + off[1], sd)}
    return replace(page, known=known), Slip("place_wrong", Struck("place", name=name), math.hypot(*off) / sd)


# Digits.


def misread(azimuth: int) -> list[int]:
    """An azimuth with its tens or its hundreds digit one up or one down."""
    other = [
        azimuth + by * unit for unit in (10, 100) for by in (-1, 1) if 0 <= azimuth // unit % 10 + by <= 9
    ]
    return [one for one in other if 0 <= one < 360]


def swapped(number: int, limit: int = 360) -> list[int]:
    """A number with two unlike neighbouring digits exchanged, none in front a nought."""
    text = str(number)
    turned = {text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in range(len(text) - 1)} - {text}
    return sorted(int(one) for one in turned if one[0] != "0" and int(one) < limit)


def _turned(azimuth: int) -> list[int]:
    return [(azimuth + 180) % 360]


_Strike = Callable[[np.random.Generator, Page, Walked], tuple[Page, Slip] | None]

_ON_GROUND: Mapping[str, Callable[[np.random.Generator, Outing], tuple[Outing, Slip] | None]] = {
    "station_pulled": _station_pulled,
    "marker_mistaken": _marker_mistaken,
}
_ON_PAGE: Mapping[str, _Strike] = {
    "tally_lost": _count_slip("tally_lost", lambda count: [count - 100] if count > 100 else []),
    "tally_added": _count_slip("tally_added", lambda count: [count + 100]),
    "thousand_lost": _count_slip("thousand_lost", lambda count: [count - 1000] if count > 1000 else []),
    "steps_for_paces": _count_slip("steps_for_paces", lambda count: [2 * count]),
    "paces_for_steps": _count_slip("paces_for_steps", lambda count: [round(count / 2)] if count > 1 else []),
    "azimuth_reversed": _azimuth_slip("azimuth_reversed", _turned),
    "quadrant_wrong": _azimuth_slip("quadrant_wrong", lambda one: [(one + 90) % 360, (one - 90) % 360]),
    "digit_misread": _azimuth_slip("digit_misread", misread),
    "digits_swapped": _leg_swapped,
    "line_copied": _leg_copied,
    "leg_missing": _leg_missing,
    "declination_mirrored": _declination_mirrored,
    "back_not_turned": _back_slip("back_not_turned", _not_turned),
    "back_misread": _back_slip("back_misread", lambda page, leg, back: misread(back)),
    "back_swapped": _back_slip("back_swapped", lambda page, leg, back: swapped(back)),
    "back_copied": _back_slip("back_copied", _back_above),
    "bearing_misread": _bearing_slip("bearing_misread", lambda walked, one: misread(one.azimuth)),
    "bearing_turned": _bearing_slip("bearing_turned", lambda walked, one: _turned(one.azimuth)),
    "bearing_of_other": _bearing_slip("bearing_of_other", _to_other_thing),
    "place_wrong": _place_wrong,
}
KINDS = (*_ON_PAGE, *_ON_GROUND)
LEG_KINDS = tuple(_ON_PAGE)[: tuple(_ON_PAGE).index("back_not_turned")]
BACK_KINDS = ("back_not_turned", "back_misread", "back_swapped", "back_copied")
