"""The bracketed remarks, written as they stand in the notes."""

from __future__ import annotations

from pacewright.core.compass import AzimuthUnit, format_azimuth, parse_azimuth
from pacewright.core.log.doubted_numbers import MayBe
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


def format_remark(remark: Remark, unit: AzimuthUnit = "degrees") -> str:
    """Write a remark as it stands in the notes; `parse_remarks` reads it back as the same remark.

    >>> format_remark(Box("left", 40.0, "40")), format_remark(At("Split oak")), format_remark(Estimated(20.0))
    ('[box left 40]', '[at Split oak]', '[est]')
    """
    return f"[{_inside(remark)}]"


def _inside(remark: Remark) -> str:
    match remark:
        case At(name):
            return f"at {name}"
        case See(name):
            return f"see {name}"
        case BackReading(text=text):
            return f"back {text}"
        case Box(side, _, text):
            return f"box {side} {text}"
        case Estimated(text=text):
            return "est" if text is None else f"est {text}%"
        case Ground(name):
            return f"ground {name}"
        case LegSlope(slope):
            return slope
        case CrossStream():
            return "cross stream"
        case NoStream():
            return "no stream"
        case StationOn(feature):
            return f"in {feature}" if feature == "valley" else f"on {feature}"
        case Faces(text=text):
            return f"faces {text}"
        case Flat():
            return "flat"
        case Steepness(text=text):
            return f"slope {text}"
        case Altitude(text=text):
            return f"alt {text}"
        case Time(text=text):
            return f"time {text}"
        case MayBe(column, text, chance_text=chance):
            return f"or {text}{' count' if column == 'count' else ''} {chance}%"
        case Was(column, text):
            if column == "at":
                return f"was at {text}"
            return f"was {text}" if column in ("azimuth", "see") else f"was {text} {column}"


def back_reading(azimuth_deg: float, unit: AzimuthUnit) -> BackReading:
    """The remark for a reading backward along a leg, written to the whole unit."""
    text = format_azimuth(azimuth_deg, unit)
    return BackReading(parse_azimuth(text, unit), text)
