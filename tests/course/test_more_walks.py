"""How many more walks would tell a compass bias, and what is said where walks tell little."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.course.class_report import what_to_practise
from pacewright.course.course import Course
from pacewright.course.finish import Handed
from pacewright.course.learner_model import MOST_WALKS, fit_class
from pacewright.wording.teaching import say_learner
from support.handed_class import course_of, handed_by
from support.made_class import MadeLearner, draw_cards, draw_learners, walk_class


def walks_of(seed: int, learners: int = 1, walks: int = 1, **how: float) -> tuple[list[Handed], Course]:
    rng = np.random.default_rng(seed)
    drawn = draw_learners(rng, learners)
    made = walk_class(rng, drawn, draw_cards(rng, 6, 6), walks, **how)  # type: ignore[arg-type]
    return handed_by(made), course_of(made)


def test_each_walk_like_the_last_leaves_fewer_to_make() -> None:
    handed, course = walks_of(1)
    left = [fit_class(handed * n, course).learners[0].more_walks for n in range(1, 25)]
    assert left == sorted(left, reverse=True)
    assert left[0] > 3
    assert left[-1] == 0


@pytest.mark.statistical
def test_so_many_more_walks_do_tell_the_bias_to_about_a_degree() -> None:
    reach = []
    for seed in range(2, 14):
        handed, course = walks_of(seed, walks=40)
        more = fit_class(handed[:3], course).learners[0].more_walks
        bias = fit_class(handed[: 3 + more], course).learners[0].bias_deg
        reach.append((bias.high - bias.low) / 2.0)
    # The cards still to come are not those already walked, and scatter is learnt on the way.
    assert np.median(reach) == pytest.approx(1.0, abs=0.2)
    assert max(reach) < 2.0


def test_loops_are_said_to_tell_hardly_anything() -> None:
    rng = np.random.default_rng(3)
    made = walk_class(rng, draw_learners(rng, 3), draw_cards(rng, 3, 6, shape="loop"), 2)
    for one in fit_class(handed_by(made), course_of(made)).learners:
        assert one.more_walks == MOST_WALKS
        assert "hardly tell it" in say_learner(one)


def test_walks_that_nobody_saw_end_are_not_one_short_of_telling() -> None:
    handed, course = walks_of(4, walks=3)
    one = fit_class([replace(walk, finish_m=None) for walk in handed], course).learners[0]
    assert one.more_walks == MOST_WALKS


def test_a_class_all_of_whose_walks_hold_a_slip_is_told_of_slips_alone() -> None:
    rng = np.random.default_rng(5)
    made = walk_class(
        rng, [MadeLearner("Tam Orrin")], draw_cards(rng, 6, 6, median_m=320.0), 6, slip_share=1.0
    )
    one = fit_class(handed_by(made), course_of(made)).learners[0]
    assert one.clean < 3
    assert one.more_walks > 1
    assert "slip" in say_learner(one)
    assert what_to_practise(one) in ("slip", "nothing")


def test_one_walk_of_an_ordinary_walker_draws_no_advice() -> None:
    told = [fit_class(*walks_of(seed)).learners[0] for seed in range(20, 60)]
    nothing = [one for one in told if what_to_practise(one) == "nothing"]
    # Ordinary learners have a bias and a pace of their own, which one walk now and then shows.
    assert len(nothing) >= 34
    assert all("too little yet" in say_learner(one) for one in nothing if one.bias_deg.own_share < 0.5)


def test_what_the_whole_class_does_is_not_put_to_a_learner_with_one_walk() -> None:
    rng = np.random.default_rng(7)
    made = walk_class(
        rng, draw_learners(rng, 15, bias_sd_deg=0.4, class_bias_deg=4.0), draw_cards(rng, 6, 6), 4
    )
    fit = fit_class(handed_by(made)[:57], course_of(made))
    last = fit.learners[-1]
    assert last.walks == 1
    assert last.bias_deg.shows
    assert what_to_practise(last) != "compass"


def test_walks_without_any_scatter_still_leave_doubt() -> None:
    handed, course = walks_of(8, learners=5, walks=3)
    fit = fit_class([replace(one, finish_m=(0.0, 0.0)) for one in handed], course)
    for one in fit.learners:
        assert 0.05 < one.bias_deg.sd < 1.0
        assert one.azimuth_sd_deg.low > 0.1
        assert not one.bias_deg.shows


def test_learners_of_one_name_are_one_learner() -> None:
    handed, course = walks_of(9, learners=2, walks=3)
    fit = fit_class([replace(one, learner="Bea Lisk") for one in handed], course)
    assert [one.walks for one in fit.learners] == [6]
