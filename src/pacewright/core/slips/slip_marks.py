"""How far each slip in a leg shows in what was observed, in standard deviations of the log without it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pacewright.core.slips.leg_terms import changed_terms
from pacewright.core.slips.normal_batch import factor
from pacewright.core.slips.residuals import lay
from pacewright.core.slips.trial_logs import HANDLING, NOTHING, LogModel, Trials

Array = NDArray[np.float64]


def find_marks(model: LogModel, trials: Trials) -> Array:
    """By how many standard deviations each trial's legs move the residuals, shape (h,).

    Parameters
    ----------
    model, trials
        The log, and the log without each slip.
    """
    rows, h, p = model.rows, trials.size, model.rows.pairs
    laid, nothing = lay(model, trials), lay(model, NOTHING)
    held = laid.at()
    pairs = np.zeros((rows.pair_sign.shape[0], 2, h))
    pairs[:p] = laid.target - nothing.target
    square, score = np.zeros(h), np.zeros(h)
    for change in trials.changes:
        terms = changed_terms(model, change, 1.0, 0)
        # What was read backward says how the leg ran: a leg that reads otherwise is told otherwise by it.
        mean = change.shift[:2] + terms.drawn[0] * change.shift[2]
        pairs -= rows.pair_sign[:, change.leg][:, None] * mean
        square += terms.weight * change.shift[2] ** 2
        score -= terms.weight * change.shift[2]
    moved = pairs[:p].reshape(2 * p, h)
    if laid.sight is not None and nothing.sight is not None:
        pairs[p:] += (laid.sight.place - nothing.sight.place).transpose(1, 0, 2)
        moved = np.concatenate([moved, np.einsum("bah,abh->bh", pairs[p:], laid.sight.across)])
    told = held.told.covariance[0, 0]
    moved = moved - held.lever[HANDLING] * (told * score)
    white = factor(held.covariance).whiten(moved)
    mark: Array = np.sqrt(np.maximum(square - told * score**2, 0.0) + np.einsum("mh,mh->h", white, white))
    return mark
