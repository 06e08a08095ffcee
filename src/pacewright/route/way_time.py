"""How long the way back of a log takes: straight, and leg by leg as walked."""

from __future__ import annotations

from dataclasses import dataclass

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import walker_frame
from pacewright.core.way.reckoning import reckon
from pacewright.core.way.retrace import retrace
from pacewright.core.way.way_back import way_back
from pacewright.route.travel_cost import RuleName, even_pieces, walking_time_h


@dataclass(frozen=True, slots=True)
class WayTime:
    """Length and walking time of the way back, by two ways of going.

    Attributes
    ----------
    from_station, to_station, from_name, to_name
        Where it leads from and to.
    is_there
        True where the log says that the two are one marker; all else is then 0.
    direct_m, direct_h
        One azimuth, one count.
    legs_m, legs_h
        Leg by leg as walked, boxings included; nothing is known against this way but its length.
    """

    from_station: int
    to_station: int
    from_name: str | None
    to_name: str | None
    is_there: bool
    direct_m: float
    direct_h: float
    legs_m: float
    legs_h: float

    @property
    def longer_h(self) -> float:
        """The time to reckon with: the straight way may be barred."""
        return max(self.direct_h, self.legs_h)


def way_back_time(
    log: TravelLog,
    walker: Walker | None = None,
    *,
    rule: RuleName = "naismith",
    climb_m: float = 0.0,
    descent_m: float = 0.0,
    off_path: bool = True,
) -> WayTime:
    """Give how long it takes from the last station of a log back to its start, without rests.

    Parameters
    ----------
    log, walker
        The log, and the one who walks back.
    rule, off_path
        As in `walking_time_h`; who walks by azimuth is off path.
    climb_m, descent_m
        Metres up and down on the way back, taken as evenly steep.

    Raises
    ------
    MissingComplaint
        The log counts paces and the walker has no pace count.
    ValueComplaint
        A climb or a descent is negative or not finite.
    """
    walker = walker or Walker()
    way = way_back(log, walker)
    metres = 1.0 if way.unit == "metre" else walker.pace_m()

    def hours(length_m: float) -> float:
        lengths, rises = even_pieces(length_m, climb_m, descent_m)
        return float(walking_time_h(lengths, rises, rule=rule, off_path=off_path).sum())

    direct_m, legs_m = way.distance * metres, _legs_length(log, walker) * metres
    if way.is_there:
        direct_m = legs_m = climb_m = descent_m = 0.0
    return WayTime(
        way.from_station,
        way.to_station,
        way.from_name,
        way.to_name,
        way.is_there,
        direct_m,
        hours(direct_m),
        legs_m,
        hours(legs_m),
    )


def _legs_length(log: TravelLog, walker: Walker) -> float:
    """Give the length of all legs and of their boxings, in the unit of the walker's frame."""
    back = retrace(log, walker=walker)
    frame = walker_frame(back.heading, walker)
    boxed = sum(2.0 * box.offset for leg in back.legs for box in leg.boxes)
    return float(reckon(back, walker, frame).length.sum()) + boxed * frame.units_per_count
