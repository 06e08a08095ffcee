"""Three norths: grid-magnetic angle, azimuths from one to another, the declination of an old map.

Signs: the declination is the angle from true north to magnetic north, the convergence from true north
to grid north, both east positive. So true = magnetic + declination and grid = true - convergence, and
grid = magnetic + (declination - convergence), which is the grid-magnetic angle.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from pacewright.core.compass import AzimuthReference, normal_azimuth, plain_marks, turn_deg
from pacewright.core.plausible import decimal_point
from pacewright.exceptions import ValueComplaint

NORTHS: Final[tuple[AzimuthReference, ...]] = ("magnetic", "true", "grid")
OLD_MAP_YEARS: Final = 20.0
"""A declination diagram older than this is not to be relied on (TC 3-25.26, 2013, paragraph 6-2)."""


@dataclass(frozen=True, slots=True)
class NorthRelation:
    """How the three norths stand to each other at one place and date.

    Attributes
    ----------
    declination_deg
        From true to magnetic north, east positive. What a station's own iron adds (local attraction)
        is simply part of it there.
    convergence_deg
        From true to grid north, east positive.
    declination_sd_deg
        Standard deviation of the declination.
    """

    declination_deg: float
    convergence_deg: float = 0.0
    declination_sd_deg: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what is no angle."""
        for value, what in ((self.declination_deg, "declination"), (self.convergence_deg, "convergence")):
            if not (math.isfinite(value) and abs(value) <= 180.0):
                raise ValueComplaint(
                    f"a {what} of {value:g} degrees is impossible", "Give -180 to 180, east positive"
                )
        if not self.declination_sd_deg >= 0:
            raise ValueComplaint(
                f"a standard deviation of {self.declination_sd_deg:g} degrees is impossible",
                "Give 0 or more",
            )

    @property
    def grid_magnetic_deg(self) -> float:
        """Angle from grid north to magnetic north, east positive, above -180 up to 180."""
        return turn_deg(self.convergence_deg, self.declination_deg)

    def added_deg(self, from_north: AzimuthReference, to_north: AzimuthReference) -> float:
        """What is added to an azimuth of one north to make it one of another.

        >>> NorthRelation(9.0, 2.0).added_deg("magnetic", "grid")
        7.0
        """
        angle = {"true": 0.0, "magnetic": self.declination_deg, "grid": self.convergence_deg}
        for north in (from_north, to_north):
            if north not in angle:
                raise ValueComplaint(f"{north} is not a north", f"Write one of {', '.join(NORTHS)}")
        return turn_deg(angle[to_north], angle[from_north])


@dataclass(frozen=True, slots=True)
class AzimuthChange:
    """An azimuth taken from one north to another: both, and what was added."""

    from_deg: float
    from_north: AzimuthReference
    to_deg: float
    to_north: AzimuthReference
    added_deg: float


def convert_azimuth(
    azimuth_deg: float,
    from_north: AzimuthReference,
    to_north: AzimuthReference,
    relation: NorthRelation,
) -> AzimuthChange:
    """The same direction as an azimuth from another north.

    Raises
    ------
    ValueComplaint
        The azimuth is no number, or a north is unknown.

    References
    ----------
    True = magnetic + declination, east positive: NAVEDTRA 14069, ch. 13. Grid = magnetic + grid-magnetic
    angle, east positive: US Army, Soldier's manual of common tasks, task 071-329.

    Examples
    --------
    >>> convert_azimuth(190, "magnetic", "grid", NorthRelation(9.0)).to_deg
    199.0
    """
    if not math.isfinite(azimuth_deg):
        raise ValueComplaint(f"{azimuth_deg} is not an azimuth", "Give a number of degrees")
    added_deg = relation.added_deg(from_north, to_north)
    return AzimuthChange(
        from_deg=normal_azimuth(azimuth_deg),
        from_north=from_north,
        to_deg=normal_azimuth(azimuth_deg + added_deg),
        to_north=to_north,
        added_deg=added_deg,
    )


@dataclass(frozen=True, slots=True)
class MapDeclination:
    """The declination of an old map, brought to another year by the annual change printed on it.

    Attributes
    ----------
    printed_deg, printed_year, annual_change_deg
        As printed, east positive.
    year
        The year it is brought to.
    brought_deg
        The declination then, east positive.
    """

    printed_deg: float
    printed_year: float
    annual_change_deg: float
    year: float

    @property
    def brought_deg(self) -> float:
        """The declination in `year`: as printed, plus the change of the years between."""
        return self.printed_deg + self.annual_change_deg * (self.year - self.printed_year)

    @property
    def is_old(self) -> bool:
        """Whether the annual change has been stretched over too many years."""
        return abs(self.year - self.printed_year) > OLD_MAP_YEARS


def bring_declination(
    printed_deg: float, printed_year: float, annual_change_deg: float, year: float
) -> MapDeclination:
    """Bring the declination of an old map to another year by the annual change printed on it.

    Raises
    ------
    ValueComplaint
        A number is not finite, or the result is no declination.

    References
    ----------
    NAVEDTRA 14069, ch. 13 (the change of so many minutes a year, times the years).

    Examples
    --------
    >>> brought = bring_declination(-26.75, 1968, -11 / 60, 1988)
    >>> round(brought.brought_deg, 4), brought.is_old
    (-30.4167, False)
    """
    brought = MapDeclination(printed_deg, printed_year, annual_change_deg, year)
    if not abs(brought.brought_deg) <= 180.0 or not abs(printed_deg) <= 180.0:
        raise ValueComplaint(
            "the map's declination and annual change lead to no declination",
            "Check both, and the year of the map",
        )
    return brought


_CHANGE: Final = re.compile(
    r"(?:(?P<way>increas(?:e|es|ing)|decreas(?:e|es|ing))\s+)?"
    r"(?:(?P<deg>\d{1,2}(?:\.\d+)?)\s*(?:°|deg)\s*)?(?:(?P<min>\d{1,3}(?:\.\d+)?)\s*(?:['′]|min)\s*)?"
    r"(?P<side>[EW])?",
    re.IGNORECASE,
)


def parse_annual_change(text: str, printed_deg: float) -> float:
    """The annual change of a map's declination in degrees a year, east positive.

    Parameters
    ----------
    text
        An angle with its unit and its side (`7' E`, `0.1° W`), or with `increase` or `decrease`
        before it, which speak of the size of the printed declination.
    printed_deg
        The printed declination, east positive.

    Raises
    ------
    ValueComplaint
        The text is neither, or both at once.

    Examples
    --------
    >>> parse_annual_change("6' W", 5.0), parse_annual_change("increase 12'", -26.75)
    (-0.1, -0.2)
    """
    bare = text.strip()
    match = _CHANGE.fullmatch(decimal_point(plain_marks(bare)))
    if match is None or not (match["deg"] or match["min"]) or bool(match["way"]) == bool(match["side"]):
        raise ValueComplaint(
            f"{bare[:40] or 'nothing'} is not an annual change",
            "Write an angle and its side, such as 7' E or 0.1° W, or increase 11' as the map puts it",
        )
    size_deg = float(match["deg"] or 0) + float(match["min"] or 0) / 60
    if match["side"]:
        return size_deg if match["side"].upper() == "E" else -size_deg
    if printed_deg == 0:
        raise ValueComplaint(
            "a declination of 0 can neither increase nor decrease by itself", "Write the side, such as 11' W"
        )
    grows = match["way"].lower().startswith("in")
    return math.copysign(size_deg, printed_deg if grows else -printed_deg)
