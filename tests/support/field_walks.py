"""Made-up days in the field: a person walks a plan by compass and pace count, and pencils a log.

Written from what happens on the ground, without the tool's own code and without the other made-up
walkers beside it, so that none of the three can hide a fault of another. What happens:

    a dialled azimuth is held:   line walked = azimuth + instrument + habit + holding - pull
    a direction is read:         reading     = direction - instrument + reading scatter + pull

`instrument` is what the compass is off all day, `habit` what this hand adds to it in walking, `pull`
what iron underfoot does to every reading made on that spot; a look back along a leg reads the line as
it was walked. A leg toward a marker in sight ends at the marker, whatever the compass says. Paces are
as long as they are that day. All azimuths are magnetic; places are east, north in metres from the start.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

START = "Gate"


@dataclass(frozen=True, slots=True)
class Person:
    """What one made-up person is like; scatters are standard deviations, of pace and count as parts of one.

    `pace_m` is what the walker's own file says of the pace, `pace_sd` how far the day's pace strays from
    it; `loses_count` is the chance, a leg, that a hundred is not tallied.
    """

    pace_m: float = 1.6
    pace_sd: float = 0.03
    count_sd: float = 0.05
    count_least: float = 1.0
    holding_sd_deg: float = 2.5
    reading_sd_deg: float = 2.0
    instrument_sd_deg: float = 1.5 / math.sqrt(2.0)
    habit_sd_deg: float = 1.5 / math.sqrt(2.0)
    stands_within_m: float = 1.0
    loses_count: float = 0.0

    def look_back_sd_deg(self) -> float:
        """How far a look back strays from the dialled azimuth turned round."""
        return math.sqrt(self.habit_sd_deg**2 + self.holding_sd_deg**2 + self.reading_sd_deg**2 + 1 / 12)


@dataclass(frozen=True, slots=True)
class Day:
    """The person on one day: pace, compass and hand as they are until evening."""

    person: Person
    pace_m: float
    instrument_deg: float
    habit_deg: float

    @property
    def turn_deg(self) -> float:
        """By how much every line held lies clockwise of what is dialled."""
        return self.instrument_deg + self.habit_deg


def draw_day(rng: np.random.Generator, person: Person | None = None) -> Day:
    """Draw a day of a person."""
    person = person or Person()
    return Day(
        person,
        person.pace_m * math.exp(person.pace_sd * rng.standard_normal()),
        person.instrument_sd_deg * rng.standard_normal(),
        person.habit_sd_deg * rng.standard_normal(),
    )


@dataclass(frozen=True, slots=True)
class Plan:
    """Azimuths (whole degrees) and counts (whole paces) as planned, a leg each.

    `meets` names, for a station, the earlier one that it is: its leg is walked to that marker in sight.
    """

    azimuth_deg: tuple[int, ...]
    count: tuple[int, ...]
    meets: Mapping[int, int] = field(default_factory=dict)

    @property
    def legs(self) -> int:
        """The number of legs."""
        return len(self.count)

    def spot(self, station: int) -> int:
        """The first station at the same marker."""
        return self.spot(self.meets[station]) if station in self.meets else station


def draw_plan(
    rng: np.random.Generator,
    legs: int,
    shape: str,
    *,
    pace_m: float = 1.6,
    median_m: float = 400.0,
    spread: float = 0.8,
) -> Plan:
    """Draw a plan: a `loop`, an `eight` (two loops from one marker) or an `open` one.

    An open one goes about one direction, with one leg in five anywhere.
    """
    if shape == "eight":
        one, two = (draw_plan(rng, n, "loop", pace_m=pace_m) for n in (legs // 2, legs - legs // 2))
        return joined(one, two)
    if shape == "open":
        turned = rng.uniform(0, 360) + 45.0 * rng.standard_normal(legs)
        turned = np.where(rng.random(legs) < 0.2, rng.uniform(0, 360, legs), turned)
        length = np.exp(math.log(median_m) + spread * rng.standard_normal(legs))
        return _planned(turned, length, pace_m)
    if shape != "loop":
        raise ValueError(f"no such shape: {shape}")
    while True:
        # All legs but the last go round; the last leads home, if that is a leg as people plan them.
        sense, begun = rng.choice([-1, 1]), rng.uniform(0, 360)
        turned = begun + sense * (360.0 * np.arange(legs - 1) / legs + 25.0 * rng.standard_normal(legs - 1))
        length = np.exp(math.log(median_m) + spread * rng.standard_normal(legs - 1))
        home = -_steps(turned, length).sum(axis=0)
        if 0.1 * median_m < math.hypot(*home) < 5.0 * median_m:
            azimuth, all_lengths = [*turned, _direction_deg(home)], [*length, math.hypot(*home)]
            return replace(_planned(azimuth, all_lengths, pace_m), meets={legs: 0})


def joined(*plans: Plan) -> Plan:
    """Several plans walked one after the other."""
    azimuth: list[int] = []
    count: list[int] = []
    meets: dict[int, int] = {}
    for plan in plans:
        before = len(count)
        meets |= {before + station: before + earlier for station, earlier in plan.meets.items()}
        azimuth += plan.azimuth_deg
        count += plan.count
    return Plan(tuple(azimuth), tuple(count), meets)


def planned_places(plan: Plan, pace_m: float) -> Floats:
    """Where the plan means to come, shape (legs + 1, 2)."""
    steps = _steps(plan.azimuth_deg, np.array(plan.count) * pace_m)
    places: Floats = np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])
    return places


@dataclass(frozen=True, slots=True)
class Outing:
    """A plan, what there is along it, and what the person means to write beside the legs.

    `names` are of stations, beside the start; a marker met again has its name by itself. `looks_back` are
    legs; `sights` say at which station which of the `things` is taken a bearing of. `iron` is the pull in
    degrees at a station, for all visits of it; `impostors` tell how far from the marker the place lies that
    the person takes for it at a later visit.
    """

    plan: Plan
    names: Mapping[int, str] = field(default_factory=dict)
    looks_back: Collection[int] = ()
    things: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    sights: Sequence[tuple[int, str]] = ()
    iron: Mapping[int, float] = field(default_factory=dict)
    impostors: Mapping[int, tuple[float, float]] = field(default_factory=dict)

    def name_of(self, station: int) -> str:
        """The name of a station, empty where it has none."""
        spot = self.plan.spot(station)
        return START if spot == 0 else self.names.get(spot, "")

    def pull_deg(self, station: int) -> float:
        """What a station does to every reading made there."""
        return self.iron.get(self.plan.spot(station), 0.0)


@dataclass(frozen=True, slots=True)
class Row:
    """What the pencil wrote of a leg; `back` is the look back, `at` the name of its end."""

    azimuth: int
    count: int
    back: int | None = None
    at: str = ""


@dataclass(frozen=True, slots=True)
class Sight:
    """A bearing as written, and the station it was taken at."""

    station: int
    name: str
    azimuth: int


@dataclass(frozen=True, slots=True)
class Page:
    """A log as the pencil wrote it; `known` gives east, north and standard deviation in metres."""

    rows: tuple[Row, ...]
    sights: tuple[Sight, ...] = ()
    known: Mapping[str, tuple[int, int, float]] = field(default_factory=dict)

    @property
    def text(self) -> str:
        """The log as CSV."""
        lines = ["# title: Cinder Fen, made up", "# walker: Ines Rowe", "# date: 2026-05-14"]
        lines += ["# azimuth: magnetic degrees", "# count: paces", f"# start: {START}"]
        lines += [f"# known: {name} = local {e} {n} +-{sd:g} m" for name, (e, n, sd) in self.known.items()]
        lines += ["azimuth,count,notes", *self._rows()]
        return "\n".join(lines) + "\n"

    def _rows(self) -> Iterator[str]:
        seen: dict[int, list[Sight]] = {}
        for one in self.sights:
            seen.setdefault(one.station, []).append(one)
        for station in range(len(self.rows) + 1):
            if station:
                row = self.rows[station - 1]
                notes = [f"[at {row.at}]"] if row.at else []
                notes += [f"[back {row.back}]"] if row.back is not None else []
                yield f"{row.azimuth},{row.count},{' '.join(notes)}"
            yield from (f"{one.azimuth},,[see {one.name}]" for one in seen.get(station, ()))


@dataclass(frozen=True, slots=True, eq=False)
class Walked:
    """An outing as it was: the page, and the truth.

    `places_m` are the stations, shape (legs + 1, 2), `line_deg` the directions walked, shape (legs,), and
    `lost` the legs on which a hundred was not tallied.
    """

    outing: Outing
    day: Day
    page: Page
    places_m: Floats
    line_deg: Floats
    lost: tuple[int, ...]


def walk(rng: np.random.Generator, day: Day, outing: Outing) -> Walked:
    """Walk an outing and write its page."""
    plan, places, lines, rows, lost = outing.plan, [np.zeros(2)], [], [], []
    for leg in range(1, plan.legs + 1):
        forgotten = 100 if rng.random() < day.person.loses_count else 0
        if leg in plan.meets:
            step, azimuth, count = _to_marker(rng, day, outing, leg, places)
            forgotten = forgotten if count > forgotten else 0
            count -= forgotten
        else:
            azimuth, count = plan.azimuth_deg[leg - 1], plan.count[leg - 1]
            step = _held_leg(rng, day, azimuth, count + forgotten, outing.pull_deg(leg - 1))
        if forgotten:
            lost.append(leg)
        places.append(places[-1] + step)
        lines.append(_direction_deg(step))
        back = None
        if leg in outing.looks_back:
            back = read_direction(rng, day, lines[-1] + 180.0, outing.pull_deg(leg))
        rows.append(Row(azimuth, count, back, outing.name_of(leg)))
    sights = tuple(
        Sight(
            station,
            name,
            read_direction(
                rng,
                day,
                _direction_deg(np.array(outing.things[name]) - places[station]),
                outing.pull_deg(station),
            ),
        )
        for station, name in outing.sights
    )
    return Walked(outing, day, Page(tuple(rows), sights), np.array(places), np.array(lines), tuple(lost))


def read_direction(rng: np.random.Generator, day: Day, direction_deg: float, pull_deg: float = 0.0) -> int:
    """Read a direction off the dial, in whole degrees."""
    scatter = day.person.reading_sd_deg * rng.standard_normal()
    return round(direction_deg - day.instrument_deg + scatter + pull_deg) % 360


def read_off_map(
    rng: np.random.Generator, walked: Walked, names: Collection[str], sd_m: float = 10.0
) -> Page:
    """The page with places of stations and things read off a map, whole metres, each with its error."""
    where = {walked.outing.name_of(k): place for k, place in reversed([*enumerate(walked.places_m)])}
    where |= {name: np.array(place) for name, place in walked.outing.things.items()}
    known = {}
    for name in names:
        east, north = where[name] + sd_m * rng.standard_normal(2)
        known[name] = (round(east), round(north), sd_m)
    return replace(walked.page, known=known)


def walk_instruction(
    rng: np.random.Generator, day: Day, azimuth_deg: float, count: int, walks: int
) -> Floats:
    """Walk an instruction many times on the same day, with the scatter of each walk; metres, (walks, 2)."""
    steps = [_held_leg(rng, day, round(azimuth_deg) % 360, count, 0.0) for _ in range(walks)]
    return np.array(steps)


def as_written(day: Day, offset_m: ArrayLike) -> Floats:
    """True displacements, (walks, 2), as the day's compass and pace would write them: own paces."""
    offset = np.asarray(offset_m, dtype=np.float64)
    direction = np.degrees(np.arctan2(offset[:, 0], offset[:, 1])) - day.turn_deg
    return _steps(direction, np.hypot(offset[:, 0], offset[:, 1]) / day.pace_m)


