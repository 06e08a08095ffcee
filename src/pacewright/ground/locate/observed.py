"""Back azimuths and markers met again, brought into a search."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from pacewright.core.adjust.adjustment import adjust_reckoning
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.observations import find_observations
from pacewright.core.way.reckoning import Reckoning
from pacewright.exceptions import Complaint
from pacewright.ground.locate.walk import Walk


def with_observed(walk: Walk, log: TravelLog, walker: Walker, reckoning: Reckoning) -> Walk:
    """Give the walk as markers met again and back azimuths have it, and as unsure as they leave it.

    Scatter that a closed round takes back again is left out of the legs that come after it: a search can
    only let scatter grow.
    """
    found = find_observations(log, walker, reckoning.frame)
    found = replace(found, fixes=(), bearings=())
    if not (found.ties or found.back_azimuths):
        return walk
    try:
        adjusted = adjust_reckoning(reckoning, found, walker.compass.bias_sd_deg)
    except Complaint:
        # What does not settle on one figure stands as written; a slip may be why, and is searched for.
        return walk
    if math.hypot(*(adjusted.place[-1] - reckoning.place[-1])) > 4.0 * max(walk.scatter_m, 1.0):
        return walk
    place = adjusted.place
    shared = (walk.bias_sd_rad**2 + walk.scale_sd**2) * (place**2).sum(axis=1)
    left = np.maximum(np.trace(adjusted.covariances(), axis1=1, axis2=2) - shared, 0.0)
    own = np.trace(walk.own_m2, axis1=1, axis2=2)
    grown = np.diff(np.maximum.accumulate(left))
    share = np.clip(grown / np.maximum(own, 1e-12), 0.02, 1.0)
    return replace(walk, place_m=place, own_m2=walk.own_m2 * share[:, None, None])
