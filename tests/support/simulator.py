"""Made-up walkers: routes, what was walked and what was written down, for tests alone.

Written without the tool's own code, so that neither can hide a fault of the other. The model, for
a leg written down as azimuth a and count c by a person whose pace is L metres:

    true leg = c' L s (1 + f)  along  a' + b + e

with a' and c' the unrounded azimuth and count, e and f the leg's own scatter, b the compass bias
and s the pace scale that a whole walk shares. Arrays are (walks, legs); places are east, north in
metres from the start.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Person:
    """How one made-up person walks; angles in degrees, `count_sd` and the rest as parts of one."""

    pace_m: float = 1.6
    azimuth_sd_deg: float = 2.5
    count_sd: float = 0.05
    count_floor: float = 1.0
    bias_sd_deg: float = 1.5
    scale_sd: float = 0.03
    sighting_sd_deg: float = 2.0


USUAL = Person()


@dataclass(frozen=True, slots=True)
class Route:
    """What a walker means to write down: whole degrees and whole paces, one entry a leg.

    `boxed` is the offset of an obstacle walked round on that leg, in paces, right positive, 0 for
    none; `estimate_sd` is the scatter of a distance that was guessed, as a part of one, 0 where it
    was counted. `detours` are the first legs (from 0) of detours written out as three rows: out,
    past, back.
    """

    azimuth_deg: Ints
    count: Ints
    boxed: Ints
    estimate_sd: Floats
    detours: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Walked:
    """Many walks of one route: what each wrote down and where each truly was.

    `azimuth_deg` and `count` are as written, shape (walks, legs); `places_m` the true stations,
    shape (walks, legs + 1, 2); `bias_deg`, `instrument_bias_deg` and `scale` what a whole walk
    shares, shape (walks,).
    """

    azimuth_deg: Ints
    count: Ints
    places_m: Floats
    bias_deg: Floats
    instrument_bias_deg: Floats
    scale: Floats
    route: Route

    def notes(self, walk: int) -> Notes:
        """What one of the walkers wrote down."""
        return Notes(
            self.azimuth_deg[walk],
            self.count[walk],
            self.route.boxed,
            self.route.estimate_sd,
            self.route.detours,
        )


@dataclass(frozen=True, slots=True)
class Sighting:
    """A bearing written down at a station (0 is the start) to something not walked to."""

    station: int
    target: str
    azimuth_deg: int


@dataclass(frozen=True, slots=True)
class Notes:
    """One walker's notes; `marks` names stations by index, `known` is east, north and sd in metres."""

    azimuth_deg: Ints
    count: Ints
    boxed: Ints
    estimate_sd: Floats
    detours: tuple[int, ...] = ()
    marks: Mapping[int, str] = field(default_factory=dict)
    sightings: tuple[Sighting, ...] = ()
    known: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)
    declination_deg: float = 0.0


def plain_route(azimuth_deg: ArrayLike, count: ArrayLike) -> Route:
    """A route of plain counted legs."""
    azimuth = np.asarray(azimuth_deg, dtype=np.int64)
    legs = azimuth.size
    return Route(azimuth, np.asarray(count, dtype=np.int64), np.zeros(legs, dtype=np.int64), np.zeros(legs))


def draw_route(
    rng: np.random.Generator,
    shape: str,
    n_legs: int,
    *,
    median_m: float = 400.0,
    sigma: float = 0.8,
    detours: int = 0,
    person: Person = USUAL,
) -> Route:
    """Draw a route: a `loop` that closes as planned, a `wander` about one direction, or a `straight`.

    Parameters
    ----------
    shape
        `loop`, `wander` (45 degrees about one direction, one leg in five anywhere) or `straight`
        (5 degrees about one direction).
    n_legs
        Legs without the two offset rows that each detour adds.
    median_m, sigma
        Leg lengths are lognormal.
    detours
        How many legs are walked round an obstacle and written out as three rows.
    """
    length_m = median_m * np.exp(sigma * rng.standard_normal(n_legs))
    towards_deg = rng.uniform(0, 360)
    if shape == "loop":
        sense = rng.choice([-1, 1])
        turned_deg = 360.0 * np.arange(n_legs) / n_legs + 25.0 * rng.standard_normal(n_legs)
        legs = _vectors(towards_deg + sense * turned_deg, length_m)
        legs -= legs.sum(axis=0) * (length_m / length_m.sum())[:, None]
        azimuth_deg = np.degrees(np.arctan2(legs[:, 0], legs[:, 1]))
        length_m = np.hypot(legs[:, 0], legs[:, 1])
    elif shape == "wander":
        anywhere = rng.random(n_legs) < 0.2
        azimuth_deg = np.where(
            anywhere, rng.uniform(0, 360, n_legs), towards_deg + 45.0 * rng.standard_normal(n_legs)
        )
    elif shape == "straight":
        azimuth_deg = towards_deg + 5.0 * rng.standard_normal(n_legs)
    else:
        raise ValueError(f"no such shape: {shape}")
    azimuth = np.rint(azimuth_deg).astype(np.int64) % 360
    count = np.maximum(5, np.rint(length_m / person.pace_m)).astype(np.int64)
    return _with_detours(rng, azimuth, count, detours)