def _held_leg(rng: np.random.Generator, day: Day, azimuth_deg: int, count: int, pull_deg: float) -> Floats:
    holding = day.person.holding_sd_deg * rng.standard_normal()
    line = azimuth_deg + day.turn_deg + holding - pull_deg
    step: Floats = _steps([line], [count * day.pace_m * _stride(rng, day.person, count)])[0]
    return step


def _to_marker(
    rng: np.random.Generator, day: Day, outing: Outing, leg: int, places: Sequence[Floats]
) -> tuple[Floats, int, int]:
    """Walk to a marker in sight: what the compass shows and what is counted on the way are written."""
    marker = places[outing.plan.spot(leg)] + np.array(outing.impostors.get(leg, (0.0, 0.0)))
    step = marker + day.person.stands_within_m * rng.standard_normal(2) - places[-1]
    holding = day.person.holding_sd_deg * rng.standard_normal()
    azimuth = _direction_deg(step) - day.turn_deg - holding + outing.pull_deg(leg - 1)
    paces = math.hypot(*step) / day.pace_m
    count = max(1, round(paces / _stride(rng, day.person, paces)))
    return step, round(azimuth) % 360, count


def _stride(rng: np.random.Generator, person: Person, count: float) -> float:
    """How long the paces of one leg are against those of the day."""
    scatter = max(person.count_sd, person.count_least / max(count, 1.0))
    return max(0.2, 1.0 + scatter * rng.standard_normal())


def _planned(azimuth_deg: ArrayLike, length_m: ArrayLike, pace_m: float) -> Plan:
    azimuth = [round(one) % 360 for one in np.asarray(azimuth_deg).tolist()]
    count = [max(5, round(one / pace_m)) for one in np.asarray(length_m).tolist()]
    return Plan(tuple(azimuth), tuple(count))


def _steps(azimuth_deg: ArrayLike, length: ArrayLike) -> Floats:
    azimuth_rad = np.radians(np.asarray(azimuth_deg, dtype=np.float64))
    steps: Floats = np.asarray(length)[:, None] * np.stack([np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=1)
    return steps


def _direction_deg(step: ArrayLike) -> float:
    east, north = np.asarray(step, dtype=np.float64)
    return math.degrees(math.atan2(east, north)) % 360.0
