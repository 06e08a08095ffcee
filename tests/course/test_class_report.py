"""What a learner is told to practise: each line that is drawn, from just before it and just behind."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from statistics import NormalDist
from types import SimpleNamespace

import numpy as np
import pytest

from pacewright.course.class_evidence import is_clean
from pacewright.course.class_report import class_report, favourite_slip, what_to_practise, why_nothing
from pacewright.course.learner_figures import Figure
from pacewright.course.learner_model import LearnerFit, fit_class
from pacewright.course.mark_luck import MarkLuck
from pacewright.course.slip_rates import SlipRate
from support.handed_class import course_of, handed_by
from support.made_class import draw_cards, draw_learners, walk_class


@cache
def learner() -> LearnerFit:
    """A learner of whom nothing shows."""
    rng = np.random.default_rng(1)
    made = walk_class(rng, draw_learners(rng, 6, bias_sd_deg=0.1), draw_cards(rng, 3, 6), 3)
    fit = fit_class(handed_by(made), course_of(made)).learners[0]
    hidden = Figure(0.0, 1.0, -2.0, 2.0, 1.0)
    return replace(
        fit,
        bias_deg=hidden,
        scale_pct=hidden,
        up_pct=None,
        down_pct=None,
        azimuth_sd_deg=Figure(2.5, 0.5, 1.6, 3.4, 1.0),
        count_sd_pct=Figure(5.0, 1.0, 3.2, 6.8, 1.0),
        slips=(),
    )


def sure(value: float, own_share: float = 1.0) -> Figure:
    """A figure that shows."""
    return Figure(value, abs(value) / 10.0, 0.8 * value, 1.2 * value, own_share)


def test_a_learner_of_whom_nothing_shows_has_nothing_to_practise() -> None:
    assert what_to_practise(learner()) == "nothing"


@pytest.mark.parametrize(("aside_m", "said"), [(17.0, "nothing"), (18.0, "compass")])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_compass_is_worth_practising_from_a_degree_on(aside_m: float, said: str, sign: float) -> None:
    """One degree is 17.45 m aside in a kilometre (geometry)."""
    bias = sure(sign * math.degrees(math.asin(aside_m / 1000.0)))
    assert what_to_practise(replace(learner(), bias_deg=bias)) == said


@pytest.mark.parametrize(("short_m", "said"), [(19.0, "nothing"), (21.0, "pace")])
def test_a_pace_is_worth_practising_from_twenty_metres_in_a_kilometre_on(short_m: float, said: str) -> None:
    assert what_to_practise(replace(learner(), scale_pct=sure(short_m / 10.0))) == said


@pytest.mark.parametrize(("own_share", "said"), [(0.29, "nothing"), (0.31, "compass")])
def test_what_the_class_tells_of_a_learner_is_no_advice_to_the_learner(own_share: float, said: str) -> None:
    assert what_to_practise(replace(learner(), bias_deg=sure(4.0, own_share))) == said


@pytest.mark.parametrize(
    ("favourite", "seen", "is_own"),
    [(0.79, 2.0, False), (0.81, 2.0, True), (0.99, 1.4, False), (0.99, 1.6, True)],
)
def test_a_slip_is_a_learners_own_where_four_chances_of_five_say_so_and_more_than_one_was_seen(
    favourite: float, seen: float, is_own: bool
) -> None:
    slip = SlipRate("tally_lost", seen, 8.0, 2.0, 16.0, 1.0, favourite)
    slipping = replace(learner(), slips=(slip,))
    assert favourite_slip(slipping) == (slip if is_own else None)
    assert what_to_practise(slipping) == ("slip" if is_own else "nothing")


def test_scatter_is_worth_practising_where_it_is_surely_wider_than_usual() -> None:
    """Usual are 2.5 degrees and 5 per cent (docs/method.md)."""
    wide, steady = Figure(3.5, 0.4, 2.51, 4.5, 1.0), Figure(3.4, 0.4, 2.49, 4.4, 1.0)
    assert what_to_practise(replace(learner(), azimuth_sd_deg=wide)) == "azimuth"
    assert what_to_practise(replace(learner(), azimuth_sd_deg=steady)) == "nothing"
    wide, steady = Figure(7.0, 0.9, 5.01, 9.0, 1.0), Figure(6.9, 0.9, 4.99, 9.0, 1.0)
    assert what_to_practise(replace(learner(), count_sd_pct=wide)) == "count"
    assert what_to_practise(replace(learner(), count_sd_pct=steady)) == "nothing"


def test_the_mean_of_one_mark_is_as_sure_as_that_one_walk_and_of_two_alike_twice_as_sure() -> None:
    """By hand: luck counts as one more mark; its variance over n, and over n again for the mean."""
    rng = np.random.default_rng(2)
    made = walk_class(rng, draw_learners(rng, 3), draw_cards(rng, 2, 6), 2)
    fit = fit_class(handed_by(made), course_of(made))
    luck = MarkLuck(5.0, 7.0, 6.0, 0.0)
    alike = tuple(replace(one, mark=6.0, luck=luck) for one in fit.grades)
    for row in class_report(replace(fit, grades=alike)).rows:
        assert (row.mark, row.mark_low, row.mark_high) == pytest.approx((6.0, 5.5, 6.5))
    once = {one.handed.learner: one for one in alike}
    for row in class_report(replace(fit, grades=tuple(once.values()))).rows:
        assert (row.mark, row.mark_low, row.mark_high) == pytest.approx((6.0, 5.0, 7.0))


def test_the_range_of_a_mean_holds_four_means_of_five() -> None:
    """By the normal distribution of the standard library; marks of 4 and 6 with no luck in them vary by 1."""
    rng = np.random.default_rng(2)
    made = walk_class(rng, draw_learners(rng, 3), draw_cards(rng, 2, 6), 2)
    fit = fit_class(handed_by(made), course_of(made))
    first = {id(one) for one in {one.handed.learner: one for one in reversed(fit.grades)}.values()}
    grades = []
    for one in fit.grades:
        mark = 4.0 if id(one) in first else 6.0
        grades.append(replace(one, mark=mark, luck=MarkLuck(mark, mark, mark, 0.0)))
    means = NormalDist(5.0, math.sqrt(1.0 / 2.0))
    for row in class_report(replace(fit, grades=tuple(grades))).rows:
        assert row.mark == pytest.approx(5.0) and row.mark_low is not None and row.mark_high is not None
        assert means.cdf(row.mark_high) - means.cdf(row.mark_low) == pytest.approx(0.8, abs=5e-4)


@pytest.mark.parametrize(("own_share", "said"), [(0.49, "too little yet"), (0.51, "nothing")])
def test_who_tells_less_of_the_bias_than_the_class_has_walked_too_little_yet(
    own_share: float, said: str
) -> None:
    fit = learner()
    quiet = replace(fit, missed=0, clean=fit.walks, more_walks=3)
    assert why_nothing(replace(quiet, bias_deg=Figure(0.0, 1.0, -2.0, 2.0, own_share))) == said


@pytest.mark.parametrize(("chance", "clean"), [(None, True), (0.49, True), (0.51, False)])
def test_a_walk_is_clean_where_a_slip_is_less_likely_than_not(chance: float | None, clean: bool) -> None:
    assert is_clean(SimpleNamespace(slip_chance=chance)) == clean  # type: ignore[arg-type]
