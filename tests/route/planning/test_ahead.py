"""What is said to be needed at least: never more than a plan takes, and no way over a bridge is forgotten."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.answers.plan import answer_plan
from pacewright.core.pace.walker import Walker
from pacewright.route.planning import search
from pacewright.route.planning.ahead import least_minutes
from pacewright.route.planning.figures import walk_figures
from pacewright.route.planning.land import bare_ground, make_land
from pacewright.route.planning.lines import Line, Sight
from pacewright.route.planning.search import Asked, Searcher
from pacewright.route.planning.step import Dial, sure_spread
from support.made_plans import WALKER, cases

pytestmark = pytest.mark.slow

FLAT = (-3000.0, -1000.0, 3000.0, 3000.0)
FIGURES = walk_figures(Walker(per_100_m=62.5))


@pytest.mark.parametrize(("with_tracks", "seed"), [(True, 21), (False, 22)])
def test_no_more_is_said_to_be_needed_than_a_plan_takes(with_tracks: bool, seed: int) -> None:
    for case in cases(3, with_tracks=with_tracks, seed=seed):
        answer = answer_plan(case.held, WALKER, case.asked, np.random.default_rng(1))
        assert answer.plan is not None
        needed = least_minutes(answer.land, case.asked.goal.place_m)
        left = answer.plan.minutes
        for leg in answer.plan.legs:
            assert needed(np.array([leg.from_m]))[0] <= left
            left -= leg.minutes
        # It knows the tracks, and is not far below.
        assert needed(np.array([case.asked.start.place_m]))[0] >= 0.5 * answer.plan.minutes


def test_what_is_eager_for_the_goal_finds_ways_as_fast(monkeypatch: pytest.MonkeyPatch) -> None:
    from pacewright.answers.plan import _searcher

    for case in cases(3, with_tracks=True, seed=23):
        eager = _searcher(case.held, WALKER, case.asked)[0].fastest()
        with monkeypatch.context() as patch:
            patch.setattr(search, "EAGER", 1.0)
            patient = _searcher(case.held, WALKER, case.asked)[0].fastest()
        assert eager is not None and patient is not None
        assert eager.minutes <= 1.02 * patient.minutes


def test_a_bridge_leads_over_a_river_that_is_kept_off() -> None:
    ground = bare_ground(FLAT)
    rows = ground.elevation_m.shape[0]
    north = ground.north_m - 20.0 * (np.arange(rows) + 0.5)
    river = np.repeat(((north > 900.0) & (north < 1100.0))[:, None], ground.elevation_m.shape[1], axis=1)
    bridge = Line("bridge", np.array([(0.0, 700.0), (0.0, 1300.0)]))
    road = Line("road", np.array([(-2500.0, 700.0), (2500.0, 700.0)]))
    sights = [Sight("start", (-800.0, 0.0), True), Sight("goal", (200.0, 1600.0))]
    ways = []
    for lines in ([road], [road, bridge]):
        land = make_land(None, lines, sights, {"water": river}, bounds=FLAT)
        asked = Asked((-800.0, 0.0), sure_spread(FIGURES), 0, (1,), miss=0.3)
        searcher = Searcher(land, FIGURES, Dial(), asked)
        assert searcher.is_shut_off() == (len(lines) == 1)
        ways.append(searcher.fastest())
    assert ways[0] is None
    assert ways[1] is not None and any(leg.follows and leg.line == 1 for leg in ways[1].legs)
