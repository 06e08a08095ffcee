"""What stands on paper for the walk: how to read a column, what to expect, when it is too far."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from pacewright.answers.estimate import Estimate
from pacewright.core.compass import AzimuthReference, AzimuthUnit, format_azimuth, from_degrees
from pacewright.core.log.log_heading import Heading
from pacewright.core.log.remarks import (
    Altitude,
    Box,
    CrossStream,
    Estimated,
    Faces,
    Flat,
    Ground,
    LegSlope,
    NoStream,
    Remark,
    StationOn,
    Steepness,
    prose,
)
from pacewright.core.log.travel_log import Leg, Sighting, TravelLog
from pacewright.core.pace.walker import Walker
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

NOT_DRAWN: Final = (
    "The walk has too many places to be drawn on this paper; pacewright draw gives a larger one."
)
FIGURE_KEY: Final = (
    "Full line: the legs. Thin broken lines: other figures, with their names or their chances. Double line: what "
    "the log misses by. Rings and shades: where a station may lie."
)
SHARE_95_SD: Final = 1.96
"""Standard deviations to either side that hold 95 times in 100, by the normal distribution."""

_MOST_LETTERS: Final = 12
_SHORT: Final[dict[AzimuthUnit, str]] = {"degrees": "deg", "mils": "mils", "gon": "gon"}


def say_whose(estimate: Estimate) -> str:
    """Say of a card whose it is, of which log, and what pace count and declination it assumes."""
    return f"{_whose(estimate.log, estimate.walker)}; {_declination_words(estimate)}."


def say_whose_log(log: TravelLog, walker: Walker) -> str:
    """Say of a sheet whose log it is of, and what pace count it assumes."""
    return f"{_whose(log, walker)}."


def _whose(log: TravelLog, walker: Walker) -> str:
    whose = [one for one in (walker.name or log.heading.walker, _log_words(log.heading)) if one]
    paced = (
        "No pace count"
        if walker.per_100_m is None
        else f"{walker.per_100_m:g} paces to 100 m (known to {walker.count.scale_sd_pct:g} %)"
    )
    return f"{'; '.join(whose)}. {paced}"


def _log_words(heading: Heading) -> str:
    title = f"log {heading.title}" if heading.title else "log without a title"
    return f"{title}, {heading.date}" if heading.date else f"{title}, no date"


def _declination_words(estimate: Estimate) -> str:
    heading, anchor = estimate.log.heading, estimate.known.anchor
    if heading.declination_deg is not None:
        return f"declination {say_angle(heading.declination_deg, unit=heading.azimuth_unit)} (heading)"
    found = None if anchor is None else anchor.on_grid.declination
    if found is not None:
        return f"declination {say_angle(found.declination_deg, unit=heading.azimuth_unit)} ({found.model})"
    return "no declination taken: azimuths as read"


def say_bead(heading: Heading, walker: Walker) -> str:
    """Say what a bead of the cord is worth in the unit that a log counts; nothing where that is not known.

    >>> say_bead(Heading(), Walker())
    'Cord: 1 lower bead = 100 paces, 1 upper bead = 1000 paces.'
    >>> say_bead(Heading(count_unit="metres"), Walker(per_100_m=62.5))
    'Cord: 1 lower bead = 100 m, 1 upper bead = 1000 m; slide one every 62.5 paces.'
    """
    if heading.count_unit != "metres":
        unit = heading.count_unit
        return f"Cord: 1 lower bead = 100 {unit}, 1 upper bead = 1000 {unit}."
    if walker.per_100_m is None:
        return ""
    each = f"{walker.per_100_m:.1f}".removesuffix(".0")
    return f"Cord: 1 lower bead = 100 m, 1 upper bead = 1000 m; slide one every {each} paces."


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
    """Write what to expect on a leg and at its end, the end first, as the log has it.

    Parameters
    ----------
    leg
        The leg.
    seen
        The bearings taken at its end.
    unit
        Of the azimuths.
    """
    said = [f"ends at {leg.at_name}"] if leg.at_name else []
    said += [words for remark in leg.remarks if (words := _say_remark(remark, unit))]
    if words := prose(leg.cells.notes):
        said.append(words)
    said += [f"{one.name} bears {format_azimuth(one.azimuth_deg, unit)} from its end" for one in seen]
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
        case NoStream():
            return "cross no stream"
        case StationOn("valley"):
            return "ends in a valley"
        case StationOn(feature):
            return f"ends on a {feature}"
        case Flat():
            return "the ground there is flat"
        case Steepness(text=text):
            return f"the ground there rises {text}"
        case Faces(text=text):
            return f"the ground there faces {text}"
        case Altitude(text=text):
            return f"its end lies at {text}"
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
        else f"Laid along a grid line, the needle points {say_angle(relation.grid_magnetic_deg, unit=unit)} of it, to the {side}."
    )
    return [
        f"From the map to the dial: {to_magnetic}, and turn the dial until that number is at the index.",
        f"From the dial to the map: {to_grid}, then lay it off from the grid lines.",
        lies,
    ]


def say_by_number(letters: Sequence[str]) -> str:
    """Say which letters of a sheet no font could show, so that they stand on it by their numbers.

    >>> say_by_number(["\u65e5", "\u672c"])
    'Printed by their numbers, because no font at hand has them: U+65E5, U+672C. Names in Latin letters print as they are.'
    """
    numbers = ", ".join(f"U+{ord(letter):04X}" for letter in letters[:_MOST_LETTERS])
    more = f" and {len(letters) - _MOST_LETTERS} more" if len(letters) > _MOST_LETTERS else ""
    one = len(letters) == 1
    return (
        f"Printed by {'its number' if one else 'their numbers'}, because no font at hand has {'it' if one else 'them'}: "
        f"{numbers}{more}. Names in Latin letters print as they are."
    )


def say_drawn_angles(relation: NorthRelation, times: float, unit: AzimuthUnit = "degrees") -> list[str]:
    """Say how wide the angles of a drawing of the norths are drawn, and what the bar on its rim holds."""
    said = [
        "Angles are drawn as they are."
        if times == 1
        else f"Angles are drawn {times:g} times as wide as they are; the rim counts real {unit}."
    ]
    if relation.declination_sd_deg:
        doubt = SHARE_95_SD * relation.declination_sd_deg
        said.append(
            f"The bar on the rim holds magnetic north 95 times in 100 ({from_degrees(doubt, unit):.1f} {_SHORT[unit]} to "
            "either side), where no iron "
            "or rock turns the compass."
        )
    return said
