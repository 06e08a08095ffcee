"""A full-circle protractor to cut out: azimuths round the rim, back azimuths inside it."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from pacewright.core.compass import FULL_CIRCLE, AzimuthUnit, format_azimuth, to_degrees, unit_vectors
from pacewright.drawing import svg
from pacewright.drawing.svg import INK, Point
from pacewright.drawing.symbols import arrow_head
from pacewright.exceptions import ValueComplaint

LEAST_RADIUS_MM: Final = 20.0
LARGEST_RADIUS_MM: Final = 150.0

_STEPS: Final[dict[AzimuthUnit, tuple[tuple[float, float, float], ...]]] = {
    "degrees": ((0.5, 1, 10), (1, 5, 10), (2, 10, 10), (5, 10, 30)),
    "mils": ((10, 50, 200), (20, 100, 200), (50, 100, 200), (100, 200, 400)),
    "gon": ((0.5, 1, 10), (1, 5, 10), (2, 10, 10), (5, 10, 50)),
}
"""Every tick, longer and longest ones, the finest first."""
_NUMBERED: Final[dict[AzimuthUnit, int]] = {"degrees": 10, "mils": 200, "gon": 10}
_CLOSEST_TICKS_MM: Final = 0.8
_EDGE_MM: Final = 0.3
_SMALLER: Final = 0.9
"""Of the back azimuths, in letters of the azimuths."""
_LEAST_NUMBER_MM: Final = {False: 2.48, True: 2.84}
"""Fewer numbers are written before they are smaller than this, on a small dial and on a large one."""
_LARGE_MM: Final = 40.0


def draw_protractor(radius_mm: float, unit: AzimuthUnit = "degrees") -> str:
    """Draw a full circle of azimuths, clockwise from the top, with the back azimuth inside every number.

    Parameters
    ----------
    radius_mm
        Of the rim, from 20 to 150.
    unit
        Of the numbers.

    Returns
    -------
    str
        An SVG document just as large as the circle.

    Raises
    ------
    ValueComplaint
        The radius is out of range.
    """
    if not LEAST_RADIUS_MM <= radius_mm <= LARGEST_RADIUS_MM:
        raise ValueComplaint(
            f"a protractor of {radius_mm:g} mm radius cannot be read",
            f"Give {LEAST_RADIUS_MM:g} to {LARGEST_RADIUS_MM:g} mm",
        )
    size = 2 * (radius_mm + _EDGE_MM)
    middle = size / 2
    body = [
        svg.circle(middle, middle, radius_mm, fill="none", stroke=INK, stroke_width=0.35, class_="rim"),
        *_ticks(middle, radius_mm, unit),
        *_numbers(middle, radius_mm, unit),
        *_heart(middle, radius_mm),
        svg.text(middle, middle + 0.36 * radius_mm, unit, _unit_mm(radius_mm), anchor="middle", halo_mm=0.8),
    ]
    return svg.drawing(
        size,
        size,
        body,
        title=f"Protractor in {unit}",
        description="azimuths clockwise from the top, back azimuths inside them, "
        "parallel lines to lay along north",
    )


def _unit_mm(radius_mm: float) -> float:
    return max(2.6, min(4.0, 0.07 * radius_mm))


def _at(middle: float, radius_mm: float, azimuth_deg: float) -> Point:
    east, north = unit_vectors(azimuth_deg)
    return middle + radius_mm * float(east), middle - radius_mm * float(north)


def _ticks(middle: float, radius_mm: float, unit: AzimuthUnit) -> list[str]:
    full = FULL_CIRCLE[unit]
    step, longer, longest = next(
        (one for one in _STEPS[unit] if 2 * math.pi * radius_mm * one[0] / full >= _CLOSEST_TICKS_MM),
        _STEPS[unit][-1],
    )
    drawn = []
    for value in (k * step for k in range(round(full / step))):
        share = 0.085 if value % longest == 0 else 0.06 if value % longer == 0 else 0.035
        azimuth_deg = to_degrees(value, unit)
        inner, outer = _at(middle, radius_mm * (1 - share), azimuth_deg), _at(middle, radius_mm, azimuth_deg)
        width = 0.3 if value % longest == 0 else 0.15
        drawn.append(
            svg.line(*inner, *outer, stroke=INK, stroke_width=width, stroke_linecap="butt", class_="tick")
        )
    return drawn


def _numbers(middle: float, radius_mm: float, unit: AzimuthUnit) -> list[str]:
    apart, full = _NUMBERED[unit], FULL_CIRCLE[unit]
    fitting_mm = 2 * math.pi * 0.72 * radius_mm * apart / full / (0.66 * len(str(full)))
    if _SMALLER * fitting_mm < _LEAST_NUMBER_MM[radius_mm >= _LARGE_MM]:
        times = 3 if unit == "degrees" else 2
        apart, fitting_mm = times * apart, times * fitting_mm
    size_mm = min(3.4, fitting_mm)
    drawn = []
    for value in range(0, full, apart):
        azimuth_deg = to_degrees(value, unit)
        for share, shown, bold in ((0.865, azimuth_deg, True), (0.735, azimuth_deg + 180.0, False)):
            at = _at(middle, share * radius_mm, azimuth_deg)
            upright = svg.text(
                0.0,
                0.36 * size_mm,
                format_azimuth(shown, unit),
                size_mm if bold else _SMALLER * size_mm,
                anchor="middle",
                font_weight="bold" if bold else None,
            )
            turn = f"translate({svg.number(at[0])} {svg.number(at[1])}) rotate({azimuth_deg:g})"
            drawn.append(svg.group([upright], transform=turn))
    return drawn


def _heart(middle: float, radius_mm: float) -> list[str]:
    """Draw the centre with a cross, and lines to lay along the north lines of a map or plot."""
    reach = 0.66 * radius_mm
    drawn = []
    for offset in np.arange(-0.5, 0.51, 0.25) * radius_mm:
        half = math.sqrt(max(0.0, reach**2 - float(offset) ** 2))
        x = middle + float(offset)
        drawn.append(svg.line(x, middle - half, x, middle + half, stroke=INK, stroke_width=0.15))
    drawn.append(svg.line(middle - reach, middle, middle + reach, middle, stroke=INK, stroke_width=0.15))
    drawn.append(arrow_head((middle, middle), (middle, middle - reach), 0.07 * radius_mm, solid=True))
    drawn.append(svg.circle(middle, middle, 1.2, fill="#fff", stroke=INK, stroke_width=0.25))
    drawn.append(svg.line(middle - 0.8, middle, middle + 0.8, middle, stroke=INK, stroke_width=0.1))
    drawn.append(svg.line(middle, middle - 0.8, middle, middle + 0.8, stroke=INK, stroke_width=0.1))
    return drawn
