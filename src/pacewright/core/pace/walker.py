"""One person: pace table, scatter, compass bias, and where each figure came from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.exceptions import MissingComplaint

Slope = Literal["up", "level", "down"]


@dataclass(frozen=True, slots=True)
class PaceClass:
    """The pace count on one class of ground, slope and load.

    Attributes
    ----------
    ground
        The name that a log's `[ground NAME]` uses.
    slope
        `up`, `level` or `down`; None where the class holds for any lie of the leg.
    load_kg
        The load carried in the trials; None where it was not told apart.
    per_100_m
        Paces (double steps) to a hundred metres.
    per_100_m_sd
        How well that mean is known, in paces per hundred metres; 0 where it is not known.
    runs
        Pace trials behind it.
    borrowed
        True where one or two runs alone were too few and the figure leans on the other classes.
    """

    ground: str
    slope: Slope | None
    load_kg: float | None
    per_100_m: float
    per_100_m_sd: float = 0.0
    runs: int = 0
    borrowed: bool = False


@dataclass(frozen=True, slots=True)
class Evidence:
    """How much of the walker's own walking stands behind the figures; old evidence counts less and less.

    Attributes
    ----------
    logs
        Logs learnt from, the old ones counted in part.
    azimuth_freedom, count_freedom, sighting_freedom
        How many numbers' worth of evidence the scatters rest on. A default, believed right to a
        quarter, is worth 8: the relative doubt of a scatter is one over the root of twice that.
    """

    logs: float = 0.0
    azimuth_freedom: float = 8.0
    count_freedom: float = 8.0
    sighting_freedom: float = 8.0


@dataclass(frozen=True, slots=True)
class Walker:
    """One person's own figures; what is not given stands at the published or assumed default.

    Attributes
    ----------
    name
        As in a log's heading, may be empty.
    per_100_m
        Paces (double steps) to a hundred metres on the ground the walker counts as ordinary;
        None while it was never measured: lengths then stay in paces.
    compass, count
        The scatter of azimuths and of counts.
    classes
        The rest of the pace table.
    origin
        For a figure's name, a few words on where it came from; a name not in it is a default.
    evidence
        How much walking the figures rest on.
    """

    name: str = ""
    per_100_m: float | None = None
    compass: CompassScatter = CompassScatter()
    count: CountScatter = CountScatter()
    classes: tuple[PaceClass, ...] = ()
    origin: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    evidence: Evidence = Evidence()

    def pace_m(self) -> float:
        """The length of one pace in metres.

        Raises
        ------
        MissingComplaint
            The walker has no pace count.
        """
        if self.per_100_m is None:
            raise MissingComplaint(
                "there is no pace count to turn paces into metres",
                "Give a walker file with per_100_m (see pacewright calibrate), or keep to paces",
            )
        return 100.0 / self.per_100_m

    def pace_class(self, ground: str | None, slope: Slope | None) -> PaceClass | None:
        """The class of the pace table for a leg, the closest that the table holds.

        A class of the same ground and slope comes first, then the same ground told apart by no slope, then
        the same ground on the level. None where neither ground nor slope is told apart: the walker's
        ordinary pace count stands.

        Raises
        ------
        MissingComplaint
            The log names a ground that the pace table does not hold, or holds on other slopes only.
        """
        mine = [c for c in self.classes if c.ground == (ground or "")]
        for wanted in (slope, None, "level"):
            for one in mine:
                if one.slope == wanted:
                    return one
        if ground is None:
            return None
        if mine:
            held = ", ".join(sorted({str(c.slope) for c in mine}))
            raise MissingComplaint(
                f"the walker's pace table has {ground} for {held} only, which the leg is not said to be",
                f"Write the slope of the leg into the log, or walk a level trial on {ground}",
            )
        known = ", ".join(sorted({c.ground for c in self.classes if c.ground})) or "none"
        raise MissingComplaint(
            f"the walker's pace table has no ground called {ground} (it has: {known})",
            "Add that class to the walker file or correct the remark",
        )
