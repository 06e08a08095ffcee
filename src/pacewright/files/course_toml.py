"""A practice course from and to TOML."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final, TypeVar, cast

import tomli_w

from pacewright.core.compass import AzimuthReference
from pacewright.core.pace.walker import Slope
from pacewright.core.plausible import FACT, PLACE_M, Bounds, check_bounds
from pacewright.course.barred_land import BarredArea
from pacewright.course.course import (
    CLOSES_WITHIN_M,
    Card,
    Course,
    CourseKind,
    CourseLeg,
    Drill,
    Fact,
    Obstacle,
    Post,
    Side,
)
from pacewright.exceptions import (
    Complaint,
    FormatComplaint,
    MissingComplaint,
    OutputComplaint,
    ValueComplaint,
)
from pacewright.files.outing_toml import read_finding, read_safety, read_timing, write_outing
from pacewright.files.toml_tables import dotted, known_keys, number_at, parse_toml, shown, text_at

Made = TypeVar("Made")

_KIND: Final = "a course file (TOML), such as pacewright course set writes"
_MEND: Final = "Correct it, or let pacewright course set write the file"
_COURSE_KEYS: Final = (
    "title",
    "kind",
    "azimuth_reference",
    "seed",
    "tolerance_m",
    "fact",
    "post",
    "barred",
    "card",
    "safety",
    "timing",
    "finding",
)
_BARRED_KEYS: Final = ("name", "is_line", "corners_m")
_POST_KEYS: Final = ("name", "east_m", "north_m", "sd_m", "note", "word")
_CARD_KEYS: Final = ("number", "start", "ends", "drill", "start_minute", "climb_m", "leg")
_LEG_KEYS: Final = ("azimuth_deg", "length_m", "ends", "ground", "slope", "obstacle")
_OBSTACLE_KEYS: Final = ("way", "side", "at_m", "past_m", "offset_m")
_FACT_KEYS: Final = ("name", "value", "unit")
_ANY: Final = Bounds("a number that a course holds", PLACE_M.least, PLACE_M.most)
_MOST_WHOLE: Final = 2**63 - 1
"""TOML holds no larger whole number."""


def read_course(data: bytes, file: str | None = None) -> Course:
    """Read a course file.

    A key that is not known is refused: a slip in its name must not put a default in silently.

    Parameters
    ----------
    data
        The file's bytes.
    file
        Its name, for complaints.

    Raises
    ------
    Complaint
        What is wrong, with the file and the dotted key (`card.3.leg.2.length_m` is the second leg of
        the third card), and what to do.
    """
    try:
        return _course(parse_toml(data, _KIND, _MEND))
    except Complaint as complaint:
        raise complaint.at(file=file) from None


def write_course(course: Course) -> bytes:
    """Write a course file; reading it gives the same course.

    Raises
    ------
    OutputComplaint
        The course holds what a course file cannot.
    """
    try:
        data = tomli_w.dumps(_table(course)).encode("utf-8")
        same = _course(parse_toml(data, _KIND, _MEND)) == course
    except Complaint as complaint:
        raise OutputComplaint(complaint.what, complaint.do, complaint.where) from None
    except UnicodeEncodeError:
        same = False
    if not same:
        raise OutputComplaint(
            "this course does not come back from a course file as it is",
            "Keep names in letters that can be written, and the seed below 2 to the 63",
        )
    return data


def _course(table: Mapping[str, Any]) -> Course:
    known_keys(table, _COURSE_KEYS, "")
    return Course(
        title=text_at(table, "title", ""),
        kind=cast(CourseKind, _needed_text(table, "kind", "")),
        azimuth_reference=cast(AzimuthReference, _needed_text(table, "azimuth_reference", "")),
        posts=tuple(_each(table, "post", "", _post)),
        cards=tuple(_each(table, "card", "", _card)),
        seed=_whole(table, "seed", "", 0),
        facts=tuple(_each(table, "fact", "", _fact)),
        tolerance_m=_number_or(table, "tolerance_m", "", CLOSES_WITHIN_M),
        barred=tuple(_each(table, "barred", "", _barred)),
        safety=_made(read_safety, table.get("safety", {}), "safety"),
        timing=_made(read_timing, table.get("timing", {}), "timing"),
        finding=_made(read_finding, table["finding"], "finding") if "finding" in table else None,
    )


def _barred(table: Mapping[str, Any], path: str) -> BarredArea:
    known_keys(table, _BARRED_KEYS, path)
    is_line = table.get("is_line", False)
    if not isinstance(is_line, bool):
        raise FormatComplaint(f"{shown(is_line)} is neither true nor false", "Write true for a line").at(
            column=dotted(path, "is_line")
        )
    corners = table.get("corners_m", [])
    for pair in corners if isinstance(corners, list) else [None]:
        if not isinstance(pair, list) or [type(part) in (int, float) for part in pair] != [True, True]:
            raise FormatComplaint(
                "a corner is no pair of metres east and north", "Write corners_m = [[0, 0], [10, 0], [0, 10]]"
            ).at(column=dotted(path, "corners_m"))
        for part in pair:
            check_bounds(part, PLACE_M, "a corner")
    return BarredArea(
        _needed_text(table, "name", path),
        tuple((float(east), float(north)) for east, north in corners),
        is_line,
    )


def _post(table: Mapping[str, Any], path: str) -> Post:
    known_keys(table, _POST_KEYS, path)
    return Post(
        name=_needed_text(table, "name", path),
        place_m=(_needed(table, "east_m", path), _needed(table, "north_m", path)),
        sd_m=_number_or(table, "sd_m", path, 1.0),
        note=text_at(table, "note", path),
        word=text_at(table, "word", path),
    )


def _card(table: Mapping[str, Any], path: str) -> Card:
    known_keys(table, _CARD_KEYS, path)
    return Card(
        number=_whole(table, "number", path, None),
        start=_needed_text(table, "start", path),
        legs=tuple(_each(table, "leg", path, _leg)),
        ends=_needed_text(table, "ends", path),
        drill=cast(Drill, text_at(table, "drill", path)),
        start_minute=_number_or(table, "start_minute", path, 0.0),
        climb_m=_number_or(table, "climb_m", path, 0.0),
    )


def _leg(table: Mapping[str, Any], path: str) -> CourseLeg:
    known_keys(table, _LEG_KEYS, path)
    return CourseLeg(
        azimuth_deg=_needed(table, "azimuth_deg", path),
        length_m=_needed(table, "length_m", path),
        ends=text_at(table, "ends", path) if "ends" in table else None,
        ground=text_at(table, "ground", path),
        slope=cast(Slope, text_at(table, "slope", path)) if "slope" in table else None,
        obstacle=_made(_obstacle, table["obstacle"], dotted(path, "obstacle"))
        if "obstacle" in table
        else None,
    )


def _obstacle(table: Mapping[str, Any], path: str) -> Obstacle:
    known_keys(table, _OBSTACLE_KEYS, path)
    return Obstacle(
        way=cast(Any, _needed_text(table, "way", path)),
        side=cast(Side, _needed_text(table, "side", path)),
        at_m=_needed(table, "at_m", path),
        past_m=_needed(table, "past_m", path),
        offset_m=_number_or(table, "offset_m", path, 0.0),
    )


def _fact(table: Mapping[str, Any], path: str) -> Fact:
    known_keys(table, _FACT_KEYS, path)
    return Fact(
        _needed_text(table, "name", path), _needed(table, "value", path, FACT), text_at(table, "unit", path)
    )


def _each(
    table: Mapping[str, Any], key: str, path: str, make: Callable[[Mapping[str, Any], str], Made]
) -> list[Made]:
    """Make something of every table of a list of tables; they are numbered from 1."""
    rows = table.get(key, [])
    if not isinstance(rows, list):
        raise FormatComplaint(f"{key} is not a list of tables", f"Write [[{key}]] before each of them").at(
            column=dotted(path, key)
        )
    return [_made(make, row, f"{dotted(path, key)}.{number}") for number, row in enumerate(rows, start=1)]


def _made(make: Callable[[Mapping[str, Any], str], Made], row: object, path: str) -> Made:
    if not isinstance(row, dict):
        raise FormatComplaint(f"{shown(row)} is not a table", "Write its keys, each with a value").at(
            column=path
        )
    try:
        return make(row, path)
    except Complaint as complaint:
        # What a table is refused for as a whole stands at the table.
        raise complaint.at(column=path) from None


def _needed(table: Mapping[str, Any], key: str, path: str, bounds: Bounds = _ANY) -> float:
    number = number_at(table, key, path, bounds)
    if number is None:
        raise _missing(key, path)
    return number


def _needed_text(table: Mapping[str, Any], key: str, path: str) -> str:
    if key not in table:
        raise _missing(key, path)
    return text_at(table, key, path)


def _number_or(table: Mapping[str, Any], key: str, path: str, default: float) -> float:
    number = number_at(table, key, path, _ANY)
    return default if number is None else number


def _whole(table: Mapping[str, Any], key: str, path: str, default: int | None) -> int:
    value = table.get(key, default)
    if value is None:
        raise _missing(key, path)
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= _MOST_WHOLE:
        raise ValueComplaint(f"{shown(value)} is not a whole number, 0 or more", "Write one").at(
            column=dotted(path, key)
        )
    return value


def _missing(key: str, path: str) -> Complaint:
    return MissingComplaint(f"{key} is missing", f"Write {key} and its value").at(column=dotted(path, key))


def _table(course: Course) -> dict[str, Any]:
    return {
        "title": course.title,
        "kind": course.kind,
        "azimuth_reference": course.azimuth_reference,
        "seed": course.seed,
        **({} if course.tolerance_m == CLOSES_WITHIN_M else {"tolerance_m": float(course.tolerance_m)}),
        **write_outing(course),
        "fact": [{"name": fact.name, "value": float(fact.value), "unit": fact.unit} for fact in course.facts],
        "post": [_post_table(post) for post in course.posts],
        **({"barred": [_barred_table(one) for one in course.barred]} if course.barred else {}),
        "card": [_card_table(card) for card in course.cards],
    }


def _barred_table(one: BarredArea) -> dict[str, Any]:
    corners = [[float(east), float(north)] for east, north in one.corners_m]
    return {"name": one.name, **_told(is_line=one.is_line), "corners_m": corners}


def _post_table(post: Post) -> dict[str, Any]:
    east_m, north_m = post.place_m
    return {
        "name": post.name,
        "east_m": float(east_m),
        "north_m": float(north_m),
        "sd_m": float(post.sd_m),
        **_told(note=post.note, word=post.word),
    }


def _card_table(card: Card) -> dict[str, Any]:
    return {
        "number": card.number,
        "start": card.start,
        "ends": card.ends,
        **_told(drill=card.drill, start_minute=float(card.start_minute), climb_m=float(card.climb_m)),
        "leg": _leg_tables(card.legs),
    }


def _leg_tables(legs: Sequence[CourseLeg]) -> list[dict[str, Any]]:
    tables = []
    for leg in legs:
        table: dict[str, Any] = {"azimuth_deg": float(leg.azimuth_deg), "length_m": float(leg.length_m)}
        if leg.ends is not None:
            table["ends"] = leg.ends
        table |= _told(ground=leg.ground, slope=leg.slope)
        if (bar := leg.obstacle) is not None:
            table["obstacle"] = {
                "way": bar.way,
                "side": bar.side,
                "at_m": float(bar.at_m),
                "past_m": float(bar.past_m),
                **_told(offset_m=float(bar.offset_m)),
            }
        tables.append(table)
    return tables


def _told(**values: object) -> dict[str, object]:
    """The keys that hold something."""
    return {key: value for key, value in values.items() if value}
