"""The tables of a course file on safety: the strip, the expected return, the search for posts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final

from pacewright.core.plausible import PLACE_M, Bounds
from pacewright.course.course import Course
from pacewright.course.finding_chance import Finding
from pacewright.course.safety import Safety, Timing
from pacewright.files.toml_tables import known_keys, number_at, text_at

_ANY: Final = Bounds("a number that a course holds", PLACE_M.least, PLACE_M.most)
_SAFETY_KEYS: Final = (
    "backstop",
    "backstop_azimuth_deg",
    "backstop_within_m",
    "back_by",
    "recall",
    "call",
)
_TIMING_KEYS: Final = ("metres_per_hour", "climb_m_per_hour", "at_post_min", "search_min")
_FINDING_KEYS: Final = ("sighting_m", "search_m")


def read_safety(table: Mapping[str, Any], path: str) -> Safety:
    """Read the strip of a card; what is left out is empty."""
    known_keys(table, _SAFETY_KEYS, path)
    return Safety(
        backstop=text_at(table, "backstop", path),
        backstop_azimuth_deg=number_at(table, "backstop_azimuth_deg", path, _ANY),
        backstop_within_m=number_at(table, "backstop_within_m", path, _ANY),
        back_by=text_at(table, "back_by", path),
        recall=text_at(table, "recall", path),
        call=text_at(table, "call", path),
    )


def read_timing(table: Mapping[str, Any], path: str) -> Timing:
    """Read what a return is reckoned with; what is left out is as usual."""
    known_keys(table, _TIMING_KEYS, path)
    return Timing(**_numbers(table, _TIMING_KEYS, path))


def read_finding(table: Mapping[str, Any], path: str) -> Finding:
    """Read how far a post is seen and searched for; what is left out is as usual."""
    known_keys(table, _FINDING_KEYS, path)
    return Finding(**_numbers(table, _FINDING_KEYS, path))


def _numbers(table: Mapping[str, Any], keys: tuple[str, ...], path: str) -> dict[str, float]:
    found = {key: number_at(table, key, path, _ANY) for key in keys}
    return {key: value for key, value in found.items() if value is not None}


def write_outing(course: Course) -> dict[str, Any]:
    """The tables, those left out that hold only what is usual."""
    safety = {name: _plain(value) for name, value in asdict(course.safety).items() if value not in ("", None)}
    timing = {} if course.timing == Timing() else {k: float(v) for k, v in asdict(course.timing).items()}
    finding = {} if course.finding is None else {k: float(v) for k, v in asdict(course.finding).items()}
    tables = {"safety": safety, "timing": timing, "finding": finding}
    return {name: table for name, table in tables.items() if table}


def _plain(value: str | float) -> str | float:
    return value if isinstance(value, str) else float(value)
