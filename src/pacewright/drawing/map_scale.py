"""The scale of a map sheet: which are walked by, which fits, and what is refused."""

from __future__ import annotations

import math
from typing import Final

from pacewright.drawing.labels import Box
from pacewright.drawing.page_fit import PageFit
from pacewright.exceptions import ValueComplaint
from pacewright.ground.terrain import Bounds

SCALES: Final = (5_000.0, 10_000.0, 15_000.0, 20_000.0, 25_000.0, 50_000.0, 100_000.0)
"""Scales chosen from when none is asked for."""

LEAST_SCALE: Final = 1_000.0
MOST_SCALE: Final = 100_000.0

_NARROW_MM: Final = 80.0


def check_scale(scale: float) -> None:
    """Refuse a scale that nobody walks by.

    Raises
    ------
    ValueComplaint
        It is out of range, or no number.
    """
    if not LEAST_SCALE <= scale <= MOST_SCALE:
        raise ValueComplaint(
            f"1:{scale:g} is no scale to walk by",
            f"Give {LEAST_SCALE:.0f} to {MOST_SCALE:.0f}, such as 10000",
        )


def is_narrow(frame: Box) -> bool:
    """Say whether a frame is one of a card for the pocket, where type and margins are smaller."""
    return frame.right - frame.left < _NARROW_MM


def walk_margin_mm(frame: Box) -> float:
    """What stays free between a walk and the frame."""
    return 5.0 if is_narrow(frame) else 8.0


def middle_of(bounds: Bounds) -> tuple[float, float]:
    """The middle of a piece of land, east and north."""
    return (bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2


def least_scale(bounds: Bounds, middle: tuple[float, float], frame: Box) -> float:
    """The scale number at which all of a walk just comes inside the frame's margin."""
    half_wide = (frame.right - frame.left) / 2 - walk_margin_mm(frame)
    half_high = (frame.bottom - frame.top) / 2 - walk_margin_mm(frame)
    east = max(bounds[2] - middle[0], middle[0] - bounds[0])
    north = max(bounds[3] - middle[1], middle[1] - bounds[1])
    return 1000.0 * max(east / half_wide, north / half_high)


def tidy_scale(least: float) -> float | None:
    """The first of `SCALES` that is not less; None beyond the last.

    >>> tidy_scale(10_400), tidy_scale(200_000)
    (15000.0, None)
    """
    return next((scale for scale in SCALES if scale >= least * (1 - 1e-9)), None)


def fit_map(
    frame: Box,
    bounds: Bounds,
    scale: float | None = None,
    centre: tuple[float, float] | None = None,
    *,
    has_walk: bool = True,
) -> PageFit:
    """Find how the land lies in a frame.

    Parameters
    ----------
    frame
        In mm.
    bounds
        Of the walk, or of the land where there is none.
    scale
        10000 for 1:10 000; unasked, the largest of `SCALES` at which the walk fits.
    centre
        What lies in the middle of the frame; unasked, the middle of the bounds.
    has_walk
        Whether there is a walk, which must come inside the frame.

    Raises
    ------
    ValueComplaint
        The walk does not fit, or a place is not finite.
    """
    middle = centre or middle_of(bounds)
    if not all(math.isfinite(part) for part in (*bounds, *middle)):
        raise ValueComplaint("a place on the sheet is not a finite number", "Give metres east and north")
    least = least_scale(bounds, middle, frame) if has_walk else 0.0
    tidy = tidy_scale(least)
    wanted = scale or tidy or MOST_SCALE
    if wanted < least * (1 - 1e-9):
        do = "Take larger paper" if tidy is None else f"Give a scale of 1:{tidy:.0f}, or larger paper"
        raise ValueComplaint(f"the walk does not fit on this sheet at 1:{wanted:.0f}", do)
    return PageFit(frame, middle[0], middle[1], wanted / 100.0)
