"""What an estimate rests on, said: a mistake that is likelier than not, what was not used, the pencil's sum."""

from __future__ import annotations

import math

from pacewright.answers.estimate import Estimate
from pacewright.core.compass import direction_deg
from pacewright.core.way.frames import ASSUMED_PACE_M
from pacewright.core.way.regions import station_region
from pacewright.exceptions import MissingComplaint
from pacewright.wording.findings import say_again, say_percent, say_reading, say_unsearched
from pacewright.wording.numbers import say_azimuth, say_length, say_odds, say_whole


def say_condemned(estimate: Estimate, *, is_spread: bool = False) -> list[str]:
    """Warn that a log holds a mistake, likelier than not, and stands as written; nothing where it does not.

    Parameters
    ----------
    estimate
        Where the log stands.
    is_spread
        What follows was asked for as it is, and spreads the mistake over the legs all the same.
    """
    wrong = estimate.wrong_reading
    if wrong is not None and estimate.findings is not None:
        chance = estimate.findings.by_reading[0].probability
        what = say_reading(wrong, estimate.log)
        return [
            f"Take care: {what} is probably wrong ({say_percent(chance)}) and is left out of what follows. "
            f"{say_again(wrong)} (pacewright check)."
        ]
    if not estimate.is_condemned:
        return []
    if estimate.findings is None:
        return say_unsearched(estimate.unexplained)
    stands = "What follows spreads it over legs that hold none" if is_spread else "Its legs stand as written"
    return [
        f"Take care: this log does not close as it should and may hold a mistake "
        f"({say_percent(estimate.findings.mistake_probability)}). {stands}. Search first (pacewright check)."
    ]


def say_in_metres(estimate: Estimate, probability: float) -> list[str]:
    """Say where the last station lies in metres, beside the paces; nothing where no pace is known, or nothing
    lies between."""
    ends = estimate.written.names
    if ends[-1] and ends[-1] == ends[0]:
        return []
    try:
        stations = estimate.stations("map")
    except MissingComplaint:
        return []
    last, frame, unit = stations.last, stations.frame, estimate.log.heading.azimuth_unit
    east, north = stations.place[last]
    azimuth_deg = direction_deg(east, north)
    along, across = station_region(stations, last, probability).half_widths(azimuth_deg)
    return [
        f"In metres: {say_length(math.hypot(east, north), 'metre')} on azimuth {say_azimuth(azimuth_deg, unit)} "
        f"({frame.azimuth_reference}), give or take {say_length(along, 'metre')} along and {say_whole(across)} across "
        f"({say_odds(probability)})."
    ]


def say_rests_on(estimate: Estimate) -> list[str]:
    """Say what was not used and why, that a pace was told by known places, and how far the pencil's sum is off."""
    said, scale = list(estimate.unused), None
    if estimate.standing.adjustment is not None and not estimate.is_condemned:
        scale = estimate.standing.adjustment.find_parameter("pace scale")
    if estimate.standing.is_pace_assumed and scale is not None and scale.value is not None:
        said.append(
            f"You gave no pace count: by the places known in metres your pace is {scale.value * ASSUMED_PACE_M:.2f} m long, "
            f"give or take {100 * scale.sd * ASSUMED_PACE_M:.0f} cm."
        )
    apart = estimate.apart_from_written(estimate.written.last)
    return [*said, say_pencil_sum(estimate)] if apart >= 1.0 else said


def say_pencil_sum(estimate: Estimate) -> str:
    """Say how far the pencil's own sum ends from the estimate that every other answer goes by."""
    apart = estimate.apart_from_written(estimate.written.last)
    if apart < 1.0:
        return "The legs as written end where every other answer has the end."
    return (
        f"The legs as written end {say_length(apart, estimate.written.frame.unit)} from where every other answer has "
        "the end."
    )
