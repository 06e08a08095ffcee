"""What a row was understood as, in few words, for the margin beside it."""

from __future__ import annotations

from collections.abc import Sequence

from pacewright.core.compass import AzimuthUnit, back_azimuth, format_azimuth
from pacewright.core.log.doubted_numbers import MayBe
from pacewright.core.log.questions import is_not_turned
from pacewright.core.log.remarks import (
    Altitude,
    At,
    BackReading,
    Box,
    CrossStream,
    Estimated,
    Faces,
    Flat,
    Ground,
    LegSlope,
    NoStream,
    Remark,
    See,
    StationOn,
    Steepness,
    Time,
    Was,
)
from pacewright.core.log.travel_log import Leg, Sighting
from pacewright.core.log.typed_page import TypedRow


def say_typed(rows: Sequence[TypedRow], unit: AzimuthUnit, start: str | None = None) -> list[str]:
    """Say for each row what it was taken as; nothing for an empty or a wrong one.

    Parameters
    ----------
    rows
        The rows of a page, in order.
    unit
        Of the azimuths.
    start
        The name of the start, if it has one.
    """
    said, station, names = [], 0, [start]
    for one in rows:
        row = one.row
        if row is None:
            said.append("")
            continue
        if type(row) is Leg:
            station += 1
            met = row.at_name is not None and row.at_name in names
            names.append(row.at_name)
            first = f"leg {station}"
            remarks = [_say(remark, unit, is_met=met) for remark in row.remarks]
            if is_not_turned(row):
                turned = format_azimuth(back_azimuth(row.azimuth_deg), unit)
                remarks.append(f"was it read backward? From the leg's end, about {turned}")
        elif type(row) is Sighting:
            first = f"bearing to {row.name} from {names[station] or f'station {station}'}"
            remarks = [_say(remark, unit) for remark in row.remarks if not isinstance(remark, See)]
        else:
            first, remarks = "note", [_say(remark, unit) for remark in row.remarks]
        said.append("; ".join([first, *filter(None, remarks)]))
    return said


def _say(remark: Remark, unit: AzimuthUnit, *, is_met: bool = False) -> str:
    match remark:
        case At(name):
            return f"back at {name}: closes here" if is_met else f"ends at {name}"
        case BackReading(azimuth_deg):
            return f"read back as {format_azimuth(azimuth_deg, unit)}"
        case Box(side, _, text):
            return f"boxed to the {side}: {text} out, {text} back"
        case Estimated(sd_pct):
            return f"estimated, within {sd_pct:g} %"
        case Ground(name):
            return f"ground {name}"
        case LegSlope(slope):
            return {"up": "uphill", "down": "downhill"}.get(slope, slope)
        case CrossStream():
            return "crosses a stream"
        case NoStream():
            return "crosses no stream"
        case StationOn("valley"):
            return "ends in a valley"
        case StationOn(feature):
            return f"ends on a {feature}"
        case Flat():
            return "the ground is flat"
        case Steepness(text=text):
            return f"the ground rises {text}"
        case Faces(text=text):
            return f"the ground faces {text}"
        case Altitude(text=text):
            return f"at {text}"
        case Time(text=text):
            return f"at {text} o'clock"
        case MayBe(column, text, chance_text=chance):
            return f"{column} may be {text} on the page ({chance} %)"
        case Was("at", text):
            return f"was said to be {text}"
        case Was("see", text):
            return f"a bearing struck out: {text}"
        case Was(column, text):
            return f"{column} was {text}"
        case _:
            return ""
