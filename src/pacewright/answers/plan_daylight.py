"""When a plan comes to each station, and until when one can still turn back there: by the sun alone."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from pacewright.answers.plan import PlanAnswer
from pacewright.answers.plan_question import rest_share
from pacewright.ground.sun_day import daylight
from pacewright.route.daylight_check import usual_reserve
from pacewright.route.planning.land import PlanLand
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.step import SET_OUT_MIN


@dataclass(frozen=True, slots=True)
class TimedStation:
    """One station of a plan by the clock.

    Attributes
    ----------
    arrive
        When the plan comes there, rests included.
    turn_back_by
        The latest moment to turn back to the start from there with the reserve whole; None where the sun does
        not set, or is down when one sets out. Before `arrive`, it is too late there.
    """

    arrive: datetime.datetime
    turn_back_by: datetime.datetime | None


@dataclass(frozen=True, slots=True)
class PlanByDay:
    """A plan against the daylight; the moon is not counted on.

    Attributes
    ----------
    leave, sunset
        When one sets out, and the next sunset; None where the sun does not set within a day.
    is_light, sunrise
        Whether the sun is up when one sets out, and when it rises next where it is down.
    stations
        The end of every leg.
    reserve
        Kept between the end and sunset.
    is_before_dark
        Whether the plan ends by daylight with its reserve.
    """

    leave: datetime.datetime
    sunset: datetime.datetime | None
    stations: tuple[TimedStation, ...]
    reserve: datetime.timedelta
    is_before_dark: bool
    is_light: bool = True
    sunrise: datetime.datetime | None = None


def plan_by_day(
    answer: PlanAnswer, latitude_deg: float, longitude_deg: float, leave: datetime.datetime
) -> PlanByDay:
    """Put a plan by the clock.

    Parameters
    ----------
    answer
        The plan.
    latitude_deg, longitude_deg
        Of the start.
    leave
        When one sets out; says its zone.

    Raises
    ------
    ValueComplaint
        The moment says no zone, or the place is none on the earth.
    """
    light = daylight(latitude_deg, longitude_deg, leave)
    share = rest_share(answer.asked)
    back_min, stations = 0.0, []
    for one in answer.legs:
        back_min += share * _back_min(answer.land, one.told.leg)
        back = datetime.timedelta(minutes=back_min)
        by = None if light.sunset is None or not light.is_up else light.sunset - back - usual_reserve(back)
        stations.append(TimedStation(leave + datetime.timedelta(minutes=one.leave_min), by))
    needed = datetime.timedelta(minutes=answer.minutes)
    reserve = usual_reserve(needed)
    is_enough = light.is_up and (light.sunset is None or leave + needed + reserve <= light.sunset)
    return PlanByDay(
        leave, light.sunset, tuple(stations), reserve, is_enough, light.is_up, light.sunrise
    )  # fmt: skip


def _back_min(land: PlanLand, leg: PlanLeg) -> float:
    if leg.follows and leg.line is not None and leg.along is not None:
        return land.follow_min(leg.line, leg.along, leg.along - leg.way * leg.length_m) + SET_OUT_MIN
    return land.straight_min(leg.to_m, leg.from_m) + SET_OUT_MIN
