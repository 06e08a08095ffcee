"""A log that does not close, drawn: by how much, what it may have been, and what adjusting makes of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from pacewright.answers.closing import as_written, corrected_stations
from pacewright.core.adjust.adjustment import Adjustment
from pacewright.core.adjust.closure import Closure
from pacewright.core.adjust.rule_adjustment import RuleAdjustment
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.slips.mistakes import Findings
from pacewright.core.slips.place_mixture import Island
from pacewright.core.way.reckoning import Reckoning
from pacewright.core.way.regions import Region
from pacewright.drawing.walk_figure import FigureAlternative, FigureRegion, WalkFigure
from pacewright.drawing.walk_map import draw_walk_map
from pacewright.drawing.walk_of import walk_of
from pacewright.wording.findings import say_percent

MOST_ALTERNATIVES: Final = 4
PAGE_MM: Final = (180.0, 180.0)
_LEAST_CHANCE: Final = 0.02
_MOVED: Final = 1e-6
"""Of the width of the figure: stations that moved less stand where they stood."""


def draw_findings(
    findings: Findings,
    closures: Sequence[Closure],
    islands: Sequence[Island] = (),
    caption: tuple[str, ...] = (),
    page_mm: tuple[float, float] = PAGE_MM,
    *,
    on_sheet: bool = False,
) -> str:
    """Draw a log as written, its largest misclosure as an arrow, and the likeliest suspects as other figures.

    Parameters
    ----------
    findings
        What the search for a mistake said.
    closures
        Those of the same log.
    islands
        Where the last station may lie; drawn where there are several and a mistake is suspected.
    caption
        Sentences under the drawing.
    page_mm
        Width and height of the drawing without its key and its caption.
    on_sheet
        Whether it stands on a printed sheet, as `draw_walk_map` takes it.
    """
    figure = replace(figure_of_findings(findings, closures, islands), caption=caption)
    return draw_walk_map(figure, page_mm, on_sheet=on_sheet)


def figure_of_findings(
    findings: Findings, closures: Sequence[Closure], islands: Sequence[Island] = ()
) -> WalkFigure:
    """What `draw_findings` draws."""
    reckoning = as_written(findings)
    doubted = findings.observed and findings.verdict != "none"
    figure: WalkFigure = walk_of(findings.posterior.log, reckoning)
    return replace(
        figure,
        arrow=_widest_gap(reckoning, closures),
        alternatives=_alternatives(findings) if doubted else (),
        regions=_island_regions(islands) if doubted and len(islands) > 1 else (),
    )


def draw_adjusted(
    log: TravelLog,
    adjustment: Adjustment | RuleAdjustment,
    probability: float = DEFAULT_PROBABILITY,
    caption: tuple[str, ...] = (),
    page_mm: tuple[float, float] = PAGE_MM,
    *,
    on_sheet: bool = False,
) -> str:
    """Draw a log as adjusted, and as walked in thin broken lines behind it.

    Least squares says how sure a station is: the named ones and the last are drawn with their regions.
    """
    figure = replace(figure_of_adjusted(log, adjustment, probability), caption=caption)
    return draw_walk_map(figure, page_mm, on_sheet=on_sheet)


def figure_of_adjusted(
    log: TravelLog, adjustment: Adjustment | RuleAdjustment, probability: float = DEFAULT_PROBABILITY
) -> WalkFigure:
    """What `draw_adjusted` draws."""
    regions = _adjusted_regions(adjustment, probability) if isinstance(adjustment, Adjustment) else ()
    before = adjustment.reckoning
    after = replace(before, place=adjustment.place)
    moved, wide = np.abs(after.place - before.place).max(), np.ptp(before.place, axis=0).max()
    # Where nothing moved one line would lie on the other, and its name beside the last station.
    walked = (FigureAlternative(before.place.tolist(), 1.0, "as walked"),) if moved > _MOVED * wide else ()
    figure: WalkFigure = walk_of(log, after, regions=regions)
    return replace(figure, alternatives=walked)


def _adjusted_regions(adjustment: Adjustment, probability: float) -> tuple[Region, ...]:
    names, covariances = adjustment.reckoning.names, adjustment.covariances()
    return tuple(
        Region(adjustment.place[k], covariances[k], probability, "ellipse", adjustment.place[0])
        for k, name in enumerate(names)
        if k > 0 and (name or k == len(names) - 1)
    )


def _widest_gap(
    reckoning: Reckoning, closures: Sequence[Closure]
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    if not closures:
        return None
    worst = max(closures, key=lambda closure: closure.length)
    east, north = (float(part) for part in reckoning.place[worst.to_station])
    return (east, north), (east - worst.east, north - worst.north)


def _alternatives(findings: Findings) -> tuple[FigureAlternative, ...]:
    corrected = corrected_stations(findings, MOST_ALTERNATIVES, _LEAST_CHANCE)
    return tuple(FigureAlternative(stations.place.tolist(), chance) for stations, chance in corrected)


def _island_regions(islands: Sequence[Island]) -> tuple[FigureRegion, ...]:
    return tuple(
        FigureRegion(island.region().outline().tolist(), say_percent(island.probability), "suspect")
        for island in islands
    )