def draw_routes(rng: np.random.Generator, shape: str, n_legs: int, routes: int = 8) -> list[Route]:
    """Draw several routes of one shape."""
    return [draw_route(rng, shape, n_legs) for _ in range(routes)]


def _with_detours(rng: np.random.Generator, azimuth: Ints, count: Ints, detours: int) -> Route:
    rows: list[tuple[int, int]] = []
    firsts: list[int] = []
    chosen = set(rng.choice(azimuth.size, size=detours, replace=False).tolist())
    for i, (a, c) in enumerate(zip(azimuth.tolist(), count.tolist(), strict=True)):
        if i not in chosen:
            rows.append((a, c))
            continue
        side, offset = int(rng.choice([-90, 90])), int(rng.integers(20, 61))
        firsts.append(len(rows))
        rows += [((a + side) % 360, offset), (a, c), ((a - side) % 360, offset)]
    plain = plain_route([a for a, _ in rows], [c for _, c in rows])
    return replace(plain, detours=tuple(firsts))


def walk(
    rng: np.random.Generator,
    route: Route,
    walks: int,
    person: Person = USUAL,
    *,
    closes: bool = False,
) -> Walked:
    """Walk a route many times, each walk with its own compass bias, pace scale and scatter.

    Parameters
    ----------
    closes
        The last leg ends at the start itself, seen by the walker, and its azimuth and count are
        what they come to; else every walk writes down the route as it stands.
    """
    legs = route.count.size
    instrument = person.bias_sd_deg * np.sqrt(0.5) * rng.standard_normal(walks)
    bias = instrument + person.bias_sd_deg * np.sqrt(0.5) * rng.standard_normal(walks)
    scale = np.exp(person.scale_sd * rng.standard_normal(walks))
    azimuth = np.broadcast_to(route.azimuth_deg, (walks, legs)).copy()
    count = np.broadcast_to(route.count, (walks, legs)).copy()
    steps = _true_legs(
        rng,
        azimuth + rng.uniform(-0.5, 0.5, (walks, legs)),
        count + rng.uniform(-0.5, 0.5, (walks, legs)),
        bias[:, None],
        scale[:, None],
        person,
        route.estimate_sd,
    )
    boxed = np.flatnonzero(route.boxed)
    if boxed.size:
        for turn_deg in (90.0, -90.0):
            steps[:, boxed] += _true_legs(
                rng,
                azimuth[:, boxed] + turn_deg * np.sign(route.boxed[boxed]),
                np.broadcast_to(np.abs(route.boxed[boxed]), (walks, boxed.size)).astype(np.float64),
                bias[:, None],
                scale[:, None],
                person,
                np.zeros(boxed.size),
            )
    if closes:
        steps[:, -1] = -steps[:, :-1].sum(axis=1)
        azimuth[:, -1], count[:, -1] = _written(rng, steps[:, -1], bias, scale, person)
    places = np.concatenate([np.zeros((walks, 1, 2)), np.cumsum(steps, axis=1)], axis=1)
    return Walked(azimuth, count, places, bias, instrument, scale, route)


def sight(
    rng: np.random.Generator, walked: Walked, station: int, target_m: ArrayLike, person: Person = USUAL
) -> Ints:
    """The bearing each walk writes down from a station to a place, whole degrees, (walks,)."""
    to_target = np.asarray(target_m, dtype=np.float64) - walked.places_m[:, station]
    bearing = np.degrees(np.arctan2(to_target[:, 0], to_target[:, 1]))
    scatter = person.sighting_sd_deg * rng.standard_normal(bearing.shape)
    return np.rint(bearing - walked.instrument_bias_deg - scatter).astype(np.int64) % 360


