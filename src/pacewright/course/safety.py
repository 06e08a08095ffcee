"""What every learner carries in case of trouble, and when a learner is to be expected back."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from pacewright.exceptions import ValueComplaint

LONGEST_SAID: Final = 60
"""More letters do not fit the strip of a card."""
_CLOCK: Final = re.compile(r"([01]?\d|2[0-3]):[0-5]\d")


@dataclass(frozen=True, slots=True)
class Safety:
    """What stands on the strip of every card and phone page; the instructor sets it, and it may be empty.

    Attributes
    ----------
    backstop
        The road, stream or fence that somebody lost walks to.
    backstop_azimuth_deg
        The azimuth that leads there from anywhere on the course, from the course's own north.
    backstop_within_m
        No farther than this from anywhere on the course.
    back_by
        By what clock everybody is back, such as 15:30.
    recall
        The signal that calls everybody in.
    call
        The number to call.
    """

    backstop: str = ""
    backstop_azimuth_deg: float | None = None
    backstop_within_m: float | None = None
    back_by: str = ""
    recall: str = ""
    call: str = ""

    def __post_init__(self) -> None:
        for what, said in (("backstop", self.backstop), ("recall", self.recall), ("call", self.call)):
            if len(said) > LONGEST_SAID or any(letter in said for letter in "\r\n"):
                raise ValueComplaint(
                    f"what is said of the {what} does not fit the strip of a card",
                    f"Say it on one line of at most {LONGEST_SAID} letters",
                )
        azimuth_deg, within_m = self.backstop_azimuth_deg, self.backstop_within_m
        if azimuth_deg is not None and not 0.0 <= azimuth_deg < 360.0:
            raise ValueComplaint(
                f"{azimuth_deg:g} is not an azimuth to the backstop", "Write degrees from 0 to less than 360"
            )
        if within_m is not None and not 0.0 < within_m <= 1e5:
            raise ValueComplaint(
                f"a backstop is not met within {within_m:g} m", "Write metres above 0, up to 100000"
            )
        if self.back_by and not _CLOCK.fullmatch(self.back_by):
            raise ValueComplaint(
                f"{self.back_by[:20]} is not a time of day", "Write hours and minutes, such as 15:30"
            )


@dataclass(frozen=True, slots=True)
class Timing:
    """What the return of a learner is reckoned with.

    Attributes
    ----------
    metres_per_hour
        On the level: 3,000 over mixed ground (Soldier's Manual of Common Tasks, task 071-329-1006).
    climb_m_per_hour
        Metres climbed that take an hour more: 600 (W. W. Naismith, 1892, in its metric form).
    at_post_min
        At each post (assumed).
    search_min
        Allowed on a whole card for searching, boxing and rest before somebody is overdue: 20 (assumed).
    """

    metres_per_hour: float = 3000.0
    climb_m_per_hour: float = 600.0
    at_post_min: float = 3.0
    search_min: float = 20.0

    def __post_init__(self) -> None:
        if not (0 < self.metres_per_hour < 1e5 and 0 < self.climb_m_per_hour < 1e5):
            raise ValueComplaint(
                f"nobody walks {self.metres_per_hour:g} m an hour and climbs {self.climb_m_per_hour:g} m",
                "Give both above 0",
            )
        if not (0 <= self.at_post_min <= 600 and 0 <= self.search_min <= 600):
            raise ValueComplaint(
                "the minutes at a post or for searching cannot be", "Give minutes from 0 to 600"
            )

    def expected_min(self, length_m: float, climb_m: float, posts: int) -> int:
        """After how many minutes somebody is to be back, rounded up.

        >>> Timing().expected_min(3000.0, 0.0, 6)
        98
        """
        walking = 60.0 * (length_m / self.metres_per_hour + climb_m / self.climb_m_per_hour)
        return math.ceil(walking + self.at_post_min * posts + self.search_min - 1e-9)
