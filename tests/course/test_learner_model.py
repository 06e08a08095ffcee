"""What several walks tell of the learners of a class."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.stats import gamma

from pacewright.core.log.log_heading import Heading
from pacewright.core.log.travel_log import Cells, compose_log, parse_row
from pacewright.core.pace.walker import Walker
from pacewright.course.class_evidence import find_slip_share
from pacewright.course.class_report import class_report, favourite_slip, what_to_practise
from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.finish import Handed
from pacewright.course.grading import grade
from pacewright.course.learner_model import ClassFit, fit_class, fit_grades, fit_walks
from pacewright.course.skill import rank_learners
from pacewright.exceptions import MissingComplaint
from support.class_oracle import in_order, likely_skill, usual_misses
from support.handed_class import course_of, handed_by
from support.made_class import (
    PACE_M,
    MadeClass,
    MadeLearner,
    counted_on_the_way,
    draw_cards,
    draw_learners,
    walk_class,
)

Floats = NDArray[np.float64]


def inside(made: MadeClass, fit: ClassFit) -> list[tuple[bool, bool, bool, bool]]:
    """Whether each learner's true figures lie in the stated intervals."""
    return [
        (
            told.bias_deg.low <= true.bias_deg <= told.bias_deg.high,
            told.scale_pct.low <= 100.0 * true.log_scale <= told.scale_pct.high,
            told.azimuth_sd_deg.low <= true.azimuth_sd_deg <= told.azimuth_sd_deg.high,
            told.count_sd_pct.low <= 100.0 * true.count_sd <= told.count_sd_pct.high,
        )
        for true, told in zip(made.learners, fit.learners, strict=True)
    ]


def clean_classes(seeds: range, classes: int) -> Floats:
    """Share of learners inside, by figure: classes of 20 with a side of their own, no walk with a slip."""
    found = []
    for seed in seeds:
        rng = np.random.default_rng(seed)
        for _ in range(classes):
            learners = draw_learners(rng, 20, class_bias_deg=float(rng.normal(0.0, 1.0)))
            made = walk_class(rng, learners, draw_cards(rng, 6, 6), 4)
            course = course_of(made)
            grades = [grade(one, course, slip_share=1e-9) for one in handed_by(made)]
            found += inside(made, fit_grades(grades))
    return np.mean(found, axis=0)


@pytest.mark.statistical
def test_every_figure_lies_in_its_interval_for_ninety_five_learners_of_a_hundred() -> None:
    # Bias, scale, azimuth and count scatter. 2000 learners: one standard error of each is 0.5 in a hundred,
    # and of the first two together 0.35. Were the width of the class not weighed for intervals, these would
    # be 93.7 and 93.8.
    share = clean_classes(range(101, 106), 20)
    assert share == pytest.approx(0.95, abs=0.015)
    assert share[:2].mean() == pytest.approx(0.95, abs=0.0105)


@pytest.mark.statistical
def test_slips_among_the_walks_leave_the_intervals_nearly_as_good() -> None:
    # 13 walks of 100 hold a slip that nobody wrote down, and many of them are too small to show.
    # 640 learners: one standard error is 0.9 in a hundred.
    found = []
    for seed in range(2000, 2002):
        rng = np.random.default_rng(seed)
        for _ in range(16):
            learners = draw_learners(rng, 20, class_bias_deg=float(rng.normal(0.0, 1.0)))
            made = walk_class(rng, learners, draw_cards(rng, 6, 6), 4, slip_share=0.13)
            found += inside(made, fit_class(handed_by(made), course_of(made)))
    assert np.mean(found, axis=0) == pytest.approx(0.95, abs=0.025)


@pytest.mark.statistical
def test_learners_are_put_in_order_as_well_as_their_walks_allow() -> None:
    # The oracle is told how the class was drawn, and weighs 3000 learners for each of the class.
    rng = np.random.default_rng(103)
    told, best = [], []
    for _ in range(3):
        made = walk_class(rng, draw_learners(rng, 24, bias_sd_deg=1.5), draw_cards(rng, 5, 6), 5)
        fit = fit_class(handed_by(made), course_of(made))
        true = usual_misses(made.learners)
        told.append(in_order(true, [one.skill.miss_m for one in fit.learners]))
        oracle = []
        for k in range(len(made.learners)):
            own = [walk for walk in made.walks if walk.learner == k]
            cards = [made.cards[walk.card] for walk in own]
            oracle.append(likely_skill(rng, cards, [walk.finish_m for walk in own], draws=3000))
        best.append(in_order(true, oracle))
    assert np.mean(best) > 0.65
    assert np.mean(told) > np.mean(best) - 0.02


