"""Made-up clean logs with known points, towers, back azimuths and crossings, for the adjustment."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pacewright.core.log.travel_log import TravelLog
from pacewright.files.log_csv import read_log
from support.simulator import (
    USUAL,
    Floats,
    Notes,
    Person,
    Sighting,
    Walked,
    draw_route,
    sight,
    walk,
    write_log_text,
)

KNOWN_SD_M = 5.0
PLACES = {"quarter": 0.25, "middle": 0.5, "last quarter": 0.75, "end": 1.0}


@dataclass(frozen=True, slots=True)
class Controlled:
    """A log, what was walked (legs + 1, 2), and the bias in degrees and scale of that walk."""

    log: TravelLog
    places_m: Floats
    bias_deg: float
    scale: float
    notes: Notes

    @property
    def mistaken_leg(self) -> int:
        """The leg, from 1, that `with_mistake("leg")` spoils."""
        return self.notes.count.size // 3 + 1

    def with_mistake(self, case: str) -> TravelLog:
        """The log with a thousand paces too many on one leg, or one bearing 40 degrees off."""
        if case == "leg":
            count = self.notes.count.copy()
            count[self.mistaken_leg - 1] += 1000
            return read_log(write_log_text(replace(self.notes, count=count)).encode())
        first, *rest = self.notes.sightings
        off = Sighting(first.station, first.target, (first.azimuth_deg + 40) % 360)
        return read_log(write_log_text(replace(self.notes, sightings=(off, *rest))).encode())


def draw_controlled(
    rng: np.random.Generator,
    shape: str,
    n_legs: int,
    *,
    known: tuple[str, ...] = (),
    tower: str = "",
    backs: int = 0,
    person: Person = USUAL,
) -> Controlled:
    """Draw a walk and what was written down, a `loop` closed at its start or another shape left open.

    Parameters
    ----------
    known
        Which stations are known points, of `PLACES`.
    tower
        `known` or `unknown`: bearings to a tower from four stations, and one to a station from another.
    backs
        How many legs carry a back azimuth.
    """
    route = draw_route(rng, shape, n_legs, person=person)
    walked = walk(rng, route, 1, person, closes=shape == "loop")
    places = walked.places_m[0]
    last = len(places) - 1
    marks = {last: "Gate"} if shape == "loop" else {}
    knowns = {}
    for place in known:
        station = round(PLACES[place] * last)
        marks[station] = f"Point {place}"
        east, north = places[station] + KNOWN_SD_M * rng.standard_normal(2)
        knowns[marks[station]] = (float(east), float(north), KNOWN_SD_M)
    seen = []
    if tower:
        spread = np.hypot(*(places - places.mean(axis=0)).T).max()
        at = places.mean(axis=0) + spread * np.array([1.2, 1.3])
        for k in dict.fromkeys(round(f * last) for f in (0.2, 0.45, 0.7, 0.9)):
            seen.append(Sighting(k, "Fire tower", int(sight(rng, walked, k, at, person)[0])))
        if tower == "known":
            knowns["Fire tower"] = (float(at[0]), float(at[1]), KNOWN_SD_M)
        if shape == "loop":
            far = int(np.argmax(np.hypot(*places.T)))
            seen.append(Sighting(far, "Gate", int(sight(rng, walked, far, (0, 0), person)[0])))
    notes = replace(walked.notes(0), marks=marks, sightings=tuple(seen), known=knowns)
    text = _with_backs(rng, write_log_text(notes), walked, backs, person)
    return Controlled(
        read_log(text.encode()), places, float(walked.bias_deg[0]), float(walked.scale[0]), notes
    )


def _with_backs(rng: np.random.Generator, text: str, walked: Walked, backs: int, person: Person) -> str:
    """Add the reading taken backward to the first legs of a log."""
    lines, leg = text.splitlines(), 0
    for number, line in enumerate(lines):
        if line.startswith("#") or line.startswith("azimuth") or "[see" in line:
            continue
        leg += 1
        if leg <= backs:
            behind = sight(rng, walked, leg, walked.places_m[0, leg - 1], person)
            lines[number] = f"{line} [back {behind[0]}]"
    return "\n".join(lines) + "\n"
