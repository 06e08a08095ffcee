"""Declination, grid convergence, and azimuths from one north to another, in plain sentences."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal

from pacewright.answers.stated_norths import StatedNorths
from pacewright.core.compass import AzimuthReference, AzimuthUnit, format_azimuth, format_dms, from_degrees
from pacewright.ground.declination import Declination
from pacewright.ground.grid import GridTurn, GridZone
from pacewright.ground.north import NORTHS, AzimuthChange, MapDeclination, NorthRelation
from pacewright.ground.norths_at import NorthsAt

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]

CAUTION: Final = "Caution: iron turns a compass. Local rules and qualified instruction come first."

MAGNETIC_UNKNOWN: Final = (
    "Magnetic north is not known here: the heading says neither a declination nor a date that the magnetic model "
    "answers for."
)

_RULES: Final[dict[tuple[AzimuthReference, AzimuthReference], str]] = {
    ("magnetic", "true"): "true = magnetic + declination",
    ("true", "magnetic"): "magnetic = true - declination",
    ("true", "grid"): "grid = true - convergence",
    ("grid", "true"): "true = grid + convergence",
    ("magnetic", "grid"): "grid = magnetic + grid-magnetic angle",
    ("grid", "magnetic"): "magnetic = grid - grid-magnetic angle",
}
ShownUnit = AzimuthUnit | Literal["dms"]
"""How an angle is written: in a unit, or in degrees and minutes as maps print it."""

_UNITS: Final[dict[AzimuthUnit, str]] = {"degrees": "deg", "mils": "mils", "gon": "gon"}
_POLE_DEG: Final = 89.0
_FAR_OFF_DEG: Final = 1.0


def say_angle(angle_deg: float, decimals: int = 1, unit: ShownUnit = "degrees") -> str:
    """Write an angle between two norths with its side.

    >>> say_angle(5.52), say_angle(-0.33), say_angle(0.01), say_angle(9, unit="mils")
    ('5.5 deg east', '0.3 deg west', '0.0 deg', '160.0 mils east')
    >>> say_angle(-30.4167, unit="dms"), say_angle(0.001, unit="dms")
    ("30°25' west", "0°00'")
    """
    size = _shown(abs(angle_deg), unit, decimals)
    if _is_nothing(angle_deg, unit, decimals):
        return size
    return f"{size} {'east' if angle_deg > 0 else 'west'}"


def _shown(angle_deg: float, unit: ShownUnit, decimals: int = 1) -> str:
    if unit == "dms":
        return format_dms(angle_deg, seconds=False)
    return f"{from_degrees(angle_deg, unit):.{decimals}f} {_UNITS[unit]}"


def _is_nothing(angle_deg: float, unit: ShownUnit, decimals: int = 1) -> bool:
    """Whether an angle is nothing as it is written."""
    if unit == "dms":
        return round(abs(angle_deg) * 60) == 0
    return float(f"{from_degrees(abs(angle_deg), unit):.{decimals}f}") == 0


def say_rule(from_north: AzimuthReference, to_north: AzimuthReference) -> str:
    """The rule from one north to another in words; east counts as plus, west as minus.

    >>> say_rule("magnetic", "grid"), say_rule("true", "true")
    ('grid = magnetic + grid-magnetic angle', 'the same north: nothing is added')
    """
    return _RULES.get((from_north, to_north), "the same north: nothing is added")


def say_step(added_deg: float, unit: ShownUnit = "degrees") -> str:
    """Say what to do to an azimuth.

    >>> say_step(5.52), say_step(-0.33), say_step(0.0), say_step(9, "mils"), say_step(-3.5, "dms")
    ('add 5.5 deg', 'take 0.3 deg away', 'leave it as it is', 'add 160.0 mils', "take 3°30' away")
    """
    if _is_nothing(added_deg, unit):
        return "leave it as it is"
    size = _shown(abs(added_deg), unit)
    return f"add {size}" if added_deg > 0 else f"take {size} away"


def say_norths(norths: NorthsAt, said: Sequence[str] = (), unit: ShownUnit = "degrees") -> list[str]:
    """Say all of the norths at a place, the caution last.

    Parameters
    ----------
    norths
        The norths there.
    said
        Sentences on what was asked beside them; they come before the model's own.
    unit
        In which angles are said.
    """
    return [
        say_declination(norths.found, norths.when, unit),
        *say_compass_zone(norths.found),
        *say_grid(norths.turn, norths.zone, norths.relation, unit),
        *say_pole(norths.position.latitude_deg),
        *said,
        say_model(norths.found),
        CAUTION,
    ]


def say_declination(found: Declination, when: str, unit: ShownUnit = "degrees") -> str:
    """Say the declination, how sure it is, and how it moves.

    Parameters
    ----------
    found
        The declination.
    when
        The date, as it is to be read: `2026-05-14`, or a decimal year.
    unit
        In which angles are said.
    """
    moves = abs(found.annual_change_deg) >= 0.005
    way = say_angle(found.annual_change_deg, 2, unit) if moves else "by next to nothing"
    return (
        f"{_lies('Magnetic', found.declination_deg, 'true', unit)} {'on' if '-' in when else 'at'} {when}: that is "
        f"the declination. Its standard deviation is {_shown(found.declination_sd_deg, unit)}; it moves {way} a year."
    )


def say_compass_zone(found: Declination) -> list[str]:
    """Say that a compass is not to be trusted there, if so."""
    if found.compass_zone == "caution":
        return [
            f"Caution zone: the horizontal field is only {found.horizontal_nt:.0f} nT (below 6000). A compass is "
            "slow and unsure here; check it against the sun or the land."
        ]
    if found.compass_zone == "blackout":
        return [
            f"Blackout zone: the horizontal field is only {found.horizontal_nt:.0f} nT (below 2000). A magnetic "
            "compass does not work here: do not travel by it."
        ]
    return []


def say_model(found: Declination) -> str:
    """Say whose declination it is and how long it holds."""
    return f"By the World Magnetic Model {found.model.removeprefix('WMM-')}, which answers until {found.valid_to}."


def say_grid(
    turn: GridTurn, zone: GridZone, relation: NorthRelation, unit: ShownUnit = "degrees"
) -> list[str]:
    """Say the grid convergence and the grid-magnetic angle."""
    return [
        f"{_lies('Grid', turn.convergence_deg, 'true', unit)} ({zone}): that is the convergence.",
        f"{_lies('Magnetic', relation.grid_magnetic_deg, 'grid', unit)}: that is the grid-magnetic angle, the "
        "declination less the convergence.",
    ]


def say_pole(latitude_deg: float) -> list[str]:
    """Say what an azimuth means near a pole, where that needs saying."""
    if abs(latitude_deg) < _POLE_DEG:
        return []
    return [
        "So near a pole true north turns with every step: the angles hold for the meridian of the longitude "
        "given. Steer by grid north there."
    ]


def say_azimuth_change(change: AzimuthChange, unit: ShownUnit = "degrees") -> str:
    """Say an azimuth from another north, what was done to it, and the rule.

    >>> from pacewright.ground.north import convert_azimuth
    >>> say_azimuth_change(convert_azimuth(305, "magnetic", "true", NorthRelation(-3.5)))
    'Azimuth 305.0 deg magnetic is 301.5 deg true: take 3.5 deg away (true = magnetic + declination; west is minus).'
    """
    before, after = (
        f"{_azimuth(azimuth_deg, unit)} {north}"
        for azimuth_deg, north in ((change.from_deg, change.from_north), (change.to_deg, change.to_north))
    )
    rule = say_rule(change.from_north, change.to_north)
    signs = "; west is minus" if change.from_north != change.to_north else ""
    return f"Azimuth {before} is {after}: {say_step(change.added_deg, unit)} ({rule}{signs})."


def _azimuth(azimuth_deg: float, unit: ShownUnit) -> str:
    if unit == "dms":
        return format_dms(round(azimuth_deg * 60) % (360 * 60) / 60, seconds=False)
    return f"{format_azimuth(azimuth_deg, unit, 1)} {_UNITS[unit]}"


def say_field(found: Declination) -> str:
    """The inclination, and the strengths of the field and its parts."""
    side = "below" if found.inclination_deg >= 0 else "above"
    return (
        f"The field dips {abs(found.inclination_deg):.1f} deg {side} the horizon: {found.total_nt:.0f} nT in all, "
        f"{found.horizontal_nt:.0f} level ({found.north_nt:.0f} north, {found.east_nt:.0f} east), "
        f"{found.down_nt:.0f} down."
    )


def say_stated(stated: StatedNorths, unit: ShownUnit = "degrees") -> list[str]:
    """How the norths lie as stated, and what the stated angle became."""
    relation = stated.relation
    said = [] if stated.brought is None else say_brought(stated.brought, unit)
    if stated.has_true:
        said.append(f"{_lies('Magnetic', relation.declination_deg, 'true', unit)}, as stated.")
    if stated.has_grid:
        said.append(f"{_lies('Magnetic', relation.grid_magnetic_deg, 'grid', unit)}, as stated.")
    return said


def say_stated_beside(stated: StatedNorths, found: Declination) -> list[str]:
    """How a stated declination stands to the model's; the stated one is used."""
    if not stated.has_true:
        return ["The grid-magnetic angle as stated is used."]
    off_deg = stated.relation.declination_deg - found.declination_deg
    if abs(off_deg) > max(_FAR_OFF_DEG, 2 * found.declination_sd_deg):
        return [
            f"The declination as stated is used; it differs from the model's by {abs(off_deg):.1f} deg: check the "
            "map's year, side and annual change."
        ]
    return [f"The declination as stated is used; it agrees with the model's to {abs(off_deg):.1f} deg."]


