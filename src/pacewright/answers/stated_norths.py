"""The norths as a map or its user states them: no place and no model needed."""

from __future__ import annotations

from dataclasses import dataclass

from pacewright.core.compass import AzimuthReference
from pacewright.core.log.log_heading import parse_declination
from pacewright.exceptions import MissingComplaint
from pacewright.ground.declination import parse_when
from pacewright.ground.north import MapDeclination, NorthRelation, bring_declination, parse_annual_change


@dataclass(frozen=True, slots=True)
class NorthsAsked:
    """What was stated, each as written and empty where it was not.

    Attributes
    ----------
    declination, convergence, grid_magnetic
        Angles with their side, `3°30' W`: from true to magnetic, true to grid, grid to magnetic north.
    printed_on, annual
        Date of the map and its yearly change, where the angle to magnetic north is to be brought to
        another day.
    """

    declination: str = ""
    convergence: str = ""
    grid_magnetic: str = ""
    printed_on: str = ""
    annual: str = ""

    @property
    def is_stated(self) -> bool:
        """True where an angle to magnetic north is stated."""
        return bool(self.declination or self.grid_magnetic)


@dataclass(frozen=True, slots=True)
class StatedNorths:
    """The norths as stated, brought to the day asked for.

    Attributes
    ----------
    relation
        How they stand to each other; where `has_true` is false, grid stands in for true north.
    brought
        What the stated angle became by the yearly change; None where it was taken as it is.
    has_true, has_grid
        Which norths can be reckoned with beside the magnetic one.
    """

    relation: NorthRelation
    brought: MapDeclination | None
    has_true: bool
    has_grid: bool

    @property
    def norths(self) -> tuple[AzimuthReference, ...]:
        """The norths that can be reckoned with."""
        true: tuple[AzimuthReference, ...] = ("true",) if self.has_true else ()
        grid: tuple[AzimuthReference, ...] = ("grid",) if self.has_grid else ()
        return ("magnetic", *true, *grid)

    def check(self, *norths: AzimuthReference) -> None:
        """Refuse a north that nothing stated leads to.

        Raises
        ------
        MissingComplaint
            With what to state.
        """
        if not self.has_true and "true" in norths:
            raise MissingComplaint(
                "a grid-magnetic angle does not tell where true north is",
                "Add --convergence, or give --declination",
            )
        if not self.has_grid and "grid" in norths:
            raise MissingComplaint(
                "a declination does not tell where grid north is",
                "Add --convergence, give --grid-magnetic, or give the place",
            )


def stated_norths(
    asked: NorthsAsked, year: float, place_convergence_deg: float | None = None
) -> StatedNorths:
    """The norths that stated angles make at a decimal year.

    Parameters
    ----------
    asked
        The angles.
    year
        To which the angle to magnetic north is brought.
    place_convergence_deg
        The grid convergence of the place, where there is a place.

    Raises
    ------
    Complaint
        An angle or a date is none, or half of what brings it to another year is missing.

    References
    ----------
    Change of so many minutes a year, times the years: NAVEDTRA 14069, ch. 13.

    Examples
    --------
    >>> old = NorthsAsked(declination="26°45' W", printed_on="1968", annual="increase 11'")
    >>> round(stated_norths(old, 1988).relation.declination_deg, 3)
    -30.417
    """
    if bool(asked.declination) == bool(asked.grid_magnetic):
        raise MissingComplaint(
            "one angle to magnetic north is needed", "Give --declination or --grid-magnetic, not both"
        )
    printed_deg = parse_declination(asked.declination or asked.grid_magnetic)
    brought = None
    if asked.printed_on or asked.annual:
        if not (asked.printed_on and asked.annual):
            raise MissingComplaint(
                "a map's declination needs its date and its annual change to be brought to another year",
                "Give --map-date and --map-annual together, or neither to take the declination as it is",
            )
        annual_deg = parse_annual_change(asked.annual, printed_deg)
        brought = bring_declination(printed_deg, parse_when(asked.printed_on), annual_deg, year)
    stated_deg = printed_deg if brought is None else brought.brought_deg
    convergence_deg = parse_declination(asked.convergence) if asked.convergence else place_convergence_deg
    if asked.declination:
        relation = NorthRelation(stated_deg, convergence_deg or 0.0)
        return StatedNorths(relation, brought, True, convergence_deg is not None)
    # Grid-magnetic angle = declination - convergence; with no convergence grid stands in for true north.
    relation = NorthRelation(stated_deg + (convergence_deg or 0.0), convergence_deg or 0.0)
    return StatedNorths(relation, brought, convergence_deg is not None, True)
