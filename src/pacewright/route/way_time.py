"""How long a way takes: straight, and leg by leg as walked."""

from __future__ import annotations

from dataclasses import dataclass

from pacewright.route.travel_cost import RuleName, even_pieces, walking_time_h


@dataclass(frozen=True, slots=True)
class WayTime:
    """Length and walking time of the way back, by two ways of going.

    Attributes
    ----------
    direct_m, direct_h
        One azimuth, one count.
    legs_m, legs_h
        Leg by leg as walked, boxings included; nothing is known against this way but its length.
    """

    direct_m: float
    direct_h: float
    legs_m: float
    legs_h: float

    @property
    def longer_h(self) -> float:
        """The time to reckon with: the straight way may be barred."""
        return max(self.direct_h, self.legs_h)


def way_time(
    direct_m: float,
    legs_m: float,
    *,
    rule: RuleName = "naismith",
    climb_m: float = 0.0,
    descent_m: float = 0.0,
    off_path: bool = True,
) -> WayTime:
    """How long a way takes, straight and leg by leg, without rests.

    Parameters
    ----------
    direct_m, legs_m
        Its length either way, boxings included; both 0 where there is no way to walk.
    rule, off_path
        As in `walking_time_h`; who walks by azimuth is off path.
    climb_m, descent_m
        Metres up and down on the way back, taken as evenly steep.

    Raises
    ------
    ValueComplaint
        A climb or a descent is negative or not finite.
    """

    def hours(length_m: float) -> float:
        if not length_m:
            return 0.0
        lengths, rises = even_pieces(length_m, climb_m, descent_m)
        return float(walking_time_h(lengths, rises, rule=rule, off_path=off_path).sum())

    return WayTime(direct_m, hours(direct_m), legs_m, hours(legs_m))
