"""Distances from where one stands, by eye and by ear, each with its uncertainty."""

from __future__ import annotations

import math
from typing import Final

from pacewright.core.pace.scatter import DEFAULT_ESTIMATE_SD_PCT, DEFAULT_PROBABILITY
from pacewright.core.ranging.range_result import (
    LengthUnit,
    Range,
    counted,
    finite,
    length,
    measured_range,
    scatter,
    sure_spread,
    with_interval,
)
from pacewright.exceptions import ValueComplaint

SIZE_SD_PCT: Final = 5.0
"""How well a known height or width is known, unless it was measured (assumed)."""

ANGLE_SD_MIL: Final = 1.0
"""Scatter of an angle in mils off a scale held up: a millimetre at 65 cm is 1.5 mils (assumed)."""

ANGLE_INTERVAL_MIL: Final = 1.0
"""The step to which that angle is read; its variance is the square of it over 12 (uniform rounding)."""

THUMB_RATIO: Final = 10.0
"""Eye to thumb over eye to eye: about ten for most people (common practice)."""

THUMB_RATIO_SD_PCT: Final = 8.0
"""How far people differ in it: arms and eye distances each by some 6 % (assumed)."""

OWN_THUMB_RATIO_SD_PCT: Final = 3.0
"""The same for a walker who has measured the own ratio (assumed)."""

DELAY_SD_S: Final = 0.2
"""Scatter of a delay timed by hand: one reaction time (assumed)."""

AIR_TEMP_SD_C: Final = 5.0
"""How well the air's temperature is known without a thermometer (assumed)."""

WIND_SD_MPS: Final = 3.0
"""Unknown wind along the line, which carries the sound: a gentle breeze (assumed)."""

SOUND_AT_FREEZING_MPS: Final = 331.3
"""Speed of sound in dry air at 0 degrees Celsius, of an ideal gas with a heat ratio of 1.4."""

SOUND_RULE_S_PER_KM: Final = 3.0
"""The rule of three seconds to the kilometre (common practice)."""

_ICE_POINT_K: Final = 273.15
_AIR_TEMP_C: Final = (-90.0, 60.0)
_QUARTER_MIL: Final = 1600.0


def range_by_mils(
    size: float,
    angle_mil: float,
    *,
    unit: LengthUnit = "metre",
    azimuth_deg: float | None = None,
    size_sd: float | None = None,
    angle_sd_mil: float = ANGLE_SD_MIL,
    probability: float = DEFAULT_PROBABILITY,
) -> Range:
    """How far a thing of known height or width is, from the angle it fills: size / tan(angle).

    Exact for the mil of 6400 to the circle, the size standing square to the line of sight. The rule of
    thumb, a thousand sizes over the mils, takes a mil for the thousandth of a radian.

    Parameters
    ----------
    size, size_sd
        Known height or width, in `unit`; 5 % if its scatter is not given.
    angle_mil, angle_sd_mil
        The angle it fills, in mils.
    unit, azimuth_deg, probability
        As in `pacewright.core.ranging.ranging.range_by_stakes`.

    References
    ----------
    The thousand rule: TM 9-1240-407-12-P, p. 20. The mil: FM 21-26, ch. 6.

    Examples
    --------
    >>> found = range_by_mils(10, 10)
    >>> round(found.distance, 1), found.rule_of_thumb, round(found.rule_off_pct, 1)
    (1018.6, 1000.0, -1.8)
    """
    length(size, "the size")
    if not 0 < finite(angle_mil, "the angle") < _QUARTER_MIL:
        raise ValueComplaint(
            f"a thing cannot fill an angle of {angle_mil:g} mils", "Give more than 0 and less than 1600"
        )
    sd = SIZE_SD_PCT / 100 * size if size_sd is None else scatter(size_sd, "the scatter of the size")
    angle_sd = with_interval(scatter(angle_sd_mil, "the scatter of the angle"), ANGLE_INTERVAL_MIL)
    found = sure_spread(
        lambda r: float(r[0] / math.tan(r[1] * math.pi / 3200)) if 0 < r[1] < _QUARTER_MIL else math.nan,
        [size, angle_mil],
        [sd, angle_sd],
        probability,
        "Use a larger thing, or read the angle more finely and state its scatter",
    )
    facts = {"size": size, "angle_mil": angle_mil}
    return measured_range(
        "mils",
        found,
        probability,
        unit,
        f"distance from a size of {counted(size, unit)} seen under {angle_mil:g} mils",
        facts=facts,
        azimuth_deg=azimuth_deg,
        rule_of_thumb=1000.0 * size / angle_mil,
    )


