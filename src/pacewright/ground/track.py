"""A recorded track, as places and times in the order walked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """Where somebody went.

    Attributes
    ----------
    latitude_deg, longitude_deg
        Shape (m,), m >= 2, on the WGS 84 ellipsoid.
    time_s
        Seconds of Universal Time since 1970 of each point, shape (m,); not a number where it has none.
    """

    latitude_deg: Array
    longitude_deg: Array
    time_s: Array

    @property
    def has_times(self) -> bool:
        """Whether every point has its time, none earlier than the one before."""
        return bool(np.isfinite(self.time_s).all() and (np.diff(self.time_s) >= 0).all())
