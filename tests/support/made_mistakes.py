"""Made-up mistakes in a made-up walker's notes, one at a time, for tests of the search for them.

Each kind strikes evenly among the legs, and the ways on a leg, that it can strike at all.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from support.simulator import Notes, Sighting

KINDS = (
    "tally_lost",
    "tally_added",
    "thousand_lost",
    "azimuth_reversed",
    "digit_misread",
    "digits_swapped",
    "leg_missing",
    "offset_mirrored",
    "declination_mirrored",
    "steps_for_paces",
    "paces_for_steps",
    "quadrant_wrong",
)


def spoil(rng: np.random.Generator, notes: Notes, kind: str) -> tuple[Notes, int | None] | None:
    """Make one mistake of a kind.

    Returns
    -------
    spoiled, leg
        The notes with the mistake in them, and the leg it struck, from 1: for `leg_missing` the leg
        after which one is missing (0 if before the first), for `offset_mirrored` the first offset,
        for `declination_mirrored` None. None alone where no leg can suffer this kind.
    """
    if kind == "leg_missing":
        return _leg_missing(rng, notes) if notes.count.size > 1 else None
    if kind == "offset_mirrored":
        return _offset_mirrored(rng, notes) if notes.detours else None
    if kind == "declination_mirrored":
        return _declination_mirrored(rng, notes), None
    struck = [
        (leg, ways)
        for leg in range(notes.count.size)
        if (ways := entries_after(kind, int(notes.azimuth_deg[leg]), int(notes.count[leg])))
    ]
    if not struck:
        return None
    leg, ways = struck[rng.integers(len(struck))]
    azimuth, count = ways[rng.integers(len(ways))]
    return _with_entry(notes, leg, azimuth, count), leg + 1


def entries_after(kind: str, azimuth: int, count: int) -> list[tuple[int, int]]:
    """What a leg's entry may become by a mistake of a kind that strikes one row."""
    if kind == "tally_lost":
        return [(azimuth, count - 100)] if count > 100 else []
    if kind == "tally_added":
        return [(azimuth, count + 100)]
    if kind == "thousand_lost":
        return [(azimuth, count - 1000)] if count > 1000 else []
    if kind == "azimuth_reversed":
        return [((azimuth + 180) % 360, count)]
    if kind == "quadrant_wrong":
        return [((azimuth + 90) % 360, count), ((azimuth - 90) % 360, count)]
    if kind == "steps_for_paces":
        return [(azimuth, 2 * count)]
    if kind == "paces_for_steps":
        return [(azimuth, round(count / 2))] if count > 1 else []
    if kind == "digit_misread":
        return [(a, count) for a in _misread(azimuth)]
    if kind == "digits_swapped":
        swapped = [(a, count) for a in _swapped(azimuth) if a < 360]
        return swapped + [(azimuth, c) for c in _swapped(count)]
    raise ValueError(f"no such kind of mistake: {kind}")


def _misread(azimuth: int) -> list[int]:
    """The azimuths with the tens or the hundreds digit one up or one down."""
    read = []
    for unit in (10, 100):
        digit = azimuth // unit % 10
        read += [azimuth + unit * by for by in (-1, 1) if 0 <= digit + by <= 9]
    return [a for a in read if 0 <= a < 360]


def _swapped(number: int) -> list[int]:
    """The numbers with two neighbouring, unlike digits swapped, none with a leading zero."""
    text = str(number)
    turned = [text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in range(len(text) - 1)]
    return [int(t) for t in turned if t != text and not t.startswith("0")]


def _with_entry(notes: Notes, leg: int, azimuth: int, count: int) -> Notes:
    azimuths, counts = notes.azimuth_deg.copy(), notes.count.copy()
    azimuths[leg], counts[leg] = azimuth, count
    return replace(notes, azimuth_deg=azimuths, count=counts)


def _leg_missing(rng: np.random.Generator, notes: Notes) -> tuple[Notes, int]:
    gone = int(rng.integers(notes.count.size))

    def left(station: int) -> int:
        return station - 1 if station > gone else station

    spoiled = replace(
        notes,
        azimuth_deg=np.delete(notes.azimuth_deg, gone),
        count=np.delete(notes.count, gone),
        boxed=np.delete(notes.boxed, gone),
        estimate_sd=np.delete(notes.estimate_sd, gone),
        detours=tuple(left(d) for d in notes.detours if not d <= gone <= d + 2),
        marks={left(station): name for station, name in notes.marks.items()},
        sightings=tuple(replace(s, station=left(s.station)) for s in notes.sightings),
    )
    return spoiled, gone


def _offset_mirrored(rng: np.random.Generator, notes: Notes) -> tuple[Notes, int]:
    first = int(rng.choice(notes.detours))
    azimuths = notes.azimuth_deg.copy()
    azimuths[[first, first + 2]] = (azimuths[[first, first + 2]] + 180) % 360
    return replace(notes, azimuth_deg=azimuths), first + 1


def _declination_mirrored(rng: np.random.Generator, notes: Notes) -> Notes:
    """Mirror the heading's declination; with none, turn every azimuth by twice 3 to 15 degrees."""
    if notes.declination_deg:
        return replace(notes, declination_deg=-notes.declination_deg)
    turn = 2 * int(rng.integers(3, 16)) * int(rng.choice([-1, 1]))
    return replace(
        notes,
        azimuth_deg=(notes.azimuth_deg + turn) % 360,
        sightings=tuple(Sighting(s.station, s.target, (s.azimuth_deg + turn) % 360) for s in notes.sightings),
    )
