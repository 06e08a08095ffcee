"""East and north to millimetres on paper: a round scale at which everything fits its frame."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from pacewright.core.compass import unit_vectors
from pacewright.drawing import svg
from pacewright.drawing.labels import Box
from pacewright.drawing.svg import INK, Point
from pacewright.exceptions import ValueComplaint

_ROUND: Final = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0)
_POINT_UNITS_PER_CM: Final = 20.0
_FARTHEST: Final = 1e15


@dataclass(frozen=True, slots=True)
class PageFit:
    """How a figure lies in its frame.

    Parameters
    ----------
    frame
        The frame, in mm.
    middle_east, middle_north
        What lies in the middle of the frame.
    units_per_cm
        Paces or metres to 10 mm on paper.
    """

    frame: Box
    middle_east: float
    middle_north: float
    units_per_cm: float

    def point(self, east: float, north: float) -> Point:
        """A point of the figure in mm on paper."""
        # The division first: a figure of 1e-300 paces would otherwise overflow the scale.
        x = 10 * ((east - self.middle_east) / self.units_per_cm)
        y = -10 * ((north - self.middle_north) / self.units_per_cm)
        return (self.frame.left + self.frame.right) / 2 + x, (self.frame.top + self.frame.bottom) / 2 + y

    def points(self, line: Iterable[Sequence[float]]) -> list[Point]:
        """A line of (east, north) in mm on paper."""
        return [self.point(float(east), float(north)) for east, north in line]

    def shows(self, east: float, north: float) -> bool:
        """Say whether a point of the figure lies inside the frame."""
        x, y = self.point(east, north)
        return self.frame.holds(Box(x, y, x, y))

    def length_mm(self, length: float) -> float:
        """A length of the figure in mm on paper."""
        return 10 * (length / self.units_per_cm)


def fit_page(points: Sequence[Point], frame: Box, margin_mm: float) -> PageFit:
    """Find the largest round scale at which all points come inside the frame's margin.

    Parameters
    ----------
    points
        At least one (east, north).
    frame
        The frame, in mm.
    margin_mm
        What stays free along the frame.

    Raises
    ------
    ValueComplaint
        A point is not finite, or too far away to be drawn.
    """
    if not all(abs(part) <= _FARTHEST for point in points for part in point):
        raise ValueComplaint(
            "a point of the figure is not a finite place within reach",
            "Look for a station, outline or bearing whose east or north is not a number",
        )
    easts, norths = [p[0] for p in points], [p[1] for p in points]
    wide_cm = (frame.right - frame.left - 2 * margin_mm) / 10
    high_cm = (frame.bottom - frame.top - 2 * margin_mm) / 10
    least = max((max(easts) - min(easts)) / wide_cm, (max(norths) - min(norths)) / high_cm)
    return PageFit(
        frame,
        (max(easts) + min(easts)) / 2,
        (max(norths) + min(norths)) / 2,
        # Below 1e-12 there is nothing to see but a point.
        round_up(least) if least > 1e-12 else _POINT_UNITS_PER_CM,
    )


def round_up(least: float) -> float:
    """The smallest easy number, such as 1, 1.5, 2, 2.5 or a tenfold of one, that is not less.

    >>> round_up(1), round_up(13.2), round_up(0.41), round_up(8.01)
    (1.0, 15.0, 0.5, 9.0)
    """
    power = math.floor(math.log10(least))
    share = least / 10.0**power * (1 - 1e-12)
    step = next(step for step in _ROUND if step >= share)
    return float(f"{step}e{power}")


def seen_piece(start: Point, end: Point, frame: Box) -> tuple[Point, Point] | None:
    """The piece of a straight line that lies inside the frame; None where all of it lies outside.

    >>> seen_piece((-10, 5), (30, 5), Box(0, 0, 20, 20))
    ((0.0, 5.0), (20.0, 5.0))

    References
    ----------
    Clipping by parameter: Y.-D. Liang and B. A. Barsky, A new concept and method for line clipping,
    ACM Transactions on Graphics 3 (1984), from memory.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    enter, leave = 0.0, 1.0
    sides = (
        (-dx, start[0] - frame.left),
        (dx, frame.right - start[0]),
        (-dy, start[1] - frame.top),
        (dy, frame.bottom - start[1]),
    )
    for step, room in sides:
        if step == 0:
            if room < 0:
                return None
            continue
        share = room / step
        enter, leave = (max(enter, share), leave) if step < 0 else (enter, min(leave, share))
    if enter > leave:
        return None
    first, last = ((start[0] + at * dx, start[1] + at * dy) for at in (enter, leave))
    return first, last


def frame_exit(start: Point, azimuth_deg: float, frame: Box) -> Point:
    """Where a bearing from a point on paper leaves the frame.

    >>> frame_exit((10, 10), 90, Box(0, 0, 40, 40))
    (40.0, 10.0)
    """
    if not math.isfinite(azimuth_deg):
        raise ValueComplaint(f"{azimuth_deg} is not an azimuth in degrees", "Write a number from 0 to 360")
    east, north = unit_vectors(azimuth_deg)
    ux, uy = float(east), -float(north)
    reach = min(
        ((frame.right if u > 0 else frame.left) - start[0]) / u
        if axis == "x"
        else ((frame.bottom if u > 0 else frame.top) - start[1]) / u
        for axis, u in (("x", ux), ("y", uy))
        if u != 0
    )
    return start[0] + reach * ux, start[1] + reach * uy


def frame_line(frame: Box, width_mm: float = 0.5) -> str:
    """The line round a frame."""
    width, height = frame.right - frame.left, frame.bottom - frame.top
    return svg.rect(frame.left, frame.top, width, height, fill="none", stroke=INK, stroke_width=width_mm)
