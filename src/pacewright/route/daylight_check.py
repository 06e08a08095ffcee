"""Whether the way back can be walked by daylight, with time to spare."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Final

from pacewright.exceptions import ValueComplaint
from pacewright.ground.sun_day import Daylight

RESERVE_SHARE: Final = 0.5
"""Half the walking time more: a rule is off by as much on bad ground, and a search takes time (assumed)."""

LEAST_RESERVE: Final = datetime.timedelta(minutes=30)
"""However short the way (assumed)."""


@dataclass(frozen=True, slots=True)
class DaylightCheck:
    """Daylight left against the time the way back takes.

    Attributes
    ----------
    daylight
        What is left at the moment.
    needed
        Walking time by the rule.
    reserve
        Kept on top of it.
    spare
        What is left of the daylight after both, negative where it is too short; None where the sun does not
        set within a day.
    set_out_by
        The latest moment to set out with the reserve whole; None where the sun does not set, or is down.
    """

    daylight: Daylight
    needed: datetime.timedelta
    reserve: datetime.timedelta
    spare: datetime.timedelta | None
    set_out_by: datetime.datetime | None

    @property
    def is_enough(self) -> bool:
        """True where walking time and reserve end before sunset."""
        return self.spare is None or self.spare >= datetime.timedelta(0)


def usual_reserve(needed: datetime.timedelta) -> datetime.timedelta:
    """The reserve of time kept on top of a walk: half of it, and at least half an hour.

    >>> usual_reserve(datetime.timedelta(hours=2)), usual_reserve(datetime.timedelta(minutes=10))
    (datetime.timedelta(seconds=3600), datetime.timedelta(seconds=1800))
    """
    return max(needed * RESERVE_SHARE, LEAST_RESERVE)


def check_daylight(
    daylight: Daylight, needed: datetime.timedelta, reserve: datetime.timedelta | None = None
) -> DaylightCheck:
    """Compare the daylight left with the time a way takes.

    Parameters
    ----------
    daylight
        What is left at the moment of setting out.
    needed
        Walking time.
    reserve
        To keep on top of it; by default `usual_reserve`.

    Raises
    ------
    ValueComplaint
        A time is negative.
    """
    kept = usual_reserve(needed) if reserve is None else reserve
    if min(needed, kept) < datetime.timedelta(0):
        raise ValueComplaint("a walking time or a reserve is negative", "Give minutes, 0 or more")
    if daylight.left is None:
        return DaylightCheck(daylight, needed, kept, None, None)
    set_out_by = daylight.sunset - needed - kept if daylight.is_up and daylight.sunset else None
    return DaylightCheck(daylight, needed, kept, daylight.left - needed - kept, set_out_by)
