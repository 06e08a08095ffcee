"""Problems worked in the head or with a pencil: back azimuths, the cord, norths, boxing, aiming off."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from pacewright.core.compass import FULL_CIRCLE, back_azimuth, normal_azimuth
from pacewright.core.pace.tally import tally_of_count
from pacewright.course.course import DETOUR_DEG
from pacewright.course.drills.problem import Answer, Problem
from pacewright.ground.north import NorthRelation, convert_azimuth

HALF_DEG: Final = 0.5
SIDES: Final = ("left", "right")
_BEARINGS: Final = {1: 10, 2: 1, 3: 1}
"""Azimuths are of so many whole degrees, by level."""
_AIM_OFF_DEG: Final = {1: (10,), 2: (6, 7, 8, 9, 10, 11, 12), 3: (5, 6, 7, 8, 9, 11, 12)}
_WAYS: Final = {
    1: ("right_angle", "sound", "thumb"),
    2: ("mils", "sound", "tangent", "thumb"),
    3: ("base_line", "mils", "tangent"),
}
_BY_HAND: Final = 0.05
"""A distance worked by hand, with rules of thumb, counts as right within a twentieth."""


def draw_azimuth(level: int, rng: np.random.Generator) -> int:
    """Draw an azimuth in whole degrees, round ones at the first level."""
    step = _BEARINGS[level]
    return int(rng.integers(0, 360 // step)) * step


def back_problem(level: int, rng: np.random.Generator) -> Problem:
    """Ask for a back azimuth: round degrees, any degrees, mils."""
    if level < 3:
        azimuth = draw_azimuth(level, rng)
        return Problem(
            "back", (Answer("back_azimuth", back_azimuth(azimuth), "deg"),), "deg", {"azimuth": azimuth}
        )
    mils = int(rng.integers(0, FULL_CIRCLE["mils"] // 10)) * 10
    half = FULL_CIRCLE["mils"] // 2
    answer = Answer("back_azimuth", (mils + half) % FULL_CIRCLE["mils"], "mils")
    return Problem("back", (answer,), "mils", {"azimuth": mils})


def cord_problem(level: int, rng: np.random.Generator) -> Problem:
    """Ask how a count stands on the cord, or at the third level which count stands there."""
    count = int(rng.integers(105, 990 if level == 1 else 4990))
    tally = tally_of_count(float(count))
    setting = {"thousands": float(tally.thousands), "hundreds": float(tally.hundreds), "paces": tally.paces}
    if level == 3:
        return Problem("cord", (Answer("count", float(count), "pace"),), "read", setting)
    answers = tuple(Answer(name, value, "number") for name, value in setting.items())
    return Problem("cord", answers, "set", {"count": count})


def declination_problem(level: int, rng: np.random.Generator) -> Problem:
    """Ask for an azimuth by another north: true and magnetic, both ways; at the third level grid as well."""
    east = (1 if rng.random() < 0.5 else -1) * int(rng.integers(3, 19))
    declination = east + (0.5 if level > 1 and rng.random() < 0.5 else 0.0)
    convergence = 0.0 if level < 3 else float(rng.choice([-2.0, -1.5, -1.0, 1.0, 1.5, 2.0]))
    other = "true" if level < 3 else "grid"
    to_magnetic = bool(rng.random() < 0.5)
    azimuth = draw_azimuth(level, rng)
    norths = (other, "magnetic") if to_magnetic else ("magnetic", other)
    relation = NorthRelation(declination, convergence)
    found = convert_azimuth(float(azimuth), *norths, relation)  # type: ignore[arg-type]
    given = {"azimuth": azimuth, "declination": declination, "convergence": convergence}
    answer = Answer(f"{norths[1]}_azimuth", found.to_deg, "deg", HALF_DEG)
    return Problem("declination", (answer,), f"{norths[0]}_to_{norths[1]}", given)


def box_problem(level: int, rng: np.random.Generator) -> Problem:
    """Ask for the way round an obstacle: boxed; at the third level by the two sides of a triangle as well."""
    azimuth, side = draw_azimuth(level, rng), int(rng.integers(2))
    sense = 1.0 if SIDES[side] == "right" else -1.0
    is_detour = level == 3 and bool(rng.random() < 0.5)
    total, at = int(rng.integers(30, 60)) * 10, int(rng.integers(5, 15)) * 10
    past, offset = int(rng.integers(4, 11)) * 10, int(rng.integers(3, 7)) * 10
    turn = DETOUR_DEG if is_detour else 90.0
    out, back = normal_azimuth(azimuth + sense * turn), normal_azimuth(azimuth - sense * turn)
    given = {"azimuth": azimuth, "count": total, "at": at, "past": past, "offset": offset, "side": side}
    answers = (
        Answer("out_azimuth", out, "deg"),
        Answer("return_azimuth", back, "deg"),
        Answer("still_to_go", float(total - at - past), "pace"),
    )
    return Problem("box", answers, "detour" if is_detour else "box", given)


def aim_off_problem(level: int, rng: np.random.Generator) -> Problem:
    """Ask for the azimuth beside the target, how far off the line is met, and which way to turn there.

    The line runs square to the way. At the third level the offset is given and the angle is asked.
    """
    azimuth, side = draw_azimuth(level, rng), int(rng.integers(2))
    count = int(rng.integers(4, 16)) * 100
    off_deg = int(rng.choice(_AIM_OFF_DEG[level]))
    offset = count * math.tan(math.radians(off_deg))
    turn = Answer("turn", float(1 - side), "word", choices=SIDES)
    if level == 3:
        shown = round(offset / 10.0) * 10
        angle = math.degrees(math.atan2(shown, count))
        given = {"azimuth": azimuth, "count": count, "offset": shown, "side": side}
        return Problem("aim_off", (Answer("angle", angle, "deg", 1.0), turn), "angle", given)
    aimed = normal_azimuth(azimuth + (off_deg if SIDES[side] == "right" else -off_deg))
    answers = (
        Answer("aimed_azimuth", aimed, "deg"),
        Answer("beside", offset, "pace", float(max(5, math.ceil(2.0 * _BY_HAND * offset)))),
        turn,
    )
    return Problem(
        "aim_off", answers, "aim", {"azimuth": azimuth, "count": count, "off": off_deg, "side": side}
    )


def range_problem(level: int, rng: np.random.Generator, number: int) -> Problem:
    """Ask for a distance by a way of ranging; the ways of the level come in turn."""
    ways = (
        ("right_angle", "sound", "thumb"),
        ("mils", "sound", "tangent", "thumb"),
        ("base_line", "mils", "tangent"),
    )
    return _RANGES[ways[level - 1][number % len(ways[level - 1])]](rng)


def _found(variant: str, value: float, unit: str, **given: float) -> Problem:
    answer = Answer("distance", value, unit, float(math.ceil(_BY_HAND * value)))  # type: ignore[arg-type]
    return Problem("range", (answer,), variant, given)


def _right_angle(rng: np.random.Generator) -> Problem:
    start, base = draw_azimuth(2, rng), int(rng.integers(4, 16)) * 10
    return _found("right_angle", float(base), "pace", start=start, end=(start - 45) % 360, base=base)


def _tangent(rng: np.random.Generator) -> Problem:
    start, base = draw_azimuth(2, rng), int(rng.integers(4, 16)) * 10
    turn = int(rng.choice([22, 27, 31, 35, 40, 50, 55]))
    width = base / math.tan(math.radians(turn))
    return _found("tangent", width, "pace", start=start, end=(start - turn) % 360, base=base)


def _sound(rng: np.random.Generator) -> Problem:
    from pacewright.core.ranging.ranging_standing import speed_of_sound_mps

    delay = int(rng.integers(15, 90)) / 10.0
    return _found("sound", delay * speed_of_sound_mps(15.0), "m", delay=delay)


def _thumb(rng: np.random.Generator) -> Problem:
    jump = int(rng.integers(4, 40)) * 5
    return _found("thumb", 10.0 * jump, "m", jump=jump)


def _mils(rng: np.random.Generator) -> Problem:
    size, angle = int(rng.integers(2, 13)), int(rng.integers(4, 41))
    return _found("mils", 1000.0 * size / angle, "m", size=size, angle=angle)


def _base_line(rng: np.random.Generator) -> Problem:
    base, along = int(rng.integers(5, 15)) * 10, draw_azimuth(2, rng)
    at_a, at_b = int(rng.integers(50, 80)), int(rng.integers(50, 80))
    third = 180 - at_a - at_b
    distance = base * math.sin(math.radians(at_b)) / math.sin(math.radians(third))
    given = {
        "base": base,
        "along": along,
        "from_a": (along - at_a) % 360,
        "from_b": (along + 180 + at_b) % 360,
    }
    return _found("base_line", distance, "pace", **given)


_RANGES: Final = {
    "right_angle": _right_angle,
    "tangent": _tangent,
    "sound": _sound,
    "thumb": _thumb,
    "mils": _mils,
    "base_line": _base_line,
}
