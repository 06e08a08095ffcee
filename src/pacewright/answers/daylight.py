"""How long the way back takes, by every rule, and whether daylight lasts for it."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from pacewright.answers.estimate import Estimate, as_written_in_paces
from pacewright.answers.way import WayAnswer, WayAsked, answer_way
from pacewright.ground.sun_day import Daylight
from pacewright.route.daylight_check import DaylightCheck, check_daylight
from pacewright.route.travel_cost import RULES, RuleName
from pacewright.route.way_time import WayTime, way_time


@dataclass(frozen=True, slots=True, eq=False)
class TimedWay:
    """The way back to the start and what it takes.

    Attributes
    ----------
    answer
        The way, and whether its legs may hold a mistake.
    times
        By the name of a rule.
    farthest_m
        The farthest that the walker may be from the start while a mistake is likely; 0 where none is.
    """

    answer: WayAnswer
    times: Mapping[RuleName, WayTime]
    farthest_m: float

    @property
    def is_there(self) -> bool:
        """True where the log itself says that the walker is back."""
        return self.answer.way.is_there

    @property
    def is_doubted(self) -> bool:
        """True where the legs may hold a mistake, so that no time to set out can be given."""
        return self.answer.doubt.is_warned

    def check(
        self, rule: RuleName, daylight: Daylight, reserve: datetime.timedelta | None = None
    ) -> DaylightCheck:
        """Daylight left against the longer of the two ways to go back."""
        needed = datetime.timedelta(hours=self.times[rule].longer_h)
        return check_daylight(daylight, needed, reserve)


def time_way(
    estimate: Estimate, *, climb_m: float = 0.0, descent_m: float = 0.0, off_path: bool = True
) -> TimedWay:
    """How long it takes from the last station of a log back to its start, without rests.

    Parameters
    ----------
    estimate
        Where the log stands.
    climb_m, descent_m
        Metres up and down on the way back, taken as evenly steep.
    off_path
        Who walks by azimuth is off path.

    Raises
    ------
    MissingComplaint
        The log counts paces and the walker has no pace count.
    ValueComplaint
        A climb or a descent is negative or not finite.
    """
    log = estimate.log
    answer = answer_way(estimate, WayAsked(len(log.legs), with_retrace=True))
    metres = 1.0 if answer.way.unit == "metre" else estimate.walker.pace_m()
    # Where a map tells how far it is, the way is as long as `back` says.
    figure = answer.way.map_figure
    direct_m = answer.way.distance * metres if figure is None else figure.length_m
    legs_m = _legs_length(estimate, answer) * metres
    if answer.way.is_there:
        direct_m = legs_m = 0.0
    times = {
        rule.name: way_time(
            direct_m, legs_m, rule=rule.name, climb_m=climb_m, descent_m=descent_m, off_path=off_path
        )
        for rule in RULES.values()
    }
    farthest = max((one.distance for one in answer.doubt.islands), default=0.0)
    return TimedWay(answer, times, farthest * metres)


def _legs_length(estimate: Estimate, answer: WayAnswer) -> float:
    """The length of the legs back and of their boxings, in the unit of the walker's frame."""
    if answer.retraced is None:
        return 0.0
    back = answer.retraced.log
    walked = as_written_in_paces(back, estimate.walker)
    boxed = sum(2.0 * box.offset for leg in back.legs for box in leg.boxes)
    return float(walked.length.sum()) + boxed * walked.frame.units_per_count
