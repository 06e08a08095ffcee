"""Counts of a pace course as a learner hands them in."""

from __future__ import annotations

from pacewright.core.log.log_heading import Heading
from pacewright.core.log.travel_log import Cells, Leg, TravelLog, compose_log
from pacewright.course.course import Course
from pacewright.course.finish import Handed


def counted(course: Course, counts: list[float], card: int = 1, unit: str = "paces") -> TravelLog:
    legs = [
        Leg(Cells(f"{leg.azimuth_deg:g}", f"{count:g}", ""), (), azimuth_deg=leg.azimuth_deg, count=count)
        for leg, count in zip(course.card(card).legs * 2, counts, strict=False)
    ]
    return compose_log(Heading(count_unit=unit), legs)  # type: ignore[arg-type]


def handed(course: Course, counts: list[float], name: str = "Ada Quill", **more: object) -> Handed:
    return Handed(name, 1, counted(course, counts), **more)  # type: ignore[arg-type]
