"""Whole made-up logs as texts, with what is known beside the legs and at most one mistake in them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from support.made_mistakes import KINDS, spoil
from support.simulator import USUAL, Floats, Notes, Person, Sighting, draw_route, sight, walk, write_log_text

GROUPS = (
    ("tally_lost", "tally_added"),
    ("steps_for_paces", "paces_for_steps"),
    *((kind,) for kind in KINDS if not kind.startswith(("tally_", "steps_", "paces_"))),
)
"""Kinds are drawn evenly, a slip and its opposite as one."""

KNOWN_SD_M = 5.0
TOWER_FROM_M, TOWER_TO_M = 1000.0, 3000.0


@dataclass(frozen=True, slots=True)
class MadeLog:
    """A log as text, the mistake in it (None in a clean one), where it struck, and the truth."""

    text: str
    kind: str | None
    leg: int | None
    places_m: Floats
    clean_text: str


def draw_log(
    rng: np.random.Generator,
    shape: str,
    n_legs: int,
    *,
    known: bool = False,
    sightings: int = 0,
    mistake: bool = True,
    person: Person = USUAL,
) -> MadeLog:
    """Draw a walk and what was written down, a `loop` closed at its start or another shape with a known end.

    Parameters
    ----------
    known
        A known point at the middle station.
    sightings
        Bearings to as many known towers, from stations that part the log evenly.
    mistake
        Whether one mistake is made, its kind drawn evenly among those that can happen.
    """
    detours = int(0.05 * n_legs + rng.random())
    route = draw_route(rng, shape, n_legs, detours=detours, person=person)
    walked = walk(rng, route, 1, person, closes=shape == "loop")
    places = walked.places_m[0]
    last = len(places) - 1
    marks, knowns = {}, {}
    if shape == "loop":
        marks[last] = "Gate"
    else:
        marks[last] = "Split oak"
        knowns["Split oak"] = _known(rng, places[last])
    if known:
        marks[last // 2] = "Old ford"
        knowns["Old ford"] = _known(rng, places[last // 2])
    seen = []
    for number in range(sightings):
        station = round(last * (number + 1) / (sightings + 1))
        turn = rng.uniform(0, 2 * np.pi)
        tower = places.mean(axis=0) + rng.uniform(TOWER_FROM_M, TOWER_TO_M) * np.array(
            [np.sin(turn), np.cos(turn)]
        )
        name = f"Tower {number + 1}"
        knowns[name] = _known(rng, tower)
        seen.append(Sighting(station, name, int(sight(rng, walked, station, tower, person)[0])))
    notes = replace(walked.notes(0), marks=marks, known=knowns, sightings=tuple(seen))
    clean = write_log_text(notes)
    kind, leg, spoiled = _spoil_evenly(rng, notes) if mistake else (None, None, notes)
    return MadeLog(write_log_text(spoiled), kind, leg, places, clean)


def _known(rng: np.random.Generator, place: Floats) -> tuple[float, float, float]:
    east, north = place + KNOWN_SD_M * rng.standard_normal(2)
    return float(east), float(north), KNOWN_SD_M


def _spoil_evenly(rng: np.random.Generator, notes: Notes) -> tuple[str, int | None, Notes]:
    while True:
        group = GROUPS[rng.integers(len(GROUPS))]
        kind = group[rng.integers(len(group))]
        made = spoil(rng, notes, kind)
        if made is not None:
            return kind, made[1], made[0]
