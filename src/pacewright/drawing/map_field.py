"""The field of a map: what stands inside its frame, and the metres of the grid round it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import ClassVar, Final

from pacewright.drawing import svg, symbols
from pacewright.drawing.labels import Box, Placement, Segment
from pacewright.drawing.map_grid import (
    BAND_MM,
    LABEL_MM,
    Norths,
    cross_spacing_m,
    draw_grid,
    draw_north_needles,
    frame_bounds,
    grid_spacing_m,
    narrow_side_mm,
    written_metres,
)
from pacewright.drawing.map_scale import is_narrow
from pacewright.drawing.page_fit import PageFit, frame_line
from pacewright.drawing.placed_walk import cut_regions
from pacewright.drawing.sheet_land import SheetLand
from pacewright.drawing.svg import PENCIL
from pacewright.drawing.walk_figure import WalkFigure, stations_by_index
from pacewright.drawing.walk_map import lay_walk, line_segments, written_labels
from pacewright.drawing.walk_margin import Hand
from pacewright.exceptions import MissingComplaint
from pacewright.ground.terrain import Bounds, Terrain

STRIP_MM: Final = 22.5
"""Height of the strip with scale bar and norths."""

STACKED_MM: Final = 37.0
"""Height of the strip on a card, where the norths stand below the scale bar."""

_TEXT_MM: Final = 3.0
_WIDE_MM: Final = 165.0
_NEEDLES_MM: Final = 22.0
"""From the foot of the norths to the words beside them: the longest name and its needle."""
_LEAN_MM: Final = 10.0
_UNIT_MM: Final = 24.0
_LOW_ARROW_MM: Final = 17.0
"""From the arrow of a panel's strip to its right end, the words beside it within."""
_NAME_MM: Final = 4.6
_NARROW_NAME_MM: Final = 3.0
_NARROW_LABEL_MM: Final = 2.2
_NUMBER_MM: Final = 7.0
_NARROW_NUMBER_MM: Final = 4.0


@dataclass(frozen=True, slots=True)
class PageOutline:
    """The frame of one page of a larger map, as it lies on the map of all pages."""

    bounds: Bounds
    number: int


