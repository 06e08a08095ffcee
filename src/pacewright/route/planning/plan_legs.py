"""The legs of a plan, as they are dialled, counted and walked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Ending = Literal["line", "sight", "count"]


@dataclass(frozen=True, slots=True)
class PlanLeg:
    """One leg of a plan.

    Attributes
    ----------
    ends
        `line`: at the first line of the kind met. `sight`: at a sight. `count`: where the count is full.
    from_m, to_m
        East and north where it is meant to begin and end.
    length_m
        As it is walked, along the line where it follows one.
    dial_deg
        What is dialled, by the plan's north; for a line followed, the azimuth from begin to end.
    azimuth_deg
        The same by the grid's north.
    look_m, stop_m
        From which length the end is looked for, and at which it is too far.
    minutes
        Without rests, the time to set out on it included.
    line
        The line it ends on or follows; None where it does neither.
    along
        Metres along that line at the end of the leg; None without a line.
    way
        For a line followed: 1 towards its last point, -1 towards its first. 0 where none is followed.
    sight
        The sight at its end; None where it has none.
    chance
        That it is not missed, as worked out.
    """

    ends: Ending
    from_m: tuple[float, float]
    to_m: tuple[float, float]
    length_m: float
    dial_deg: float
    azimuth_deg: float
    look_m: float
    stop_m: float
    minutes: float
    line: int | None = None
    along: float | None = None
    way: int = 0
    sight: int | None = None
    chance: float = 1.0

    @property
    def follows(self) -> bool:
        """Whether it follows a line instead of an azimuth."""
        return self.way != 0
