"""The legs as the search for a mistake sees them scatter as the reckoning says."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.slips.leg_state import leg_states, steps_of
from pacewright.core.way.frames import map_frame, walker_frame
from pacewright.core.way.reckoning import reckon
from support.logs import log_of

WALKER = Walker(
    per_100_m=62.5,
    classes=(PaceClass("brush", None, None, 71.0, runs=4), PaceClass("", "up", None, 66.0, per_100_m_sd=1.0)),
)


@pytest.mark.parametrize("count", ["paces", "steps", "metres"])
@pytest.mark.parametrize("frame_of", [walker_frame, map_frame])
def test_own_scatter_and_classes_are_those_of_the_reckoning(count, frame_of):
    log = log_of(
        (305, 240, "[ground brush]"),
        (38, 185, "[est 15%]"),
        ("NE", 330, "[up]"),
        (97, 4),
        (213, 0),
        count=count,
    )
    frame = frame_of(log.heading, WALKER)
    reckoning, states = reckon(log, WALKER, frame), leg_states(log, WALKER, frame)
    everything = np.arange(5)
    covariance = states.scatter.covariances(everything, states.azimuth_rad, states.length)
    np.testing.assert_allclose(covariance[:2, :2].transpose(2, 0, 1), reckoning.own, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(
        np.cumsum(steps_of(states.azimuth_rad, states.length)[:2], axis=1).T, reckoning.place[1:], atol=1e-9
    )
    shared = {term.name: term.variance for term in reckoning.shared}
    of_classes = [v for name, v in shared.items() if name not in ("compass bias", "pace scale")]
    assert states.class_variance.tolist() == pytest.approx(of_classes)


def test_a_boxed_obstacle_adds_what_the_reckoning_adds_in_all():
    log = log_of((50, 300, "[box right 40]"), (50, 300))
    frame = walker_frame(log.heading, WALKER)
    reckoning, states = reckon(log, WALKER, frame), leg_states(log, WALKER, frame)
    covariance = states.scatter.covariances(np.arange(2), states.azimuth_rad, states.length)
    for i in range(2):
        assert np.trace(covariance[:2, :2, i]) == pytest.approx(np.trace(reckoning.own[i]))
