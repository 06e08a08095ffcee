"""Adjusted stations against made-up walks: regions that hold their share, and no worse than the compass rule.

Walks come from a simulator that shares no code with the tool. Fixed seeds, 800 walks a case. Of one walk
the stations move together, so that a share of 95 % is known to about 0.6 % (one sd).
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from pacewright.core.adjust.adjustment import adjust
from pacewright.core.adjust.traverse_rules import adjust_parts
from pacewright.core.way.frames import map_frame
from pacewright.core.way.regions import reach_of
from support.logs import walker_like
from support.made_adjustments import PLACES, draw_controlled

INES = walker_like()
WALKS = 800

pytestmark = pytest.mark.statistical


def by_compass_rule(reckoning, controls):
    """Spread every misclosure by hand: `controls` are stations with the place that each should have."""
    place = reckoning.place.copy()
    steps = np.diff(place, axis=0)
    for (first, start), (last, goal) in pairwise(controls):
        legs = slice(first, last)
        done = adjust_parts(
            *steps[legs].T, length=reckoning.length[legs], start=tuple(start), close_on=tuple(goal)
        )
        place[first : last + 1] = np.stack([done.east, done.north], axis=1)
    return place


@pytest.mark.parametrize(
    ("shape", "legs", "known", "tower", "ratio"),
    [
        # Ratios of rms errors, least squares to compass rule, found beforehand with another simulator.
        ("loop", 10, (), "", (0.96, 1.0)),
        ("loop", 20, (), "", (0.96, 1.0)),
        ("loop", 10, ("middle",), "", (0.82, 0.96)),
        ("loop", 20, ("middle",), "", (0.78, 0.94)),
        ("loop", 20, (), "known", (0.6, 0.9)),
        ("wander", 20, ("end",), "", (0.86, 0.97)),
    ],
)
def test_adjusted_stations_keep_their_promise(shape, legs, known, tower, ratio):
    rng = np.random.default_rng(legs + 100 * len(known))
    inside, least_squares, compass, seen = [], [], [], []
    for _ in range(WALKS):
        made = draw_controlled(rng, shape, legs, known=known, tower=tower)
        adjustment = adjust(made.log, INES, map_frame(made.log.heading, INES))
        last = len(made.places_m) - 1
        controls = [(0, (0.0, 0.0))]
        for name in sorted(known, key=PLACES.__getitem__):
            controls.append((round(PLACES[name] * last), made.notes.known[f"Point {name}"][:2]))
        controls += [(last, (0.0, 0.0))] if shape == "loop" else []
        rule = by_compass_rule(adjustment.reckoning, controls)
        free = np.setdiff1d(np.arange(1, last), [station for station, _ in controls])
        off = (adjustment.place - made.places_m)[free]
        distance2 = np.einsum("ni,nij,nj->n", off, np.linalg.inv(adjustment.covariances()[free]), off)
        inside.append((distance2 < reach_of(0.95) ** 2).mean())
        least_squares.append((off**2).sum(axis=1).mean())
        compass.append(((rule - made.places_m)[free] ** 2).sum(axis=1).mean())
        bias = adjustment.find_parameter("compass bias")
        if bias.observable:
            seen.append((bias.value - made.bias_deg) / bias.sd)
    found = np.sqrt(np.mean(least_squares) / np.mean(compass))
    assert 0.94 <= np.mean(inside) <= 0.97
    assert ratio[0] < found < ratio[1]
    if known:
        # The bias is told with the uncertainty that it has: chi-square, five sds of sampling.
        assert np.mean(np.square(seen)) == pytest.approx(1.0, abs=5 * np.sqrt(2 / len(seen)))
        assert len(seen) > 0.8 * WALKS
    elif not tower:
        assert not seen
