"""A walk against its plan in plain sentences and as a table."""

from __future__ import annotations

from pacewright.answers.plan_kept import LegKept, PlanKept
from pacewright.core.compass import AzimuthUnit, from_degrees
from pacewright.wording.numbers import SHORT_UNITS, say_azimuth, say_length
from pacewright.wording.walk import Rows


def say_plan_kept(kept: PlanKept) -> list[str]:
    """Which legs differ from the plan beyond scatter, the answer first."""
    differing = [one for one in kept.legs if one.differs]
    if not differing:
        said = ["Every leg was walked as planned, within what this walker scatters."]
    else:
        count = len(differing)
        legs = "1 leg differs" if count == 1 else f"{count} legs differ"
        said = [f"{legs} from the plan beyond scatter."]
        said += [_say_leg(one, kept.azimuth_unit) for one in differing]
    if kept.common_turn_deg is not None:
        side = "right" if kept.common_turn_deg > 0 else "left"
        said.append(
            f"All azimuths together lie {_turned(kept.common_turn_deg, kept.azimuth_unit)} to the {side} of the plan: "
            "look whether the declination was set the same."
        )
    if kept.common_longer is not None:
        way = "longer" if kept.common_longer > 0 else "shorter"
        said.append(
            f"All counts together are {100 * abs(kept.common_longer):.0f} % {way} than the plan: look at the pace count."
        )
    if kept.legs:
        said.append(f"The walk ends {say_length(kept.legs[-1].off, kept.unit)} from where the plan does.")
    return said


def plan_kept_table(kept: PlanKept) -> Rows:
    """Plan and walk side by side, leg by leg; how far off is in the unit of the log."""
    heading = ("leg", "planned", "walked", "count planned", "walked", "sd", "beyond scatter", "off plan")
    unit = kept.azimuth_unit
    rows: list[tuple[str, ...]] = [
        (
            str(one.leg), say_azimuth(one.planned_deg, unit), say_azimuth(one.walked_deg, unit), f"{one.planned_count:g}",
            f"{one.walked_count:g}", f"{one.sds:.1f}", "yes" if one.differs else "", f"{one.off:.0f}",
        )
        for one in kept.legs
    ]  # fmt: skip
    return heading, rows


def _say_leg(one: LegKept, unit: AzimuthUnit) -> str:
    parts = []
    if abs(one.turn_deg) >= 0.5:
        side = "right" if one.turn_deg > 0 else "left"
        parts.append(f"walked {_turned(one.turn_deg, unit)} to the {side} of the plan")
    if abs(one.walked_count - one.planned_count) >= 1:
        more = "more" if one.walked_count > one.planned_count else "less"
        parts.append(f"counted {abs(one.walked_count - one.planned_count):.0f} {more} than planned")
    return f"Leg {one.leg} was {' and '.join(parts or ['not as planned'])}."


def _turned(turn_deg: float, unit: AzimuthUnit) -> str:
    return f"{from_degrees(abs(turn_deg), unit):.0f} {SHORT_UNITS[unit]}"
