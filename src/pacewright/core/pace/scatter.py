"""How counting and holding an azimuth scatter: every default in one place, each with its reason.

None of these is field data of this project. They stand until the walker's own pace trials or
closed logs replace them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

DEFAULT_ESTIMATE_SD_PCT: Final = 20.0
"""A distance marked `[est]` without a per cent: eye estimates off by a fifth are common practice."""

DEFAULT_PROBABILITY: Final = 0.95
"""The share of walks that a stated region holds, unless asked otherwise."""


@dataclass(frozen=True, slots=True)
class CompassScatter:
    """How one person with one compass holds and reads azimuths.

    Attributes
    ----------
    azimuth_sd_deg
        Scatter of the azimuth walked, leg by leg, 2.5 degrees: between the 0.5 to 3 degrees measured
        for electronic compasses in forest (Tomastik & Tunak, Geodesy and Cartography, 2015) and the
        10 to 15 degrees of a runner over 500 m (from memory).
    bias_sd_deg
        What the compass, or the way it is held, is off all day, 1.5 degrees: half of the 3 degrees
        beyond which a compass is scrapped (FM 3-25.26 par. 9-3c).
    sighting_sd_deg
        Scatter of a bearing taken standing, 2 degrees (assumed, a little better than walking).
    reading_interval_deg
        The step to which the dial is read, 1 degree; its variance is the square of it over 12
        (uniform rounding, common practice; H. I. Ralph, 1966, title not read).
    bias_deg, sighting_bias_deg
        What this compass in this hand was found to be off, walking and standing: added to what is
        read, clockwise, in the map frame. 0 until known points have told.
    """

    azimuth_sd_deg: float = 2.5
    bias_sd_deg: float = 1.5
    sighting_sd_deg: float = 2.0
    reading_interval_deg: float = 1.0
    bias_deg: float = 0.0
    sighting_bias_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class CountScatter:
    """How one person's counts scatter.

    Attributes
    ----------
    scale_sd_pct
        How far the pace count itself may be off for a whole log, 3 %: pacing is within 3 % on level
        ground (Moss, Manual of Military Training, 1917).
    count_sd_pct
        Scatter of a leg's count about the walker's own mean, 5 %: the upper end of the 3 to 5 % of
        rough ground.
    count_floor
        The least scatter of a count however short the leg, 1 pace: where a leg starts and ends is
        never surer than that (assumed).
    """

    scale_sd_pct: float = 3.0
    count_sd_pct: float = 5.0
    count_floor: float = 1.0
