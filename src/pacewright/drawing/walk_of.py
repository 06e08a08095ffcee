"""From a log and its reckoning to the figure that is drawn."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import normal_azimuth
from pacewright.core.log.remarks import Box, Estimated
from pacewright.core.log.travel_log import Leg, TravelLog
from pacewright.core.way.reckoning import Reckoning
from pacewright.core.way.regions import Region
from pacewright.core.way.way_back import WayBack
from pacewright.drawing.walk_figure import (
    FigureLeg,
    FigureRay,
    FigureRegion,
    FigureStation,
    FigureWayBack,
    WalkFigure,
)
from pacewright.wording.numbers import say_azimuth, say_length


def walk_of(
    log: TravelLog,
    reckoning: Reckoning,
    *,
    regions: tuple[Region, ...] = (),
    way: WayBack | None = None,
    caption: tuple[str, ...] = (),
) -> WalkFigure:
    """The figure of a log.

    Parameters
    ----------
    log, reckoning
        The log, and where its stations lie; the reckoning sets unit and north.
    regions
        Of stations.
    way
        The way back, drawn dashed; its region only in the walker's frame, where it is computed.
    caption
        Sentences under the drawing.
    """
    outlines = [FigureRegion(_ring(region.outline())) for region in regions]
    back = None
    if way is not None and way.count:
        if reckoning.frame.kind == "walker":
            outlines.append(FigureRegion(_ring(way.region.outline()), "", "arrival"))
            back = way_back_line(log, reckoning.place, way)
        elif way.to_station is not None:
            back = way_back_line(log, reckoning.place, way)
    places = reckoning.place.tolist()
    return WalkFigure(
        title=log.heading.title or "Travel log",
        unit=reckoning.frame.unit,
        azimuth_reference=reckoning.frame.azimuth_reference,
        stations=tuple(
            FigureStation(k, name, *place)
            for k, (name, place) in enumerate(zip(reckoning.names, places, strict=True))
        ),
        legs=tuple(_leg(k, leg, reckoning) for k, leg in enumerate(log.legs, start=1)),
        regions=tuple(outlines),
        rays=tuple(
            FigureRay(
                station, normal_azimuth(seen.azimuth_deg + reckoning.frame.sighting_turn_deg), seen.name
            )
            for station, seen in log.sightings()
        ),
        way_back=back,
        caption=caption,
    )


def way_back_line(log: TravelLog, place: NDArray[np.float64], way: WayBack) -> FigureWayBack | None:
    """The way back as a line, labelled as it is walked; None if it has no length."""
    if way.count == 0:
        return None
    azimuth = say_azimuth(way.azimuth_deg, log.heading.azimuth_unit)
    here = place[way.from_station]
    there = way.region.center if way.to_station is None else place[way.to_station]
    ends = _ring(np.stack([here, there]))
    return FigureWayBack(ends, f"back {azimuth}, {say_length(way.count, way.unit)}")


def _ring(points: NDArray[np.float64]) -> tuple[tuple[float, float], ...]:
    return tuple((east, north) for east, north in points.tolist())


def _leg(number: int, leg: Leg, reckoning: Reckoning) -> FigureLeg:
    if not leg.remarks:
        return FigureLeg(number - 1, number)
    # A box was counted on the ground of its leg, and is drawn to the leg's own scale.
    scale = float(reckoning.length[number - 1]) / leg.count if leg.count else reckoning.frame.units_per_count
    boxes: tuple[Box, ...] = leg.boxes
    boxings = tuple((box.side, box.offset * scale) for box in boxes)
    return FigureLeg(number - 1, number, leg.find(Estimated) is not None, boxings)