def say_brought(brought: MapDeclination, unit: ShownUnit = "degrees") -> list[str]:
    """What an old map's declination became at the date asked for."""
    moved = brought.year - brought.printed_year
    lines = [
        f"The map's {say_angle(brought.printed_deg, 2, unit)} of {brought.printed_year:.4g}, moving "
        f"{say_angle(brought.annual_change_deg, 2, unit)} a year for {moved:.1f} years, has become "
        f"{say_angle(brought.brought_deg, 2, unit)}."
    ]
    if brought.is_old:
        lines.append(
            "Caution: a map's declination stretched over more than 20 years is not to be relied on; leave it out "
            "to take the model's."
        )
    return lines


def _lies(north: str, angle_deg: float, other: str, unit: ShownUnit) -> str:
    if unit != "dms" and float(f"{angle_deg:.1f}") == 0:
        return f"{north} north is {other} north to within a tenth of a degree"
    return f"{north} north lies {say_angle(angle_deg, unit=unit)} of {other} north"


def rule_table(
    relation: NorthRelation, unit: ShownUnit = "degrees", norths: Sequence[AzimuthReference] = NORTHS
) -> Rows:
    """What is done to an azimuth between each two norths, with its rule, as a table."""
    rows: list[tuple[str, ...]] = [
        (from_north, to_north, say_step(relation.added_deg(from_north, to_north), unit), rule)
        for (from_north, to_north), rule in _RULES.items()
        if from_north in norths and to_north in norths
    ]
    return ("from", "to", "do this", "rule (east plus, west minus)"), rows
