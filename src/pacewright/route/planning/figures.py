"""How a walker strays from a planned leg, and how a leg is walked: what plan and proof both go by.

A leg by azimuth is walked straight on one dialled azimuth, with one scatter of its own however long it is,
as a leg of a log is (see `core`). It ends

* on a line: from the count `look_m` on the walker looks for a line of the kind, takes the first one met, and
  gives up at the count `stop_m`;
* at a point: the walker stops at the count and sees it within `SEEN_M`;
* at the count alone.

A line is followed until the first sight of the kind expected, between two counts likewise. Whoever gives up,
or takes another line or sight than was meant, has missed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from pacewright.core.compass import AzimuthUnit, from_degrees
from pacewright.core.pace.walker import Walker
from pacewright.core.way.reckoning import walked_turn_sd_deg

SEEN_M: Final = 50.0
"""How far off a sight at the end of a leg is seen: assumed, of woodland."""
STANDS_SD_M: Final = 15.0
"""How far from its place on the map one stands at a sight: of the map, the line and the eye (assumed)."""
LOOK_SDS: Final = 2.5
LEAST_LOOK_M: Final = 60.0
STOP_SDS: Final = 3.0
LEAST_STOP_M: Final = 90.0
"""From where one looks for the end and where it is too far, in standard deviations and at least in metres."""
_LEAST_MARKS_DEG: Final = 0.9
"""Nobody dials finer in the field than a gon (assumed)."""
_COARSER_DEG: Final = (1.0, 360.0 * 20 / 6400, 0.9)
"""What is dialled of finer marks: a degree, 20 mils, a gon."""
CORRIDOR_SDS: Final = 1.96
"""Half the width in which 95 in 100 walk, in standard deviations across."""
SURE_MISS: Final = 0.02
SURE_LOOK_SDS: Final = 3.5
SURE_STOP_SDS: Final = 4.0
"""Where less than this may be missed, one looks longer: six in a thousand meet their line before 2.5."""


@dataclass(frozen=True, slots=True)
class WalkFigures:
    """One walker's scatter in metres.

    Attributes
    ----------
    turn_sd_rad, bias_sd_rad
        Of an azimuth walked, leg by leg, and of the compass all day.
    count_sd, scale_sd
        Of a length walked, leg by leg, and of the pace count all day; as parts of the length.
    azimuth_step_deg
        The marks of the dial.
    seen_m, stands_sd_m
        How far a sight is seen, and how exactly one stands at it.
    look_sds, stop_sds
        From where the end of a leg is looked for and where it is too far.
    """

    turn_sd_rad: float
    bias_sd_rad: float
    count_sd: float
    scale_sd: float
    azimuth_step_deg: float = 1.0
    seen_m: float = SEEN_M
    stands_sd_m: float = STANDS_SD_M
    look_sds: float = LOOK_SDS
    stop_sds: float = STOP_SDS

    @property
    def azimuth_sd_rad(self) -> float:
        """Of an azimuth walked, all in all."""
        return math.hypot(self.turn_sd_rad, self.bias_sd_rad)

    @property
    def length_sd(self) -> float:
        """Of a length walked, all in all, as a part of it."""
        return math.hypot(self.count_sd, self.scale_sd)


def walk_figures(
    walker: Walker, north_sd_deg: float = 0.0, seen_m: float = SEEN_M, miss: float = 0.05
) -> WalkFigures:
    """A walker's scatter as plans go by it.

    Parameters
    ----------
    walker
        The walker.
    north_sd_deg
        How well the declination is known: shared by all legs as the compass's own bias is.
    seen_m
        How far a sight at the end of a leg is seen.
    miss
        The chance of missing that is allowed: where it is small, the end of a leg is looked for longer.

    Examples
    --------
    >>> figures = walk_figures(Walker())
    >>> round(math.degrees(figures.azimuth_sd_rad), 2), round(100 * figures.length_sd, 2)
    (2.93, 5.83)
    """
    return WalkFigures(
        turn_sd_rad=math.radians(walked_turn_sd_deg(walker)),
        bias_sd_rad=math.radians(math.hypot(walker.compass.bias_sd_deg, north_sd_deg)),
        count_sd=walker.count.count_sd_pct / 100.0,
        scale_sd=walker.count.scale_sd_pct / 100.0,
        azimuth_step_deg=_marks_deg(walker.compass.reading_interval_deg),
        seen_m=seen_m,
        look_sds=SURE_LOOK_SDS if miss < SURE_MISS else LOOK_SDS,
        stop_sds=SURE_STOP_SDS if miss < SURE_MISS else STOP_SDS,
    )


def _marks_deg(interval_deg: float) -> float:
    """Between two marks that are dialled; whole degrees where the compass's own do not close the circle.

    Of finer marks each is dialled that is a whole degree, every twentieth mil or a whole gon.

    >>> _marks_deg(2.5), _marks_deg(0.9), _marks_deg(0.5), _marks_deg(7.0), _marks_deg(360 / 640)
    (2.5, 0.9, 1.0, 1.0, 1.125)
    """
    closes = interval_deg > 0.0 and _is_whole(360.0 / interval_deg)
    if closes and interval_deg < _LEAST_MARKS_DEG:
        return next((one for one in _COARSER_DEG if _is_whole(one / interval_deg)), 1.0)
    return interval_deg if closes else 1.0


def dialled_unit(marks_deg: float) -> AzimuthUnit:
    """What the marks of a dial are numbered in: what makes them whole, degrees before gon before mils.

    >>> dialled_unit(1.0), dialled_unit(2.5), dialled_unit(0.9), dialled_unit(1.125)
    ('degrees', 'degrees', 'gon', 'mils')
    """
    if _is_whole(marks_deg):
        return "degrees"
    numbered: tuple[AzimuthUnit, ...] = ("gon", "mils")
    return next((unit for unit in numbered if _is_whole(from_degrees(marks_deg, unit))), "degrees")


def _is_whole(number: float) -> bool:
    return math.isclose(number, round(number), abs_tol=1e-6)
