"""Problems that are drawn with protractor and ruler: plot a log, find the slip in it, find yourself."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.bearings.resection import resect
from pacewright.core.compass import direction_deg, normal_azimuth, unit_vectors
from pacewright.core.log.log_heading import Heading
from pacewright.core.log.travel_log import Cells, Leg, TravelLog, compose_log
from pacewright.core.slips.slips import SlipKind, find_slips
from pacewright.core.way.reckoning import leg_covariance
from pacewright.course.drills.problem import (
    DRAWN_SDS,
    PROTRACTOR_SD_DEG,
    RULER_SD_MM,
    Answer,
    Problem,
)
from pacewright.exceptions import NoAnswerComplaint

Array = NDArray[np.float64]
Rows = tuple[tuple[int, int], ...]

PACES_A_MM: Final = 5.0
"""A log is plotted at 50 paces to 10 mm, as the squared paper of the plotting sheet has it."""
METRES_A_MM: Final = 20.0
"""A resection is drawn at 200 m to 10 mm (1:20,000)."""
SQUARE_MM: Final = 5.0
ROOM_MM: Final = (110.0, 85.0)
"""What is drawn fits squared paper so wide and high, on A5 as well."""
LEAST_WAY: Final = 150
"""A way back is so long that its azimuth can be read."""
KINDS_BY_LEVEL: Final[dict[int, tuple[SlipKind, ...]]] = {
    1: ("tally_lost",),
    2: ("tally_lost", "azimuth_reversed"),
    3: ("tally_lost", "azimuth_reversed", "digits_swapped"),
}
_LEGS: Final = {1: 3, 2: 5, 3: 6}
_MOST_GAP: Final = 8.0
"""Without the slip a log closes to so many paces: what whole degrees and paces leave open."""
_LEAST_GAP: Final = 30.0
"""With any other it stays open by more."""
_TRIES: Final = 2000
_CROSSING_DEG: Final = (50.0, 130.0)


def log_of_rows(rows: Rows) -> TravelLog:
    """The rows of a problem as a travel log."""
    legs = [
        Leg(Cells(str(azimuth), str(count), ""), (), azimuth_deg=float(azimuth), count=float(count))
        for azimuth, count in rows
    ]
    return compose_log(Heading(start="Start"), legs)


def _steps(rows: Rows) -> Array:
    azimuth, count = np.array(rows, dtype=np.float64).T
    steps: Array = count[:, None] * np.stack(unit_vectors(azimuth), axis=1)
    return steps


def plot_problem(level: int, rng: np.random.Generator) -> Problem:
    """Ask for the way back of a log: azimuth and count, as near as a careful drawing gives them."""
    degrees, paces = {1: (10, 20), 2: (5, 10), 3: (1, 5)}[level]
    while True:
        rows = tuple(
            (
                int(rng.integers(0, 360 // degrees)) * degrees,
                int(rng.integers(80 // paces, 320 // paces)) * paces,
            )
            for _ in range(_LEGS[level])
        )
        places = np.concatenate([np.zeros((1, 2)), np.cumsum(_steps(rows), axis=0)])
        east, north = -places[-1]
        length = math.hypot(east, north)
        if length >= LEAST_WAY and (np.ptp(places, axis=0) <= np.array(ROOM_MM) * PACES_A_MM).all():
            break
    spread = np.sum(
        [
            leg_covariance(float(azimuth), float(count), PROTRACTOR_SD_DEG, PACES_A_MM * RULER_SD_MM)
            for azimuth, count in rows
        ],
        axis=0,
    )
    way_deg = direction_deg(east, north)
    count_sd = math.hypot(_sd(spread, way_deg), PACES_A_MM * RULER_SD_MM)
    across_sd = _sd(spread, way_deg + 90.0)
    azimuth_sd = math.hypot(math.degrees(across_sd / length), PROTRACTOR_SD_DEG)
    answers = (
        Answer("way_azimuth", way_deg, "deg", math.ceil(DRAWN_SDS * azimuth_sd)),
        Answer("way_count", length, "pace", math.ceil(DRAWN_SDS * count_sd)),
    )
    # The start stands on a crossing of the squares.
    left, low = (np.ceil(-places.min(axis=0) / PACES_A_MM / SQUARE_MM) * SQUARE_MM + 0.0).tolist()
    return Problem("plot", answers, given={"start_x_mm": left, "start_y_mm": low}, rows=rows)


def _sd(spread: Array, azimuth_deg: float) -> float:
    """The standard deviation that a covariance has along an azimuth."""
    unit = np.array([float(part) for part in unit_vectors(azimuth_deg)])
    return math.sqrt(float(unit @ spread @ unit))


def slip_problem(level: int, rng: np.random.Generator) -> Problem:
    """Ask for the slip in a log that should come back to its start: which leg, and what happened there.

    Of all slips asked about, on all legs, only this one closes the log.

    Raises
    ------
    NoAnswerComplaint
        No log was met that holds one slip alone; another seed will.
    """
    kinds = KINDS_BY_LEVEL[level]
    for _ in range(_TRIES):
        closed = _closed(_LEGS[level] + 1, rng)
        kind = kinds[int(rng.integers(len(kinds)))]
        leg = int(rng.integers(len(closed)))
        slipped = _with_slip(closed, leg, kind)
        if slipped is None:
            continue
        closing = _what_closes(slipped, kinds)
        if closing == [(kind, leg + 1)]:
            answers = [Answer("leg", float(leg + 1), "number")]
            if len(kinds) > 1:
                answers.append(Answer("slip", float(kinds.index(kind)), "word", choices=kinds))
            return Problem("slip", tuple(answers), str(level), rows=slipped)
    raise NoAnswerComplaint("no log was met that holds one slip alone", "Take another seed")


def _closed(legs: int, rng: np.random.Generator) -> Rows:
    """A log that comes back to its start, as far as whole degrees and paces go."""
    while True:
        first = [(int(rng.integers(0, 360)), int(rng.integers(110, 330))) for _ in range(legs - 1)]
        east, north = -_steps(tuple(first)).sum(axis=0)
        length = math.hypot(east, north)
        last = (round(direction_deg(east, north)) % 360, round(length))
        if 110 <= length <= 330 and _gap((*first, last)) <= _MOST_GAP:
            return (*first, last)


def _gap(rows: Rows) -> float:
    return float(np.hypot(*_steps(rows).sum(axis=0)))


def _with_slip(rows: Rows, leg: int, kind: SlipKind) -> Rows | None:
    """A log as a slip leaves it; None where the leg cannot suffer it."""
    azimuth, count = rows[leg]
    if kind == "tally_lost":
        changed = (azimuth, count - 100)
    elif kind == "azimuth_reversed":
        changed = ((azimuth + 180) % 360, count)
    else:
        text = f"{azimuth}"
        swapped = text[:-2] + text[-1] + text[-2]
        if len(text) < 2 or not 0 <= int(swapped) < 360 or int(swapped) == azimuth or swapped[0] == "0":
            return None
        changed = (int(swapped), count)
    return (*rows[:leg], changed, *rows[leg + 1 :])


def _what_closes(rows: Rows, kinds: tuple[SlipKind, ...]) -> list[tuple[SlipKind, int]]:
    """The slips, kind and leg, without which a log comes nearly back to its start."""
    found = []
    for slip in find_slips(log_of_rows(rows)):
        if slip.kind in kinds and len(slip.legs) == 1:
            entry, at = slip.entries[0], slip.legs[0] - 1
            mended = (round(entry.reading.azimuth_deg), round(entry.count))
            if _gap((*rows[:at], mended, *rows[at + 1 :])) < _LEAST_GAP:
                found.append((slip.kind, slip.legs[0]))
    return sorted(set(found), key=lambda one: one[1])


def resection_problem(level: int, rng: np.random.Generator) -> Problem:
    """Ask where somebody stands who sees known marks: two, three, or three by magnetic azimuths.

    Marks stand on a grid of 100 m; the answer counts as right as far as protractor and ruler allow.
    """
    wanted = 2 if level == 1 else 3
    declination = 0.0 if level < 3 else float(int(rng.integers(4, 15)) * (1 if rng.random() < 0.5 else -1))
    most_m = (np.array(ROOM_MM) * METRES_A_MM).astype(np.intp) // 200 * 200
    while True:
        here = rng.integers(1, most_m // 50) * 50.0
        marks = rng.integers(0, most_m // 100 + 1, (wanted, 2)) * 100.0
        off = marks - here
        far = np.hypot(*off.T)
        if far.min() < 300.0 or len({tuple(one) for one in marks.tolist()}) < wanted:
            continue
        look = [direction_deg(float(east), float(north)) for east, north in off]
        if _crosses_well(look):
            break
    found = resect(marks, look, PROTRACTOR_SD_DEG)
    grid = np.sqrt(np.diag(found.covariance) + (METRES_A_MM * RULER_SD_MM) ** 2 * 2.0)
    given = {"declination": declination}
    for number, ((east, north), azimuth_deg) in enumerate(zip(marks.tolist(), look, strict=True), start=1):
        given |= {f"east_{number}": east, f"north_{number}": north}
        given[f"azimuth_{number}"] = float(round(normal_azimuth(azimuth_deg - declination)) % 360)
    # The azimuths are given in whole degrees: what that leaves open counts as well.
    rounding = np.sqrt(np.diag(found.covariance)) * (math.sqrt(1.0 / 12.0) / PROTRACTOR_SD_DEG)
    within = [
        math.ceil(DRAWN_SDS * math.hypot(sd, more) / 10.0) * 10.0
        for sd, more in zip(grid, rounding, strict=True)
    ]
    answers = (
        Answer("east", float(here[0]), "m", within[0]),
        Answer("north", float(here[1]), "m", within[1]),
    )
    return Problem("resection", answers, "magnetic" if declination else "grid", given)


def _crosses_well(look: list[float]) -> bool:
    gaps = [
        abs((second - first + 180.0) % 360.0 - 180.0)
        for k, first in enumerate(look)
        for second in look[k + 1 :]
    ]
    return any(_CROSSING_DEG[0] <= gap <= _CROSSING_DEG[1] for gap in gaps) and min(gaps) > 25.0
