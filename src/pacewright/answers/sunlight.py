"""A day of the sun: where it stands, a compass read by it, and daylight against the way back."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from pacewright.answers.daylight import TimedWay, time_way
from pacewright.answers.estimate import Estimate
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.walker import Walker
from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.ground.declination import FieldModel, decimal_year, declination_at
from pacewright.ground.sun import SunPosition, SunTrack, sun_position, sun_track
from pacewright.ground.sun_compass import CompassCheck, SunLine, SunSighting, check_compass
from pacewright.ground.sun_day import Daylight, SunDay, daylight, sun_day
from pacewright.route.daylight_check import DaylightCheck
from pacewright.route.travel_cost import RuleName

STATED_SD_DEG: Final = 0.5
"""A declination read off a map or told (assumed)."""
WIDEST_SD_DEG: Final = 30


@dataclass(frozen=True, slots=True)
class UsedDeclination:
    """A declination, how well it is known, and where it is from, in words; east is positive."""

    deg: float
    sd_deg: float
    origin: str


@dataclass(frozen=True, slots=True)
class CompassReading:
    """What a compass read by the sun, and how well stick and watch stood; as in `SunSighting`."""

    reading_deg: float
    line: SunLine = "shadow"
    wait_min: float = 30.0
    watch_sd_s: float = 60.0
    plumb_sd_deg: float = 1.5


@dataclass(frozen=True, slots=True)
class WalkBack:
    """How the way back is walked: climb and descent, off path or on one, the rule, the reserve.

    `reserve` is kept on top of the walking time; None for half of it, at least half an hour.
    """

    climb_m: float = 0.0
    descent_m: float = 0.0
    off_path: bool = True
    rule: RuleName = "naismith"
    reserve: datetime.timedelta | None = None


@dataclass(frozen=True, slots=True)
class SunAsked:
    """What is asked of the sun.

    Attributes
    ----------
    latitude_deg, longitude_deg, date
        Where and when.
    zone
        Of the clock.
    declination
        None where none is known: nothing magnetic is said then.
    when
        A moment of that day; None where the day alone is asked for.
    compass
        A reading to check; it needs the moment and the declination.
    back
        How the way back of the log is walked; it needs the moment.
    probability
        Share of the cases that a stated region holds.
    """

    latitude_deg: float
    longitude_deg: float
    date: datetime.date
    zone: datetime.tzinfo
    declination: UsedDeclination | None = None
    when: datetime.datetime | None = None
    compass: CompassReading | None = None
    back: WalkBack | None = None
    probability: float = DEFAULT_PROBABILITY


@dataclass(frozen=True, slots=True, eq=False)
class SunAnswer:
    """The day, the hours of it, and what was asked of one moment; None for what was not asked.

    `hours` are the full hours of the day by the clock, `track` is the sun at each of them.
    """

    asked: SunAsked
    day: SunDay
    hours: tuple[datetime.datetime, ...]
    track: SunTrack
    now: SunPosition | None = None
    light: Daylight | None = None
    check: CompassCheck | None = None
    timed: TimedWay | None = None
    enough: DaylightCheck | None = None

    @property
    def is_finding(self) -> bool:
        """True where the reader must look: a compass that is off, daylight too short, legs in doubt."""
        is_off = self.check is not None and self.check.is_off(self.asked.probability)
        if self.timed is None or self.enough is None or self.timed.is_there:
            return is_off
        return is_off or self.timed.is_doubted or not self.enough.is_enough


def answer_sun(asked: SunAsked, walker: Walker, estimate: Estimate | None = None) -> SunAnswer:
    """The day of the sun at a place, and what is asked of a moment of it.

    Parameters
    ----------
    asked
        Where and when, and what.
    walker
        Whose scatter of sightings a compass is checked with.
    estimate
        Where the log stands whose way back is set against daylight.

    Raises
    ------
    Complaint
        A compass or a way back is asked of no moment, a compass of no declination; the sun cannot be read
        then; or a figure is none.
    """
    where = (asked.latitude_deg, asked.longitude_deg)
    day = sun_day(*where, asked.date, asked.zone)
    start = datetime.datetime.combine(asked.date, datetime.time(0), asked.zone).astimezone(datetime.UTC)
    hours = tuple((start + datetime.timedelta(hours=h)).astimezone(asked.zone) for h in range(24))
    track = sun_track(*where, list(hours))
    if asked.when is None:
        return SunAnswer(asked, day, hours, track)
    now, light = sun_position(*where, asked.when), daylight(*where, asked.when)
    check = None if asked.compass is None else _checked(asked, asked.when, asked.compass, walker)
    timed = enough = None
    if asked.back is not None and estimate is not None:
        back = asked.back
        timed = time_way(estimate, climb_m=back.climb_m, descent_m=back.descent_m, off_path=back.off_path)
        enough = timed.check(back.rule, light, back.reserve)
    return SunAnswer(asked, day, hours, track, now, light, check, timed, enough)


def answer_days(asked: SunAsked, count: int) -> list[SunAnswer]:
    """The sun of days that follow one another from the date that is asked for.

    Raises
    ------
    ValueComplaint
        There is no such day in the calendar, or the sun is not known then.
    """
    try:
        dates = [asked.date + datetime.timedelta(days=k) for k in range(count)]
    except OverflowError:
        raise ValueComplaint(f"{count} days from {asked.date} is no date", "Give an earlier date") from None
    return [answer_sun(replace(asked, date=date), Walker()) for date in dates]


def azimuth_drift_deg(days: Sequence[SunAnswer]) -> float:
    """By how many degrees the sun at a full hour stands elsewhere on another of some days, at most.

    Only hours at which it is up on the first and on the last of them count.
    """
    first, last = days[0].track, days[-1].track
    apart = abs((last.azimuth_deg - first.azimuth_deg + 180.0) % 360.0 - 180.0)
    is_up = (first.elevation_deg >= 0.0) & (last.elevation_deg >= 0.0)
    return float(apart[is_up].max(initial=0.0))


def _checked(asked: SunAsked, when: datetime.datetime, read: CompassReading, walker: Walker) -> CompassCheck:
    if asked.declination is None:
        raise MissingComplaint(
            "a compass cannot be checked by the sun without the declination, and the tool's magnetic model "
            "does not hold for that date",
            "Give the declination, such as 5.5 E (0 if the compass is set to true north)",
        )
    return check_compass(
        SunSighting(
            asked.latitude_deg,
            asked.longitude_deg,
            when,
            read.reading_deg,
            read.line,
            declination_deg=asked.declination.deg,
            declination_sd_deg=asked.declination.sd_deg,
            sighting_sd_deg=walker.compass.sighting_sd_deg,
            reading_interval_deg=walker.compass.reading_interval_deg,
            watch_sd_s=read.watch_sd_s,
            plumb_sd_deg=read.plumb_sd_deg,
            wait_min=read.wait_min,
        )
    )


def declination_for_sun(
    model: FieldModel,
    where: tuple[float, float],
    date: datetime.date,
    stated_deg: float | None = None,
    sd_deg: float | None = None,
    origin: str = "as stated",
) -> UsedDeclination | None:
    """The declination as stated, else by the magnetic model; None where that does not hold.

    Parameters
    ----------
    model
        The magnetic model.
    where
        Latitude and longitude in degrees.
    date
        The day.
    stated_deg
        As read off a map or told, east positive.
    sd_deg
        How well it is known; half a degree, or as the model says, if not given.
    origin
        Where the stated one is from, in words.

    Raises
    ------
    ValueComplaint
        The standard deviation is none.
    """
    if sd_deg is not None and not 0 <= sd_deg <= WIDEST_SD_DEG:
        raise ValueComplaint(
            f"{sd_deg:g} degrees cannot be how well a declination is known",
            f"Give a number from 0 to {WIDEST_SD_DEG}",
        )
    if stated_deg is not None:
        return UsedDeclination(stated_deg, STATED_SD_DEG if sd_deg is None else sd_deg, origin)
    if not model.valid_from <= date < model.valid_to:
        return None
    found = declination_at(model, *where, decimal_year(date))
    own_sd_deg = found.declination_sd_deg if sd_deg is None else sd_deg
    return UsedDeclination(found.declination_deg, own_sd_deg, f"by {model.name}")
