"""A log held against its plan: rows follow their cards, unless two cards or rows were exchanged."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.leg_prior import log_lengths
from pacewright.core.slips.leg_state import leg_states
from pacewright.core.slips.slips import KIND_WEIGHT, AnySlip
from pacewright.core.way.frames import Frame
from pacewright.exceptions import MissingComplaint

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

FOLLOWS_SHARE: Final = 0.9
FOLLOWS_SD_DEG: Final = 3.0
FOLLOWS_LENGTH_SD: Final = 0.1
"""Nine rows in ten follow their card: within 3 degrees, and a tenth of the length (one sd; assumed)."""
OTHER_LENGTH_SD: Final = 0.7
"""The others go anywhere, with the lengths of the plan's legs within a factor of two (assumed)."""
IN_WRITING_SHARE: Final = 0.5
"""Two legs exchanged: half of the time the rows in writing, half of the time the cards in walking, while the
rows were taken from the plan (assumed)."""
HONEST_WEIGHT: Final = KIND_WEIGHT["rows_exchanged"] / sum(KIND_WEIGHT.values())
"""The share of logs of which two cards were exchanged in walking and the rows tell it truly: as often as the
mistake among those that are brought (assumed)."""


@dataclass(frozen=True, slots=True, eq=False)
class PlanPrior:
    """What a plan lets expect of each row; n legs.

    Attributes
    ----------
    azimuth_rad, log_length
        Of the plan's legs, shape (n,).
    written_azimuth_rad, written_log_length
        Of the log's, shape (n,).
    """

    azimuth_rad: Array
    log_length: Array
    written_azimuth_rad: Array
    written_log_length: Array

    def log_ratio(self, leg: Ints, azimuth_rad: Array, log_length: Array) -> Array:
        """How much likelier rows are when changed, each as a logarithm, shape (h,)."""
        now = self._log_density(leg, azimuth_rad, log_length)
        written = self._log_density(leg, self.written_azimuth_rad[leg], self.written_log_length[leg])
        return now - written

    def finish(self, slips: Sequence[AnySlip], ratio: Array) -> Array:
        """The ratios of slips once it is weighed that the cards themselves may have been exchanged.

        Parameters
        ----------
        slips
            The slips.
        ratio
            Of each the sum over its rows, shape (h,).
        """
        exchanged = np.array([slip.kind == "rows_exchanged" for slip in slips], dtype=bool)
        at = np.flatnonzero(exchanged)
        if not at.size:
            return ratio
        found = [slips[int(i)] for i in at]
        pairs = np.array([slip.legs for slip in found])
        rate = HONEST_WEIGHT * np.exp([slip.place_weight for slip in found])
        honest = rate * np.exp(np.minimum(ratio[at], 500.0))
        of_leg = np.zeros(self.azimuth_rad.size + 1)
        np.add.at(of_leg, pairs.ravel(), np.repeat(honest, 2))
        total = float(honest.sum())
        # What changes a row of an exchanged pair cannot be had beside that exchange.
        first = np.array([slip.legs[0] if slip.legs else 0 for slip in slips])
        last = np.array([slip.legs[-1] if slip.legs else 0 for slip in slips])
        beside = of_leg[first] + np.where(last > first, of_leg[last], 0.0)
        beside[at] -= honest
        ratio = ratio.copy()
        ratio[at] = np.log(1.0 - IN_WRITING_SHARE + IN_WRITING_SHARE * np.exp(np.minimum(ratio[at], 500.0)))
        left: Array = ratio + np.log1p(np.maximum(total - beside, 0.0)) - math.log1p(total)
        return left

    def _log_density(self, leg: Ints, azimuth_rad: Array, log_length: Array) -> Array:
        off = (azimuth_rad - self.azimuth_rad[leg] + np.pi) % (2.0 * np.pi) - np.pi
        longer = log_length - self.log_length[leg]
        sd_rad = math.radians(FOLLOWS_SD_DEG)
        follows = np.exp(-0.5 * ((off / sd_rad) ** 2 + (longer / FOLLOWS_LENGTH_SD) ** 2))
        follows /= 2.0 * np.pi * sd_rad * FOLLOWS_LENGTH_SD
        usual = log_length - self.log_length.mean()
        other = np.exp(-0.5 * (usual / OTHER_LENGTH_SD) ** 2) / (math.sqrt(2.0 * np.pi) * OTHER_LENGTH_SD)
        density: Array = np.log(
            FOLLOWS_SHARE * follows + (1.0 - FOLLOWS_SHARE) * other / (2.0 * np.pi) + 1e-300
        )
        return density


def check_pairs(log: TravelLog, plan: TravelLog) -> None:
    """Refuse a plan whose rows do not pair with those of a log.

    Raises
    ------
    MissingComplaint
        The plan has other legs, another north, or another unit of counts.
    """
    if len(plan.legs) != len(log.legs):
        raise MissingComplaint(
            f"the plan has {len(plan.legs)} legs and the log {len(log.legs)}, row by row they do not pair",
            "Give the plan of this log, or leave --plan away",
        )
    ours, theirs = log.heading, plan.heading
    if (ours.azimuth_reference, ours.count_unit) != (theirs.azimuth_reference, theirs.count_unit):
        raise MissingComplaint(
            f"the plan is in {theirs.azimuth_reference} azimuths and {theirs.count_unit}, the log in "
            f"{ours.azimuth_reference} azimuths and {ours.count_unit}",
            "Write the plan as the log was read and counted",
        )


def fit_plan_prior(log: TravelLog, plan: TravelLog, walker: Walker, frame: Frame) -> PlanPrior:
    """Hold a log against its plan, row by row.

    Raises
    ------
    MissingComplaint
        The plan has other legs, another north, or another unit of counts.
    """
    check_pairs(log, plan)
    planned, written = leg_states(plan, walker, frame), leg_states(log, walker, frame)
    return PlanPrior(
        planned.azimuth_rad,
        log_lengths(planned.length),
        written.azimuth_rad,
        log_lengths(written.length),
    )