def walk_instruction(
    rng: np.random.Generator,
    azimuth_deg: ArrayLike,
    count: ArrayLike,
    bias_deg: Floats,
    scale: Floats,
    person: Person = USUAL,
) -> Floats:
    """Dial an azimuth and walk a count with the compass and stride of a walk; metres, (walks, 2)."""
    return _true_legs(
        rng,
        np.broadcast_to(np.asarray(azimuth_deg, dtype=np.float64), bias_deg.shape),
        np.broadcast_to(np.asarray(count, dtype=np.float64), bias_deg.shape),
        bias_deg,
        scale,
        person,
        np.zeros(()),
    )


def in_walkers_paces(offset_m: Floats, bias_deg: Floats, scale: Floats, person: Person = USUAL) -> Floats:
    """A true displacement as each walker would write it: own paces, own compass, shape (walks, 2)."""
    bias_rad = np.radians(bias_deg)
    east = offset_m[:, 0] * np.cos(bias_rad) - offset_m[:, 1] * np.sin(bias_rad)
    north = offset_m[:, 0] * np.sin(bias_rad) + offset_m[:, 1] * np.cos(bias_rad)
    return np.stack([east, north], axis=-1) / (person.pace_m * scale)[:, None]


def write_log_text(notes: Notes, *, title: str = "Made-up walk", start: str = "Gate") -> str:
    """Notes as the text of a travel log in magnetic degrees and paces."""
    lines = [
        f"# title: {title}",
        "# walker: Ines Rowe",
        "# azimuth: magnetic degrees",
        "# count: paces",
        f"# start: {start}",
    ]
    if notes.declination_deg:
        side = "E" if notes.declination_deg > 0 else "W"
        lines.append(f"# declination: {abs(notes.declination_deg):g} {side}")
    lines += [
        f"# known: {name} = local {e:.1f} {n:.1f} +-{sd:g} m" for name, (e, n, sd) in notes.known.items()
    ]
    lines.append("azimuth,count,notes")
    lines += _sighting_rows(notes.sightings, 0)
    for i in range(notes.count.size):
        lines.append(f"{notes.azimuth_deg[i]},{notes.count[i]},{_remarks(notes, i)}")
        lines += _sighting_rows(notes.sightings, i + 1)
    return "\n".join(lines) + "\n"


def _sighting_rows(sightings: Sequence[Sighting], station: int) -> list[str]:
    return [f"{s.azimuth_deg},,[see {s.target}]" for s in sightings if s.station == station]


def _remarks(notes: Notes, leg: int) -> str:
    remarks = []
    if notes.boxed[leg]:
        remarks.append(f"[box {'right' if notes.boxed[leg] > 0 else 'left'} {abs(notes.boxed[leg])}]")
    if notes.estimate_sd[leg]:
        remarks.append(f"[est {100 * notes.estimate_sd[leg]:g}%]")
    if leg + 1 in notes.marks:
        remarks.append(f"[at {notes.marks[leg + 1]}]")
    return " ".join(remarks)


def _true_legs(
    rng: np.random.Generator,
    azimuth_deg: Floats,
    count: Floats,
    bias_deg: Floats,
    scale: Floats,
    person: Person,
    estimate_sd: Floats,
) -> Floats:
    """The legs as they were truly walked, in metres east and north."""
    count_sd = np.where(
        estimate_sd > 0, estimate_sd * count, np.maximum(person.count_sd * count, person.count_floor)
    )
    paces = count + count_sd * rng.standard_normal(count.shape)
    azimuth = azimuth_deg + bias_deg + person.azimuth_sd_deg * rng.standard_normal(count.shape)
    return _vectors(azimuth, paces * person.pace_m * scale)


def _written(
    rng: np.random.Generator, step_m: Floats, bias_deg: Floats, scale: Floats, person: Person
) -> tuple[Ints, Ints]:
    """The azimuth and count that a true leg comes to in each walker's notes."""
    paces = np.hypot(step_m[:, 0], step_m[:, 1]) / (person.pace_m * scale)
    count_sd = np.maximum(person.count_sd * paces, person.count_floor)
    count = np.maximum(1, np.rint(paces + count_sd * rng.standard_normal(paces.shape)))
    azimuth = np.degrees(np.arctan2(step_m[:, 0], step_m[:, 1])) - bias_deg
    azimuth += person.azimuth_sd_deg * rng.standard_normal(paces.shape)
    return np.rint(azimuth).astype(np.int64) % 360, count.astype(np.int64)


def _vectors(azimuth_deg: Floats, length_m: Floats) -> Floats:
    azimuth_rad = np.radians(azimuth_deg)
    return np.stack([length_m * np.sin(azimuth_rad), length_m * np.cos(azimuth_rad)], axis=-1)
