"""The grid of a map sheet: lines with their metres, crosses between them to measure by, the three norths."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from pacewright.drawing import svg, symbols
from pacewright.drawing.page_fit import PageFit
from pacewright.drawing.svg import INK, PAPER, Point
from pacewright.exceptions import ValueComplaint

GRID_MM: Final = 0.14
LABEL_MM: Final = 2.8
BAND_MM: Final = 4.2
"""What the labels of the grid take up round the frame."""

_LINES_APART_MM: Final = 30.0
_NARROW_MM: Final = 80.0
_CROSSES_APART_MM: Final = 10.0
_CORNER_MM: Final = 10.0
_LEAST_FAN_DEG: Final = 16.0


def grid_spacing_m(scale: float, frame_mm: float = math.inf) -> float:
    """How far apart grid lines are: 1, 2, 5 or a tenfold of it, at least 30 mm on paper.

    In a frame so narrow that fewer than two of them might have their metres beside them, they stand closer.

    >>> [grid_spacing_m(scale) for scale in (5000, 10000, 25000, 50000)]
    [200.0, 500.0, 1000.0, 2000.0]
    >>> grid_spacing_m(25000, 48.6)
    500.0
    """
    spacing = _tidy_metres(_LINES_APART_MM * scale / 1000.0)
    if 1000.0 * spacing / scale <= (frame_mm - 2 * _CORNER_MM) / 2:
        return spacing
    closer_mm = 12.0 if frame_mm < _NARROW_MM else 20.0
    return _tidy_metres(closer_mm * scale / 1000.0)


def _tidy_metres(least: float) -> float:
    power = 10.0 ** math.floor(math.log10(least))
    return next(step * power for step in (1.0, 2.0, 5.0, 10.0) if step * power >= least * (1 - 1e-9))


def cross_spacing_m(scale: float, frame_mm: float = math.inf) -> float:
    """How far apart the measuring crosses between grid lines are, at least 10 mm on paper.

    >>> [cross_spacing_m(scale) for scale in (5000, 10000, 25000, 50000)]
    [50.0, 100.0, 250.0, 500.0]
    """
    spacing = grid_spacing_m(scale, frame_mm)
    least = _CROSSES_APART_MM * scale / 1000.0
    return next((spacing / n for n in (5, 4, 2) if spacing / n >= least * (1 - 1e-9)), spacing)


def draw_grid(fit: PageFit, label_mm: float = LABEL_MM) -> list[str]:
    """Draw grid lines across the frame with their metres on all four sides, and the crosses between."""
    frame = fit.frame
    scale = 100.0 * fit.units_per_cm
    spacing = grid_spacing_m(scale, narrow_side_mm(fit))
    west, south, east, north = frame_bounds(fit)
    drawn = []
    corner = fit.point(math.floor(west / spacing) * spacing, math.floor(south / spacing) * spacing)
    sides = (frame.left, frame.top, frame.right, frame.bottom)
    apart_mm = fit.length_mm(cross_spacing_m(scale, narrow_side_mm(fit)))
    drawn.append(symbols.measuring_crosses(corner, sides, apart_mm))
    last = -math.inf
    for metres in _multiples(west, east, spacing):
        x, _ = fit.point(metres, south)
        drawn.append(_grid_line((x, frame.top), (x, frame.bottom)))
        words = f"{written_metres(metres)} E"
        if frame.left + _CORNER_MM <= x <= frame.right - _CORNER_MM and _is_clear(x - last, words, label_mm):
            drawn.append(svg.text(x, frame.top - 1.3, words, label_mm, anchor="middle"))
            drawn.append(svg.text(x, frame.bottom + 3.3, words, label_mm, anchor="middle"))
            last = x
    last = math.inf
    for metres in _multiples(south, north, spacing):
        _, y = fit.point(west, metres)
        drawn.append(_grid_line((frame.left, y), (frame.right, y)))
        words = f"{written_metres(metres)} N"
        if frame.top + _CORNER_MM <= y <= frame.bottom - _CORNER_MM and _is_clear(last - y, words, label_mm):
            drawn += [
                _upward(frame.left - 1.3, y, words, label_mm),
                _upward(frame.right + 3.3, y, words, label_mm),
            ]
            last = y
    return drawn


def narrow_side_mm(fit: PageFit) -> float:
    """The shorter side of the frame."""
    return min(fit.frame.right - fit.frame.left, fit.frame.bottom - fit.frame.top)


def _is_clear(apart_mm: float, words: str, size_mm: float) -> bool:
    """Say whether metres have room beside those of the line before."""
    return apart_mm >= svg.text_width_mm(words, size_mm) + 1.5


def frame_bounds(fit: PageFit) -> tuple[float, float, float, float]:
    """West, south, east and north of the land inside the frame, in metres."""
    frame = fit.frame
    half_east = (frame.right - frame.left) / 20 * fit.units_per_cm
    half_north = (frame.bottom - frame.top) / 20 * fit.units_per_cm
    return (
        fit.middle_east - half_east,
        fit.middle_north - half_north,
        fit.middle_east + half_east,
        fit.middle_north + half_north,
    )


def written_metres(metres: float) -> str:
    """Write a grid line's metres with a thin gap between thousands.

    >>> written_metres(4140500.0)
    '4 140 500'
    """
    return f"{metres:,.0f}".replace(",", " ")


@dataclass(frozen=True, slots=True)
class Norths:
    """True and magnetic north as seen from grid north, each in degrees, east positive, if known.

    Parameters
    ----------
    true_deg
        Azimuth of true north from grid north: the convergence taken away.
    magnetic_deg
        The grid-magnetic angle: azimuth of magnetic north from grid north.
    said_of
        For when the magnetic north holds, such as `2026`.
    """

    true_deg: float | None = None
    magnetic_deg: float | None = None
    said_of: str = ""

    def __post_init__(self) -> None:
        for angle in (self.true_deg, self.magnetic_deg):
            if angle is not None and not (math.isfinite(angle) and abs(angle) <= 180):
                raise ValueComplaint(
                    f"{angle} is not an angle between two norths",
                    "Give degrees from -180 to 180, east positive",
                )

    def sentences(self) -> list[str]:
        """The angles in words, and what they do to an azimuth."""
        told = []
        if self.true_deg is not None:
            told.append(f"True north is {_written_turn(self.true_deg)} grid north.")
        if self.magnetic_deg is not None:
            when = f" ({self.said_of})" if self.said_of else ""
            told.append(f"Magnetic north is {_written_turn(self.magnetic_deg)} grid north{when}.")
            less = "less" if self.magnetic_deg >= 0 else "more"
            told.append(f"A compass reads {abs(self.magnetic_deg):.1f}° {less} than the grid azimuth.")
        return told


def draw_north_needles(norths: Norths, x: float, foot_y: float, height_mm: float) -> list[str]:
    """Draw the norths as needles from one foot, grid north upright.

    Each is drawn on its own side of grid north, opened up so that they can be told apart; the figures
    beside them hold, not the drawing.

    Parameters
    ----------
    x, foot_y
        The foot that they share, in mm.
    height_mm
        Length of the needle of grid north.
    """
    foot = (x, foot_y)
    drawn = []
    for name, turn_deg, share in _fan(norths):
        length = height_mm * share
        turn_rad = math.radians(turn_deg)
        tip = (x + length * math.sin(turn_rad), foot_y - length * math.cos(turn_rad))
        drawn.append(svg.line(*foot, *tip, stroke=INK, stroke_width=0.35))
        drawn.append(_crest(name, foot, tip))
        anchor = "middle" if turn_deg == 0 else ("start" if turn_deg > 0 else "end")
        beside = 0.0 if turn_deg == 0 else math.copysign(2.0, turn_deg)
        rise = -2.6 if turn_deg == 0 else 0.6
        drawn.append(svg.text(tip[0] + beside, tip[1] + rise, name, LABEL_MM, anchor=anchor))
    return [*drawn, svg.circle(*foot, 0.6, fill=INK)]


def _fan(norths: Norths) -> list[tuple[str, float, float]]:
    """Each known north, the turn at which it is drawn, and its length over that of grid north."""
    fan = [("grid", 0.0, 1.0)]
    known = (("true", norths.true_deg), ("magnetic", norths.magnetic_deg))
    given = sorted(((name, turn) for name, turn in known if turn is not None), key=lambda n: abs(n[1]))
    for name, turn_deg in given:
        side = math.copysign(1.0, turn_deg)
        inner = [abs(t) for _, t, _ in fan if t * side > 0]
        turn = max(min(abs(turn_deg), 60.0), max(inner, default=0.0) + _LEAST_FAN_DEG)
        # The outer of two needles on one side ends lower, so that each has room for its name.
        fan.append((name, side * turn, 0.55 if inner else 0.86))
    return fan


def _crest(name: str, foot: Point, tip: Point) -> str:
    """Draw what tells a needle: a ring for true north, a solid head for magnetic, a square for grid."""
    if name == "true":
        return svg.circle(*tip, 1.1, fill=PAPER, stroke=INK, stroke_width=0.35)
    if name == "magnetic":
        return symbols.arrow_head(foot, tip, 3.4, solid=True)
    cross = svg.line(tip[0] - 1.1, tip[1], tip[0] + 1.1, tip[1], stroke=INK, stroke_width=0.3)
    return svg.rect(tip[0] - 1.1, tip[1] - 1.1, 2.2, 2.2, fill=PAPER, stroke=INK, stroke_width=0.35) + cross


def _written_turn(turn_deg: float) -> str:
    return f"{abs(turn_deg):.1f}° {'east' if turn_deg >= 0 else 'west'} of"


def _grid_line(start: Point, end: Point) -> str:
    return svg.line(*start, *end, stroke=INK, stroke_width=GRID_MM, stroke_linecap="butt")


def _upward(x: float, y: float, words: str, size_mm: float) -> str:
    turn = f"rotate(-90 {svg.number(x)} {svg.number(y)})"
    return svg.text(x, y, words, size_mm, anchor="middle", transform=turn)


def _multiples(low: float, high: float, spacing: float) -> Iterable[float]:
    return (k * spacing for k in range(math.ceil(low / spacing), math.floor(high / spacing) + 1))
