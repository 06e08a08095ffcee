"""A loop checked by the angles between the readings at each station.

What pulls the compass at a station turns all readings there alike, so that the angle between two of
them stays right: angles are the check that local attraction cannot spoil.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacewright.core.bearings.local_attraction import Line, check_lines
from pacewright.core.compass import back_azimuth, normal_azimuth
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class IncludedAngles:
    """A loop checked by the angle at each station, and its azimuths worked out from one line.

    Attributes
    ----------
    stations
        The station at which each line begins.
    angle_deg
        There, from the line before (looking back) clockwise to the line ahead, shape (n,).
    sum_deg, expected_deg
        Their sum, and what it should be.
    correction_deg
        Added to each angle to make it so.
    corrected_deg
        The angles after it, shape (n,).
    held
        The line whose two readings disagree least, taken as right.
    forward_deg
        Forward azimuth of every line, worked out from the held one round the loop, shape (n,).
    check_deg
        The held line's azimuth as it comes out at the end of the round.
    """

    stations: tuple[str, ...]
    angle_deg: Array
    sum_deg: float
    expected_deg: float
    correction_deg: float
    corrected_deg: Array
    held: int
    forward_deg: Array
    check_deg: float


def find_included_angles(lines: Sequence[Line]) -> IncludedAngles:
    """Check a loop by the angles between the readings at each station, and work its azimuths out anew.

    Parameters
    ----------
    lines
        A loop in order, each line beginning where the one before ends.

    Raises
    ------
    ValueComplaint
        The lines make no loop, or a reading is no azimuth.

    References
    ----------
    Included angles of a loop sum to 180 degrees times its sides less (inside) or plus (outside) two:
    NAVEDTRA 14069, ch. 13.
    """
    check_lines(lines)
    n = len(lines)
    if n < 3 or any(lines[i - 1].last != lines[i].first for i in range(n)):
        raise ValueComplaint(
            "these lines make no loop, so their angles have nothing to add up to",
            "Give three lines or more, each beginning where the one before ends",
        )
    angles = np.array(
        [normal_azimuth(line.forward_deg - lines[i - 1].back_deg) for i, line in enumerate(lines)]
    )
    total = float(angles.sum())
    expected = min((180.0 * (n - 2), 180.0 * (n + 2)), key=lambda one: abs(one - total))
    share = (expected - total) / n
    held = min(range(n), key=lambda i: abs(lines[i].disagreement_deg))
    forward = [0.0] * n
    forward[held] = lines[held].forward_deg
    for k in range(1, n):
        i = (held + k) % n
        forward[i] = normal_azimuth(back_azimuth(forward[i - 1]) + angles[i] + share)
    again = normal_azimuth(back_azimuth(forward[held - 1]) + angles[held] + share)
    return IncludedAngles(
        stations=tuple(line.first for line in lines),
        angle_deg=angles,
        sum_deg=total,
        expected_deg=expected,
        correction_deg=share,
        corrected_deg=angles + share,
        held=held,
        forward_deg=np.array(forward),
        check_deg=again,
    )
