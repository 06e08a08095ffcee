"""Plotting by hand: a protractor and rulers at exact scale, a check line, and squared paper."""

from __future__ import annotations

import math
from typing import Final

from pacewright.core.compass import AzimuthUnit
from pacewright.core.pace.walker import Walker
from pacewright.drawing.protractor import draw_protractor
from pacewright.drawing.rulers import Ruler, draw_rulers, squared_paper
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import (
    Block,
    at_exact_scale,
    caution,
    fields,
    heading,
    keep,
    new_page,
    text,
    texts,
)
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.sheets import PAPER_CAUTION

DEFAULT_SCALE: Final = 5000.0
PACES_PER_CM: Final = 50.0
"""Of the ruler that plots a log in its own paces."""

_SCALES: Final = (500.0, 250_000.0)
_LARGEST_RADIUS_MM: Final = 62.0
_RULERS_MM: Final = 68.0
_CUT: Final = (
    "Cut out along the rim and pierce the cross in the middle with a needle: the thread or the pencil goes "
    "through there. To see a map through it, copy this page to film at 100 % and measure the check line."
)
_STEPS: Final = (
    "1. Draw a north line through the start. Lay the middle of the protractor on the start, its top "
    "along north.",
    "2. Mark the azimuth at the rim, take the protractor away, and draw the leg to that mark, its "
    "count long.",
    "3. From its end draw a north line beside the first, and so on to the last station.",
    "4. The way back: lay the protractor on the last station and read where the start lies; the ruler gives "
    "the count. Inside every azimuth stands its back azimuth.",
    "5. Plot a log in its own paces and its own north throughout. Only for a map turn paces into metres.",
)


def plotting_sheet(
    paper: Paper, walker: Walker, scale: float = DEFAULT_SCALE, unit: AzimuthUnit = "degrees"
) -> Sheet:
    """A protractor, rulers in paces and metres, and how to plot a log with them.

    Parameters
    ----------
    paper
        What they are printed on.
    walker
        Whose paces the ruler at the scale of the map is in; without a pace count it is left out.
    scale
        Of the map, such as 5000 for 1:5000.
    unit
        Of the protractor.

    Raises
    ------
    ValueComplaint
        The scale is none of a map that is walked by.
    """
    if not (math.isfinite(scale) and _SCALES[0] <= scale <= _SCALES[1]):
        raise ValueComplaint(
            f"1:{scale:g} is not a scale to plot a walk at",
            f"Give a number from {_SCALES[0]:.0f} to {_SCALES[1]:.0f}, such as 5000",
        )
    width, height = paper.room_mm
    # On a flat sheet rulers and protractor share the first page.
    taken = 0.0 if paper.is_card else _RULERS_MM
    radius = min(_LARGEST_RADIUS_MM, width / 2 - 0.6, (height - taken) / 2 - 0.6)
    dial = at_exact_scale(draw_protractor(radius, unit), paper.room_mm, "a protractor")
    check_mm = 100.0 if width > 110 else 50.0
    ruled = at_exact_scale(
        draw_rulers(_rulers(walker, scale, paper), width, check_mm), paper.room_mm, "the rulers"
    )
    steps: list[Block] = [
        keep([heading("A log on paper"), *texts(_STEPS, size_em=0.92), caution(PAPER_CAUTION)])
    ]
    if not paper.is_card:
        blank = squared_paper(width, math.floor(height / 10) * 10.0 - 12.0)
        asked = fields([[("North up the page is", "", 1.0), ("10 mm are", "", 1.0), ("Log", "", 1.4)]], 6.0)
        side = text(f"A heavy square is 10 mm: {PACES_PER_CM:g} own paces on the first ruler.")
        steps += [new_page(), heading("Plot"), asked, side]
        steps += [at_exact_scale(blank, paper.room_mm, "squared paper")]
    told = [text("Print at 100 %, not fitted to the page; measure the check line first.", bold=True)]
    cut = text(_CUT, size_em=0.9)
    return sheet("Protractor and rulers", [*told, ruled, dial, cut, *steps])


def _rulers(walker: Walker, scale: float, paper: Paper) -> list[Ruler]:
    rulers = [
        Ruler(f"own paces, 10 mm = {PACES_PER_CM:g} paces", 10.0 / PACES_PER_CM),
        Ruler(f"metres at 1:{scale:g}", 1000.0 / scale),
    ]
    if walker.per_100_m is not None:
        # A long name would make the letters of a short ruler small.
        whose = f" of {walker.name}" if walker.name and not paper.is_card else ""
        label = f"paces{whose} at 1:{scale:g} ({walker.per_100_m:g} to 100 m)"
        rulers.append(Ruler(label, 1000.0 / scale * walker.pace_m()))
    return rulers