def test_a_place_by_usual_miss_is_as_sure_as_it_says_and_one_by_marks_no_less() -> None:
    """Places in the report go by marks, and reach as far as the ranges of the marks meet: never too sure."""
    rng = np.random.default_rng(104)
    held, by_marks = [], []
    for _ in range(6):
        made = walk_class(rng, draw_learners(rng, 20), draw_cards(rng, 5, 6), 4)
        course = course_of(made)
        fit = fit_grades([grade(one, course, slip_share=1e-9) for one in handed_by(made)])
        ranks = rank_learners([(one.learner, one.skill) for one in fit.learners])
        order = np.argsort(usual_misses(made.learners))
        true = {made.learners[int(k)].name: place for place, k in enumerate(order, start=1)}
        held += [one.low <= true[one.learner] <= one.high for one in ranks]
        by_marks += [one.rank.low <= true[one.learner] <= one.rank.high for one in class_report(fit).rows]
    # Four places of five lie in their range; 120 of them have a standard error of 4 in a hundred.
    assert np.mean(held) == pytest.approx(0.80, abs=0.11)
    assert np.mean(by_marks) > 0.80 - 0.11


def test_no_side_is_assumed_and_a_class_that_drifts_is_told_as_a_class() -> None:
    rng = np.random.default_rng(105)
    cards = draw_cards(rng, 6, 6)
    left = walk_class(rng, draw_learners(rng, 20, bias_sd_deg=0.5, class_bias_deg=-4.0), cards, 5)
    fit = fit_class(handed_by(left), course_of(left))
    assert fit.class_bias_deg.high < 0.0
    assert all(one.bias_deg.shows and one.bias_deg.value < 0.0 for one in fit.learners)
    # The same walks mirrored in the line north tell the same to the other side, but for the digits that
    # can be misread.
    mirrored = [replace(one, finish_m=(-one.finish_m[0], one.finish_m[1])) for one in handed_by(left)]  # type: ignore[index]
    course = course_of(left)
    flipped = replace(
        course,
        posts=tuple(replace(post, place_m=(-post.place_m[0], post.place_m[1])) for post in course.posts),
        cards=tuple(
            replace(
                card,
                legs=tuple(replace(leg, azimuth_deg=(360.0 - leg.azimuth_deg) % 360.0) for leg in card.legs),
            )
            for card in course.cards
        ),
    )
    grades = [grade(one, flipped, slip_share=1e-9) for one in mirrored]
    straight = fit_grades([grade(one, course, slip_share=1e-9) for one in handed_by(left)])
    for one, other in zip(fit_grades(grades).learners, straight.learners, strict=True):
        assert one.bias_deg.value == pytest.approx(-other.bias_deg.value, abs=0.01)


def test_a_learner_with_one_walk_leans_on_the_class_and_one_with_none_more_than_many() -> None:
    rng = np.random.default_rng(106)
    made = walk_class(rng, draw_learners(rng, 12), draw_cards(rng, 6, 6), 6)
    handed = handed_by(made)
    few = fit_class(handed[:67], course_of(made))
    last, first = few.learners[-1], few.learners[0]
    assert (last.walks, first.walks) == (1, 6)
    assert last.bias_deg.own_share < first.bias_deg.own_share
    assert last.bias_deg.sd > first.bias_deg.sd
    assert last.more_walks > first.more_walks


def test_loops_tell_nothing_of_bias_and_scale() -> None:
    rng = np.random.default_rng(107)
    made = walk_class(rng, draw_learners(rng, 8, bias_sd_deg=3.0), draw_cards(rng, 3, 6, shape="loop"), 4)
    fit = fit_class(handed_by(made), course_of(made))
    assert all(one.bias_deg.own_share < 0.2 for one in fit.learners)
    assert not any(one.bias_deg.shows for one in fit.learners)


def posts_walks(learners: tuple[MadeLearner, ...], walks: int, seed: int) -> list[tuple[Handed, Course]]:
    """Walks from post to post, uphill and downhill, counts written on the way."""
    rng = np.random.default_rng(seed)
    lengths, slopes = np.array([240.0, 310.0, 180.0, 270.0, 350.0, 220.0]), ["up", "down", "level"] * 2
    ends = np.cumsum(lengths)
    names = [f"Post {k}" for k in range(1, 7)]
    posts = (
        Post("Gate", (0.0, 0.0)),
        *(Post(n, (0.0, float(y)), word=n) for n, y in zip(names, ends, strict=True)),
    )
    legs = tuple(
        CourseLeg(0.0, float(length), name, slope=slope)  # type: ignore[arg-type]
        for length, name, slope in zip(lengths, names, slopes, strict=True)
    )
    course = Course("Cinder Fen", "posts", "magnetic", posts, (Card(1, "Gate", legs, "Post 6"),))
    found = []
    for learner in learners:
        for _ in range(walks):
            counts = counted_on_the_way(rng, learner, lengths, slopes)
            head = Heading(start="Gate")
            log = compose_log(head, [parse_row(Cells("0", str(c), ""), head) for c in counts])
            words = {name: name for name in names}
            handed = Handed(learner.name, 1, log, "Post 6", None, words, Walker(per_100_m=100.0 / PACE_M))
            found.append((handed, course))
    return found


