"""The log without each of many slips in its legs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pacewright.core.slips.slips import AnySlip
from pacewright.core.slips.trial_logs import LogModel, Trials
from pacewright.core.way.frames import Frame


def slip_trials(slips: Sequence[AnySlip], model: LogModel, frame: Frame) -> Trials:
    """The log without each of the slips, in order."""
    most = max((len(slip.legs) for slip in slips), default=0)
    changes = []
    for place in range(most):
        at = [i for i, slip in enumerate(slips) if len(slip.legs) > place]
        change = model.unchanged(len(slips))
        entries = [slips[i].entries[place] for i in at]
        leg = np.array([slips[i].legs[place] - 1 for i in at], dtype=np.int64)
        azimuth_deg = np.array([entry.reading.azimuth_deg for entry in entries]) + frame.turn_deg
        length = np.array([entry.count for entry in entries]) * model.states.scatter.unit[leg]
        some = model.changed_leg(leg, np.deg2rad(azimuth_deg % 360.0), length)
        change.leg[at], change.shift[:, at], change.own[:, :, at] = some.leg, some.shift, some.own
        change.lever[:, at] = some.lever
        changes.append(change)
    return Trials(tuple(changes), np.deg2rad(np.array([slip.turn_deg for slip in slips], dtype=np.float64)))
