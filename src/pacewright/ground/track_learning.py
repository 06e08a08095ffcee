"""What a match of log and track hands on to learning: figures that the track alone tells."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacewright.core.learn.evidence import Told
from pacewright.core.learn.track_evidence import TrackedWalk
from pacewright.core.way.reckoning import Reckoning
from pacewright.ground.track_fit import AZIMUTH_SCATTER, COUNT_SCATTER, TURN, scale_rows
from pacewright.ground.track_match import Match

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Grounds:
    """On which ground each leg lies.

    Attributes
    ----------
    names
        Under which each ground's error is shared; the first is the ordinary ground, with no name.
    sd
        How well each is known beside the ordinary ground, as a fraction, shape (g,).
    of_leg
        Where in these each leg's ground stands, shape (n,).
    """

    names: tuple[str, ...]
    sd: Array
    of_leg: NDArray[np.intp]


def find_grounds(reckoning: Reckoning) -> Grounds:
    """The classes of ground that a log was walked on, as far as each has an error of its own."""
    names, sds = [""], [0.0]
    of_leg = np.zeros(reckoning.last, dtype=np.intp)
    for term in reckoning.shared:
        if term.name.startswith("ground ") and term.variance > 0:
            of_leg[np.diff(term.lever, axis=0).any(axis=1)] = len(names)
            names.append(term.name)
            sds.append(math.sqrt(term.variance))
    return Grounds(tuple(names), np.array(sds), of_leg)


def told_by_track(
    match: Match,
    grounds: Grounds,
    usable: Array,
    *,
    fits: bool,
    counts_paces: bool,
    declination_sd_deg: float,
) -> TrackedWalk:
    """What a track tells of the walker.

    Parameters
    ----------
    match, grounds
        Log and track laid on each other, and the grounds of the log.
    usable
        How far each leg tells a pace count, from 0 to 1: 0 for an estimate, less where a mistake is likely;
        shape (n,).
    fits, counts_paces
        Of the whole log.
    declination_sd_deg
        How well the declination is known, where azimuths are magnetic: it turns all legs as a compass does.
    """
    value, covariance = match.alone, match.alone_covariance
    rows = scale_rows(len(grounds.names))
    turn_variance = covariance[TURN, TURN] + declination_sd_deg**2
    legs_on = np.bincount(grounds.of_leg, weights=usable, minlength=len(grounds.names))
    return TrackedWalk(
        fits=fits,
        counts_paces=counts_paces,
        turn=Told(math.radians(value[TURN]), math.radians(1.0) ** 2 * float(turn_variance)),
        grounds=grounds.names,
        legs_on=np.asarray(legs_on, dtype=np.float64),
        length=value[rows] / 100.0,
        length_covariance=covariance[np.ix_(rows, rows)] / 1e4,
        azimuth=Told(float(value[AZIMUTH_SCATTER]), float(covariance[AZIMUTH_SCATTER, AZIMUTH_SCATTER])),
        count=Told(float(value[COUNT_SCATTER]), float(covariance[COUNT_SCATTER, COUNT_SCATTER])),
        legs=len(usable),
    )