@pytest.mark.statistical
def test_counts_from_post_to_post_tell_the_pace_uphill_and_downhill() -> None:
    learners = draw_learners(np.random.default_rng(108), 120, slope_sd=0.06)
    fit = fit_walks(posts_walks(learners, 3, 9))
    held = []
    for true, told in zip(learners, fit.learners, strict=True):
        assert told.up_pct is not None and told.down_pct is not None
        held.append(
            (
                told.scale_pct.low <= 100.0 * true.log_scale <= told.scale_pct.high,
                told.up_pct.low <= 100.0 * true.up <= told.up_pct.high,
                told.down_pct.low <= 100.0 * true.down <= told.down_pct.high,
                told.count_sd_pct.low <= 100.0 * true.count_sd <= told.count_sd_pct.high,
            )
        )
        # Nobody's compass shows where every post is seen.
        assert told.bias_deg.own_share < 0.05
    assert np.mean(held, axis=0) == pytest.approx(0.95, abs=0.07)


def test_a_favourite_slip_is_found_and_is_what_to_practise() -> None:
    rng = np.random.default_rng(109)
    learners = list(draw_learners(rng, 10, bias_sd_deg=0.5, scale_sd=0.01))
    cards = draw_cards(rng, 6, 6, median_m=320.0)
    clean = walk_class(rng, learners[1:], cards, 5)
    slipping = replace(learners[0], slips={"azimuth_reversed": 1.0})
    own = walk_class(rng, [slipping], cards, 5, slip_share=0.7)
    handed = handed_by(own) + handed_by(clean)
    fit = fit_class(handed, course_of(own))
    first = fit.learners[0]
    slip = favourite_slip(first)
    assert slip is not None and slip.kind == "azimuth_reversed"
    assert what_to_practise(first) == "slip"
    assert all(favourite_slip(one) is None for one in fit.learners[1:])
    assert class_report(fit).common_slips[0][0] == "azimuth_reversed"


def test_one_walk_without_a_finish_is_all_of_the_class_and_none_is_refused() -> None:
    made = walk_class(
        np.random.default_rng(1), [MadeLearner("Tam Orrin")], draw_cards(np.random.default_rng(2), 1), 1
    )
    fit = fit_class([Handed("Tam Orrin", 1)], course_of(made))
    assert fit.learners[0].bias_deg.own_share < 0.01
    assert fit.learners[0].clean == 1
    with pytest.raises(MissingComplaint, match="no walk was handed in"):
        fit_class([], course_of(made))


def test_stakes_alone_tell_bias_and_scale_with_intervals_that_hold() -> None:
    # A field of stakes 40 m apart: every learner goes to the nearest and writes down its name.
    rng = np.random.default_rng(112)
    found = []
    for _ in range(4):
        made = walk_class(rng, draw_learners(rng, 20), draw_cards(rng, 1, 6), 4)
        course = course_of(made)
        end = np.array(course.posts[1].place_m)
        places = [end + 40.0 * np.array([i, j]) for i in range(-5, 6) for j in range(-5, 6) if i or j]
        field = tuple(Post(f"F{k}", (float(e), float(n)), 0.1) for k, (e, n) in enumerate(places))
        course = replace(course, posts=(*course.posts, *field))
        stakes = np.array([post.place_m for post in course.posts[1:]])
        handed = []
        for one in handed_by(made):
            stood = end + np.array(one.finish_m)
            nearest = course.posts[1 + int(np.argmin(np.hypot(*(stakes - stood).T)))].name
            handed.append(replace(one, finish_m=None, finished_at=nearest))
        found += inside(made, fit_grades([grade(one, course, slip_share=1e-9) for one in handed]))
    assert np.mean(found, axis=0)[:2] == pytest.approx(0.95, abs=0.05)


def test_a_class_without_slips_is_not_said_to_slip() -> None:
    rng = np.random.default_rng(110)
    made = walk_class(rng, draw_learners(rng, 20), draw_cards(rng, 6, 6), 4)
    course = course_of(made)
    assert find_slip_share([grade(one, course) for one in handed_by(made)]) < 0.06


def test_a_rate_of_slips_is_the_gamma_that_its_counts_make() -> None:
    rng = np.random.default_rng(111)
    made = walk_class(rng, draw_learners(rng, 6), draw_cards(rng, 3, 6), 3, slip_share=0.4)
    fit = fit_class(handed_by(made), course_of(made))
    for one in fit.learners:
        for rate in one.slips:
            # A gamma of the stated mean and of its own lower end has the stated upper end.
            low, high = rate.low / rate.per_100_legs, rate.high / rate.per_100_legs
            shape = brentq(lambda a, low=low: gamma.ppf(0.025, a) / a - low, 0.05, 100.0)
            assert gamma.ppf(0.975, shape) / shape == pytest.approx(high, rel=1e-3)
            # It is the learner's own as surely as this gamma lies above twice the others' rate.
            others = rate.others_per_100_legs / rate.per_100_legs
            assert gamma.sf(2.0 * others * shape, shape) == pytest.approx(rate.favourite, abs=1e-3)
