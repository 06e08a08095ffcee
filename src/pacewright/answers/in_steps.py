"""An answer in the unit that a log counts: a log of steps is walked back in steps, the cord included."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from pacewright.answers.way import WayAnswer
from pacewright.core.pace.tally import tally_of_count
from pacewright.core.way.aiming_off import AimingOff
from pacewright.core.way.search_pattern import ExpandingSquare, LineSearch, Overshoot, SearchLeg
from pacewright.core.way.way_back import WayBack

_STEPS: Final = 2
"""In a pace."""


def as_counted(found: WayAnswer) -> WayAnswer:
    """The same way in the unit that the log counts: in steps where it counts steps.

    A count is twice the count in whole paces, so that no two pages about one log differ.
    """
    if found.log.heading.count_unit != "steps":
        return found
    turn, square, back = found.turn, found.square, found.retraced
    return replace(
        found,
        way=_way(found.way),
        turn=Overshoot(*(_STEPS * one for one in (turn.look_from, turn.expect_at, turn.stop_at))),
        aim=_aim(found.aim) if isinstance(found.aim, AimingOff) else found.aim,
        square=_search(square) if isinstance(square, ExpandingSquare | LineSearch) else square,
        retraced=back
        and replace(
            back,
            along=_STEPS * back.along,
            across=_STEPS * back.across,
            covariance=_STEPS**2 * back.covariance,
        ),
    )


def _way(way: WayBack) -> WayBack:
    return replace(
        way,
        unit="step",
        distance=_STEPS * way.distance,
        count=_STEPS * way.count,
        other_counts=tuple((name, _STEPS * count) for name, count in way.other_counts),
        tally=tally_of_count(_STEPS * way.count),
        covariance=_STEPS**2 * way.covariance,
        along=_STEPS * way.along,
        across=_STEPS * way.across,
    )


def _aim(aim: AimingOff) -> AimingOff:
    return replace(
        aim,
        unit="step",
        count=_STEPS * aim.count,
        offset=_STEPS * aim.offset,
        line_from=_STEPS * aim.line_from,
        line_by=_STEPS * aim.line_by,
        tally=tally_of_count(_STEPS * aim.count),
        follow_to=_STEPS * aim.follow_to,
        line_sd=_STEPS * aim.line_sd,
    )


def _search(search: ExpandingSquare | LineSearch) -> ExpandingSquare | LineSearch:
    legs = tuple(
        SearchLeg(one.azimuth_deg, _STEPS * one.length, _STEPS * one.total, one.seen_share)
        for one in search.legs
    )
    if isinstance(search, LineSearch):
        return replace(search, legs=legs)
    return replace(search, legs=legs, spacing=_STEPS * search.spacing)