class MapField:
    """A map in its frame, at exact scale.

    Parameters
    ----------
    figure
        A walk whose metres are those of the terrain's grid, or one without stations.
    terrain
        The land.
    fit
        How it lies on paper.
    norths
        True and magnetic north from grid north.
    interval_m
        Height between contours; unasked, one that suits the land in the frame.
    with_shade
        Whether slopes away from the light are hatched.
    may_lack_land
        Whether a frame without a known height is drawn all the same, as a page of a larger map is.
    outlines
        Frames of pages to be drawn with their numbers.

    Raises
    ------
    MissingComplaint
        No height is known inside the frame.
    """

    LOW_STRIP_MM: ClassVar[float] = 10.6
    """Height of the strip of a panel."""

    def __init__(
        self,
        figure: WalkFigure,
        terrain: Terrain,
        fit: PageFit,
        norths: Norths,
        *,
        interval_m: float | None = None,
        with_shade: bool = True,
        may_lack_land: bool = False,
        outlines: Sequence[PageOutline] = (),
    ) -> None:
        self.fit = fit
        self.scale = 100.0 * fit.units_per_cm
        self.norths = norths
        self.crs = terrain.crs
        self.is_wide = self.has_room(fit.frame)
        self.land = _land(terrain, fit, interval_m, with_shade, may_lack_land)
        self.figure = cut_regions(figure, frame_bounds(fit))
        self.outlines = outlines
        self.walk, self.placement = self._laid()

    @staticmethod
    def has_room(frame: Box) -> bool:
        """Say whether the strip below a frame has room for the sentences of the grid."""
        return frame.right - frame.left >= _WIDE_MM

    def body(self) -> list[str]:
        """All that stands inside the frame and in the band of metres round it."""
        frame, is_small = self.fit.frame, is_narrow(self.fit.frame)
        land = [] if self.land is None else self.land.strokes()
        return [
            *land,
            *draw_grid(self.fit, _NARROW_LABEL_MM if is_small else LABEL_MM),
            *([] if self.land is None else self.land.heights(self._taken())),
            *self._casings(),
            # A page greys what is walked by its class while it is moved.
            *([svg.group(self.walk, class_="walk")] if self.walk else []),
            frame_line(frame),
            *self._drawn_outlines(),
            *written_labels(self.placement),
        ]

    def drawing(self, size_mm: tuple[float, float], title: str) -> str:
        """The field as a drawing of its own."""
        return svg.drawing(*size_mm, self.body(), title=title, description=self.description())

    def strip(self, left: float, right: float, top: float, *, with_words: bool = False) -> list[str]:
        """Draw the scale and the norths, with the sentences of the grid beside them if wished."""
        told = self.grid_sentences() if with_words else []
        words_mm = max((svg.text_width_mm(line, 2.6) for line in told), default=-4.0)
        is_low = is_narrow(self.fit.frame)
        foot = (right - words_mm - _NEEDLES_MM, top + (STACKED_MM - STRIP_MM if is_low else 0.0) + 18.0)
        # The number and its unit stand beyond the end of the bar, and the norths lean out beside their foot.
        longest_mm = (right if is_low else foot[0] - _LEAN_MM) - left - 3.0 - _UNIT_MM
        bar = symbols.scale_bar(
            left + 3, top + 5.0, self.fit.length_mm(1.0), "metre", min(longest_mm, 0.4 * (right - left))
        )
        scale = svg.text(left, top + 18.0, f"1:{written_metres(self.scale)}", 5.0, font_weight="bold")
        drawn = [bar, scale, *draw_north_needles(self.norths, *foot, 13.0)]
        if not with_words:
            return drawn
        millimetre = svg.text(
            left + 30, top + 18.0, f"1 mm is {self.scale / 1000.0:g} m", _TEXT_MM, fill=PENCIL
        )
        words = [
            svg.text(right, top + 3.4 + k * 1.25 * 2.6, line, 2.6, anchor="end")
            for k, line in enumerate(told)
        ]
        return [*drawn, millimetre, *words]

    def low_strip(self, width_mm: float) -> list[str]:
        """Draw the scale bar, and grid north beside it: what has room on every panel of a card."""
        arrow_x = width_mm - _LOW_ARROW_MM
        bar_mm = arrow_x - 3.0 - _UNIT_MM
        return [
            symbols.scale_bar(3.0, 3.0, self.fit.length_mm(1.0), "metre", bar_mm),
            symbols.north_arrow(arrow_x, self.LOW_STRIP_MM - 0.6, 9.0, "grid"),
        ]

    def strip_mm(self) -> float:
        """The height of the strip."""
        return STACKED_MM if is_narrow(self.fit.frame) else STRIP_MM

    def grid_sentences(self) -> list[str]:
        """Say which grid it is, how far apart its lines are, and how the norths stand to it."""
        side_mm = narrow_side_mm(self.fit)
        lines, crosses = grid_spacing_m(self.scale, side_mm), cross_spacing_m(self.scale, side_mm)
        between = "" if crosses == lines else f", crosses {crosses:g} m"
        return [
            f"Grid {self.crs}, in metres:",
            f"lines {lines:g} m{between} apart.",
            *self.norths.sentences(),
        ]

    def hands(self) -> list[Hand]:
        """The kinds of line that the land uses, each with its sample and its words."""
        return [] if self.land is None else self.land.hands()

    def description(self) -> str:
        """Tell the map to those who hear it read out."""
        west, south, east, north = (written_metres(side) for side in frame_bounds(self.fit))
        told = f"A map 1:{written_metres(self.scale)}, grid north up."
        return f"{told} {west} to {east} m east, {south} to {north} m north."

    def _laid(self) -> tuple[list[str], Placement]:
        if not self.figure.stations:
            return [], Placement((), (), ())
        name_mm = _NARROW_NAME_MM if is_narrow(self.fit.frame) else _NAME_MM
        numbers = [box for _, box in self._numbered()]
        return lay_walk(self.figure, self.fit, name_mm=name_mm, blocked=numbers)

    def _numbered(self) -> list[tuple[PageOutline, Box]]:
        """The outlines of pages, each with the box of its number in its upper left corner."""
        size_mm = _NARROW_NUMBER_MM if is_narrow(self.fit.frame) else _NUMBER_MM
        made = []
        for outline in self.outlines:
            west, _, _, north = outline.bounds
            x, y = self.fit.point(west, north)
            width = svg.text_width_mm(str(outline.number), size_mm)
            made.append((outline, Box(x + 1.0, y + 1.0, x + 1.0 + width, y + 1.0 + size_mm)))
        return made

    def _drawn_outlines(self) -> list[str]:
        drawn = []
        for outline, box in self._numbered():
            west, south, east, north = outline.bounds
            (x1, y1), (x2, y2) = self.fit.point(west, north), self.fit.point(east, south)
            size_mm = box.bottom - box.top
            place = (box.left, box.bottom - 0.15 * size_mm)
            drawn += [
                svg.rect(x1, y1, x2 - x1, y2 - y1, fill="none", stroke=svg.INK, stroke_width=0.45),
                svg.text(*place, str(outline.number), size_mm, halo_mm=0.5, font_weight="bold"),
            ]
        return drawn

    def _taken(self) -> list[Box]:
        """Boxes that the heights along contours leave free: the walk's labels, marks and legs."""
        fit, figure = self.fit, self.figure
        taken = [label.box for label in self.placement.labels] + [box for _, box in self._numbered()]
        if not figure.stations:
            return taken
        marks = (fit.point(s.east, s.north) for s in figure.stations)
        taken += [Box(x - 2, y - 2, x + 2, y + 2) for x, y in marks]
        pieces = list(line_segments(figure, stations_by_index(figure), fit))
        for region in figure.regions:
            ring = fit.points(region.outline)
            pieces += [(*start, *end) for start, end in pairwise([*ring, ring[0]])]
        return taken + [box for piece in pieces for box in _boxes_along(piece)]

    def _casings(self) -> list[str]:
        """Draw a rim of paper under the outline of every region, or it would be taken for a contour."""
        return [
            svg.polygon(self.fit.points(r.outline), fill="none", stroke=svg.PAPER, stroke_width=1.8)
            for r in self.figure.regions
        ]


