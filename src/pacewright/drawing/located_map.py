"""The likeliest place of a search on the map: the figure of the log there, to exact scale."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pacewright.answers.locate import LocateAnswer, PlaceFound
from pacewright.core.way.regions import Region
from pacewright.drawing.map_grid import Norths
from pacewright.drawing.terrain_map import A4_MM, draw_terrain_map
from pacewright.drawing.walk_figure import FigureLeg, FigureRegion, FigureStation, WalkFigure
from pacewright.wording.locating import LOCATE_CAUTION, say_chance_of, say_look_for

WORTH_DRAWING = 0.1
"""The likeliest place is drawn whatever its chance, another from this chance up."""


def drawn_places(answer: LocateAnswer) -> tuple[int, ...]:
    """The numbers of the places that are worth a drawing, from 0."""
    return tuple(k for k, one in enumerate(answer.candidates) if k == 0 or one.probability >= WORTH_DRAWING)


def draw_located(
    answer: LocateAnswer,
    number: int = 0,
    *,
    scale: float | None = None,
    page_mm: tuple[float, float] = A4_MM,
) -> str:
    """Draw a likely place with its figure on the map, and say below what to look for there.

    Parameters
    ----------
    answer
        The search.
    number
        Which place, from 0.
    scale, page_mm
        As for a map sheet.
    """
    place = answer.candidates[number]
    title = (
        f"{answer.log.heading.title or 'Travel log'}: place {number + 1}, {say_chance_of(place.probability)}"
    )
    caption = (*say_look_for(answer, number), LOCATE_CAUTION)
    figure = replace(_figure(answer, place), title=title, caption=caption)
    return draw_terrain_map(figure, answer.terrain, scale, page_mm, norths=Norths())


def _figure(answer: LocateAnswer, place: PlaceFound) -> WalkFigure:
    names = list(answer.log.station_names())
    names[0], names[-1] = names[0] or "start?", names[-1] or "now?"
    stations = [
        FigureStation(k, name, float(east), float(north))
        for k, (name, (east, north)) in enumerate(zip(names, place.stations_m, strict=True))
    ]
    # The place itself stands at the end of the figure, with the region of what is believed there.
    stations[-1] = replace(stations[-1], east=place.now_m[0], north=place.now_m[1])
    middle = np.array(place.now_m)
    region = Region(middle, place.covariance_m2, answer.region.holds, "ellipse", middle)
    return WalkFigure(
        title="",
        unit="metre",
        azimuth_reference="grid",
        stations=tuple(stations),
        legs=tuple(FigureLeg(k, k + 1) for k in range(len(names) - 1)),
        regions=(FigureRegion(region.outline().tolist(), say_chance_of(region.probability)),),
    )
