"""The ground that a way is counted on: by default that of the legs walked out on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import PaceClass, Slope, Walker
from pacewright.core.way.frames import class_error_name, class_ratio, class_ratio_sd
from pacewright.core.way.lead import WalkedLeg
from pacewright.core.way.reckoning import Reckoning
from pacewright.exceptions import MissingComplaint

TURNED_SLOPE: dict[Slope, Slope] = {"up": "down", "down": "up", "level": "level"}
ORDINARY = "ordinary ground"


@dataclass(frozen=True, slots=True)
class GroundOfWay:
    """What a way crosses, as the pace table sees it.

    Attributes
    ----------
    counts_per_unit
        Counts for one unit of distance on ordinary ground.
    shares
        The classes and the part of the way on each, the largest first; empty where the ordinary pace
        count stands for all of it.
    errors
        Name of each class's shared error, its share, and the variance of that error.
    others
        What is counted for one unit on the walker's other classes of ground, by name.
    """

    counts_per_unit: float = 1.0
    shares: tuple[tuple[str, float], ...] = ()
    errors: tuple[tuple[str, float, float], ...] = ()
    others: tuple[tuple[str, float], ...] = ()


def ground_of_way(
    log: TravelLog,
    walker: Walker,
    reckoning: Reckoning,
    legs: Sequence[WalkedLeg],
    ground: str | None = None,
    slope: Slope | None = None,
) -> GroundOfWay:
    """What a way is counted on: the ground named, or the mean over the classes of the legs walked.

    Parameters
    ----------
    log, walker, reckoning
        The log, who walks, and the log in the walker's frame.
    legs
        The legs that the way goes back over, or that it stands for.
    ground, slope
        What the way crosses instead; ordinary ground where only a slope that the table does not tell
        apart is named.

    Raises
    ------
    MissingComplaint
        The pace table lacks a class that is named.
    """
    if ground is not None or slope is not None:
        parts: list[tuple[PaceClass | None, float]] = [(walker.pace_class(ground, slope), 1.0)]
    else:
        parts = _walked(log, walker, reckoning, legs)
    shares: dict[PaceClass | None, float] = {}
    for one, length in parts:
        shares[one] = shares.get(one, 0.0) + length
    total = sum(shares.values()) or 1.0
    told = sorted(((one, length / total) for one, length in shares.items()), key=lambda part: -part[1])
    per = sum(share * (1.0 if one is None else 1.0 / class_ratio(one, walker)) for one, share in told)
    is_told = any(one is not None for one, _ in told)
    return GroundOfWay(
        counts_per_unit=per if told else 1.0,
        shares=tuple((_name(one), share) for one, share in told) if is_told else (),
        errors=tuple(
            (class_error_name(one), share, class_ratio_sd(one, walker) ** 2)
            for one, share in told
            if one is not None
        ),
        others=_others(walker, {_name(one) for one, _ in told}),
    )


def _walked(
    log: TravelLog, walker: Walker, reckoning: Reckoning, legs: Sequence[WalkedLeg]
) -> list[tuple[PaceClass | None, float]]:
    """The class and length of every leg, up turned to down where it is walked back."""
    # Metres were made of paces already, by whatever pace count the walker had for the ground.
    if not walker.classes or log.heading.count_unit == "metres":
        return []
    rows = log.legs
    found = []
    for one in legs:
        row = rows[one.leg - 1]
        slope = TURNED_SLOPE[row.slope] if row.slope is not None and one.is_back else row.slope
        try:
            crossed = walker.pace_class(row.ground, slope)
        except MissingComplaint:
            # The table tells this ground on the slope that was walked out on, and not on its other side.
            crossed = walker.pace_class(row.ground, row.slope)
        found.append((crossed, float(reckoning.length[one.leg - 1])))
    return found


def _others(walker: Walker, told: set[str]) -> tuple[tuple[str, float], ...]:
    if walker.per_100_m is None or not walker.classes:
        return ()
    every = {ORDINARY: 1.0} | {_name(one): 1.0 / class_ratio(one, walker) for one in walker.classes}
    return tuple((name, per) for name, per in every.items() if name not in told)


def _name(one: PaceClass | None) -> str:
    if one is None:
        return ORDINARY
    return " ".join(filter(None, (one.ground, one.slope))) or ORDINARY