def field_frame(size_mm: tuple[float, float]) -> Box:
    """The frame of a field of a size: all of it but the band of metres."""
    return Box(BAND_MM, BAND_MM, size_mm[0] - BAND_MM, size_mm[1] - BAND_MM)


def no_walk(title: str = "") -> WalkFigure:
    """A figure of the land alone.

    >>> no_walk("Cinder Fen").stations
    ()
    """
    return replace(WalkFigure("", "metre", "grid", ()), title=title)


def _land(
    terrain: Terrain, fit: PageFit, interval_m: float | None, with_shade: bool, may_lack_land: bool
) -> SheetLand | None:
    try:
        return SheetLand(terrain, fit, interval_m, with_shade)
    except MissingComplaint:
        if not may_lack_land:
            raise
        return None


def _boxes_along(piece: Segment) -> list[Box]:
    """Small boxes that cover a straight piece; one box round it all would bar half the sheet."""
    x1, y1, x2, y2 = piece
    count = max(1, math.ceil(math.hypot(x2 - x1, y2 - y1) / 2.0))
    shares = [(k + 0.5) / count for k in range(count)]
    middles = [(x1 + share * (x2 - x1), y1 + share * (y2 - y1)) for share in shares]
    return [Box(x - 1.0, y - 1.0, x + 1.0, y + 1.0) for x, y in middles]
