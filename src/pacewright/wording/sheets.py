"""What stands on paper for the walk: how to read a column, what to expect, when it is too far."""

from __future__ import annotations

from typing import Final

from pacewright.core.compass import AzimuthReference, AzimuthUnit, format_azimuth
from pacewright.core.log_heading import Heading
from pacewright.core.remarks import (
    Altitude,
    Box,
    CrossStream,
    Estimated,
    Faces,
    Ground,
    LegSlope,
    Remark,
    StationOn,
    prose,
)
from pacewright.core.travel_log import Leg, Sighting
from pacewright.ground.north import NorthRelation
from pacewright.wording.norths import say_angle, say_step

PAPER_CAUTION: Final = (
    "An aid, not a promise. Local rules and what qualified instruction taught you come first; turn back "
    "while there is light."
)
TOO_FAR_RULE: Final = (
    "Too far: at that count the end of the leg lies behind you 39 times in 40, if the leg was logged and is "
    "walked without a mistake. Stop there and look back; do not walk on in hope."
)

_SHORT: Final[dict[AzimuthUnit, str]] = {"degrees": "deg", "mils": "mils", "gon": "gon"}


def say_north(heading: Heading) -> str:
    """Write which north and which unit the azimuths of a log are read in.

    >>> say_north(Heading())
    'magnetic deg'
    """
    return say_read(heading.azimuth_reference, heading.azimuth_unit)


def say_read(reference: AzimuthReference, unit: AzimuthUnit) -> str:
    """Write how azimuths of a north and a unit are read.

    >>> say_read("grid", "mils")
    'grid mils'
    """
    return f"{reference} {_SHORT[unit]}"


def say_expect(leg: Leg, seen: tuple[Sighting, ...], unit: AzimuthUnit) -> str:
    """Write what to expect on a leg and at its end, as the log has it.

    Parameters
    ----------
    leg
        The leg.
    seen
        The bearings taken at its end.
    unit
        Of the azimuths.
    """
    said = [words for remark in leg.remarks if (words := _say_remark(remark, unit))]
    if words := prose(leg.cells.notes):
        said.append(words)
    said += [f"{one.name} bears {format_azimuth(one.azimuth_deg, unit)} from its end" for one in seen]
    if leg.at_name:
        said.append(f"ends at {leg.at_name}")
    return "; ".join(said)


def _say_remark(remark: Remark, unit: AzimuthUnit) -> str:
    match remark:
        case Box(side, _, text):
            return f"box {side}: {text} out, {text} back"
        case Estimated(sd_pct):
            return f"estimated only, to {sd_pct:g} %"
        case Ground(name):
            return f"ground {name}"
        case LegSlope(slope):
            return slope
        case CrossStream():
            return "cross a stream"
        case StationOn(feature):
            return f"its end on a {feature}"
        case Faces(azimuth_deg):
            return f"the ground there faces {format_azimuth(azimuth_deg, unit)}"
        case Altitude(text=text):
            return f"its end at {text}"
        case _:
            return ""


def say_dial(relation: NorthRelation, unit: AzimuthUnit = "degrees") -> list[str]:
    """Say what to do to the number on the dial for an azimuth that was read on a map, and back."""
    to_magnetic = say_step(relation.added_deg("grid", "magnetic"), unit)
    to_grid = say_step(relation.added_deg("magnetic", "grid"), unit)
    side = "right" if relation.grid_magnetic_deg > 0 else "left"
    lies = (
        "The needle points along the grid lines, to within a tenth of a degree."
        if abs(relation.grid_magnetic_deg) < 0.05
        else f"Laid along a grid line, the needle points {say_angle(relation.grid_magnetic_deg)} of it, to the {side}."
    )
    return [
        f"From the map to the dial: {to_magnetic}, and turn the dial until that number is at the index.",
        f"From the dial to the map: {to_grid}, then lay it off from the grid lines.",
        lies,
    ]
