"""What the information in a log allows for a way back to the start: the least region, by dense algebra.

Written without the tool's own code. Every leg has a turn and a stretch of its own, the day a turn and a
stretch of all legs; in the walker's own paces the last two leave the figure as it is, and only a place
known in metres sees them. All is linear about the numbers as written.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from support.field_walks import Floats, Page, Person


def way_back_covariance(page: Page, person: Person, known: Mapping[int, float]) -> Floats:
    """The covariance of the end of a way back from the last station to the start, in paces squared.

    Parameters
    ----------
    page, person
        The log, of whose numbers only azimuths and counts are used, and who walked it.
    known
        Standard deviation in metres of the places known on the way, by station.
    """
    azimuth_rad = np.radians([row.azimuth for row in page.rows])
    count = np.array([row.count for row in page.rows], dtype=np.float64)
    along = count[:, None] * np.stack([np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=1)
    right = np.stack([along[:, 1], -along[:, 0]], axis=1)
    legs = count.size
    spread = np.concatenate(
        [
            np.full(legs, math.radians(person.holding_sd_deg)),
            _stretch_sd(count, person),
            [math.radians(math.hypot(person.instrument_sd_deg, person.habit_sd_deg)), person.pace_sd],
        ]
    )
    figure = np.stack([_moved(along, right, station, shared=0.0) for station in range(legs + 1)])
    information = np.diag(spread**-2)
    for station, sd_m in known.items():
        seen = person.pace_m * _moved(along, right, station, shared=1.0)
        information += seen.T @ seen / sd_m**2
    last = figure[legs]
    return last @ np.linalg.solve(information, last.T) + _walked(along.sum(axis=0), person)


def area(covariance: Floats, probability: float = 0.95) -> float:
    """The area of the ellipse that holds a share of a normal scatter."""
    return -2.0 * math.log1p(-probability) * math.pi * math.sqrt(float(np.linalg.det(covariance)))


def _moved(along: Floats, right: Floats, station: int, shared: float) -> Floats:
    """How a station moves with each leg's turn and stretch, and with those of the day, (2, 2 n + 2)."""
    of_legs = np.zeros((2, 2 * len(along)))
    of_legs[:, :station] = right[:station].T
    of_legs[:, len(along) : len(along) + station] = along[:station].T
    of_day = np.stack([right[:station].sum(axis=0), along[:station].sum(axis=0)], axis=1)
    return np.concatenate([of_legs, shared * of_day], axis=1)


def _walked(step: Floats, person: Person) -> Floats:
    count = math.hypot(*step)
    along = step / count
    right = np.array([along[1], -along[0]])
    stretch = count * float(_stretch_sd(np.array([count]), person)[0])
    turn = count * math.radians(person.holding_sd_deg)
    scatter: Floats = stretch**2 * np.outer(along, along) + turn**2 * np.outer(right, right)
    return scatter


def _stretch_sd(count: Floats, person: Person) -> Floats:
    sd: Floats = np.maximum(person.count_sd, person.count_least / np.maximum(count, 1.0))
    return sd