def range_by_thumb(
    jump: float,
    ratio: float | None = None,
    *,
    unit: LengthUnit = "metre",
    azimuth_deg: float | None = None,
    jump_sd: float | None = None,
    ratio_sd: float | None = None,
    probability: float = DEFAULT_PROBABILITY,
) -> Range:
    """How far a thing is, from how far the thumb jumps across it when the eyes change: ratio x jump.

    Parameters
    ----------
    jump, jump_sd
        The jump as measured by eye on things of known size over there, in `unit`; 20 % if not given.
    ratio, ratio_sd
        Eye to thumb over eye to eye: 10 within 8 % if not measured, 3 % if measured.
    unit, azimuth_deg, probability
        As in `pacewright.core.ranging.ranging.range_by_stakes`.

    References
    ----------
    Ten times the jump: common practice.

    Examples
    --------
    >>> range_by_thumb(50).distance
    500.0
    """
    length(jump, "the jump of the thumb")
    own = THUMB_RATIO if ratio is None else ratio
    if not 1 < finite(own, "the ratio of arm to eyes") < 30:
        raise ValueComplaint(
            f"{own:g} is not the ratio of an arm to the distance between two eyes",
            "Divide the distance from eye to thumb by the distance between the pupils; it is near 10",
        )
    if ratio_sd is None:
        ratio_sd = own * (THUMB_RATIO_SD_PCT if ratio is None else OWN_THUMB_RATIO_SD_PCT) / 100
    if jump_sd is None:
        jump_sd = jump * DEFAULT_ESTIMATE_SD_PCT / 100
    found = sure_spread(
        lambda r: float(r[0] * r[1]),
        [jump, own],
        [scatter(jump_sd, "the scatter of the jump"), scatter(ratio_sd, "the scatter of the ratio")],
        probability,
        "Measure the jump on something of known size",
    )
    return measured_range(
        "thumb",
        found,
        probability,
        unit,
        "distance by arm and thumb",
        facts={"jump": jump, "ratio": own},
        azimuth_deg=azimuth_deg,
        rule_of_thumb=THUMB_RATIO * jump,
    )


def range_by_sound(
    delay_s: float,
    air_temp_c: float,
    *,
    azimuth_deg: float | None = None,
    delay_sd_s: float = DELAY_SD_S,
    air_temp_sd_c: float = AIR_TEMP_SD_C,
    wind_sd_mps: float = WIND_SD_MPS,
    probability: float = DEFAULT_PROBABILITY,
) -> Range:
    """How many metres off a flash or a blow was, from how long its sound took.

    Parameters
    ----------
    delay_s, delay_sd_s
        Seconds from seeing to hearing, and how well they were timed.
    air_temp_c, air_temp_sd_c
        Temperature of the air in degrees Celsius.
    wind_sd_mps
        Unknown wind along the line of sight, in metres a second.
    azimuth_deg, probability
        As in `pacewright.core.ranging.ranging.range_by_stakes`.

    References
    ----------
    Three seconds to the kilometre: common practice.
    """
    if not 0 < finite(delay_s, "the delay") <= 600:
        raise ValueComplaint(
            f"a sound cannot be heard after {delay_s:g} seconds", "Give the seconds from seeing to hearing"
        )
    found = sure_spread(
        lambda r: float(r[0] * (speed_of_sound_mps(r[1]) + r[2])),
        [delay_s, _air_temp(air_temp_c), 0.0],
        [
            scatter(delay_sd_s, "the scatter of the delay"),
            scatter(air_temp_sd_c, "the scatter of the air temperature"),
            scatter(wind_sd_mps, "the scatter of the wind"),
        ],
        probability,
        "Time several sounds with a watch and take the mean",
    )
    facts = {
        "delay_s": delay_s,
        "air_temp_c": air_temp_c,
        "speed_of_sound_mps": speed_of_sound_mps(air_temp_c),
    }
    return measured_range(
        "sound",
        found,
        probability,
        "metre",
        f"distance by a sound that took {delay_s:g} s",
        facts=facts,
        azimuth_deg=azimuth_deg,
        rule_of_thumb=1000.0 * delay_s / SOUND_RULE_S_PER_KM,
    )


def speed_of_sound_mps(air_temp_c: float) -> float:
    """The speed of sound in dry air in metres a second; NaN below absolute zero.

    Moist air carries sound up to half a per cent faster.

    References
    ----------
    331.3 sqrt(1 + t / 273.15), an ideal gas of heat ratio 1.4 (common practice).

    Examples
    --------
    >>> speed_of_sound_mps(0), round(speed_of_sound_mps(15), 1)
    (331.3, 340.3)
    """
    part = 1.0 + air_temp_c / _ICE_POINT_K
    return SOUND_AT_FREEZING_MPS * math.sqrt(part) if part >= 0 else math.nan


def _air_temp(air_temp_c: float) -> float:
    low, high = _AIR_TEMP_C
    if not low <= finite(air_temp_c, "the air temperature") <= high:
        raise ValueComplaint(
            f"{air_temp_c:g} degrees Celsius is no temperature of the air on this earth",
            f"Give degrees Celsius from {low:g} to {high:g}; from Fahrenheit take off 32 and divide by 1.8",
        )
    return air_temp_c
