"""One walk against the key."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.core.log.log_heading import Heading
from pacewright.core.log.travel_log import Cells, TravelLog, compose_log, parse_row
from pacewright.core.pace.walker import Walker
from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.finish import Handed, cell_moment
from pacewright.course.grading import grade
from pacewright.course.marking import ready_rule
from support.class_oracle import likeliest_slip
from support.handed_class import course_of, handed_by
from support.made_class import WALKED_KINDS, MadeLearner, draw_cards, draw_learners, walk_class
from support.made_mistakes import KINDS, entries_after
from support.simulator import plain_route

WALKER = Walker(name="Ines Rowe", per_100_m=62.5)
AZIMUTHS, COUNTS = (34, 146, 68, 153, 97), (140, 230, 185, 312, 164)

NOT_OF_ONE_ROW = ("leg_missing", "offset_mirrored", "declination_mirrored", "thousand_lost")
"""Kinds that no single row of the card can suffer: none is over a thousand."""


def card_course(kind: str = "field") -> Course:
    legs, at, posts = [], np.zeros(2), [Post("Gate", (0.0, 0.0))]
    for k, (azimuth, count) in enumerate(zip(AZIMUTHS, COUNTS, strict=True), start=1):
        leg = CourseLeg(float(azimuth), count * 1.6)
        at = at + leg.step_m()
        last = k == len(COUNTS)
        name = "Split oak" if last else f"Post {k}"
        if kind == "posts" or last:
            posts.append(Post(name, (float(at[0]), float(at[1])), word=f"word {k}"))
        legs.append(replace(leg, ends=name if kind == "posts" or last else None))
    posts.append(Post("Heron post", (float(at[0]) + 40.0, float(at[1])), word="heron"))
    return Course(
        "Cinder Fen",
        kind,
        "magnetic",
        tuple(posts),
        (Card(1, "Gate", tuple(legs), "Split oak"),),  # type: ignore[arg-type]
    )


def log_of(
    azimuths: tuple[int, ...] = AZIMUTHS, counts: tuple[int, ...] = COUNTS, **heading: object
) -> TravelLog:
    head = Heading(start="Gate", **heading)  # type: ignore[arg-type]
    rows = [parse_row(Cells(str(a), str(c), ""), head) for a, c in zip(azimuths, counts, strict=True)]
    return compose_log(head, rows)


def step_m(azimuth_deg: float, count: float) -> tuple[float, float]:
    azimuth_rad = np.radians(azimuth_deg)
    return float(1.6 * count * np.sin(azimuth_rad)), float(1.6 * count * np.cos(azimuth_rad))


def test_a_perfect_walk_gets_full_marks_under_every_ready_rule() -> None:
    words = {"Split oak": "Word 5"}
    handed = Handed("Tam Orrin", 1, log_of(), None, (0.0, 0.0), words, WALKER, 100.0)
    for name in (
        "ordinary scatter",
        "points found",
        "nearest stake",
        "miss in per cent",
        "length over error",
    ):
        given = grade(handed, card_course(), ready_rule(name))
        assert given.mark == given.rule.full_marks
    assert given.suspects == ()
    assert given.miss is not None and given.miss.length == 0.0


def test_the_miss_is_told_in_metres_in_paces_and_in_multiples_of_an_ordinary_one() -> None:
    given = grade(Handed("Tam Orrin", 1, None, None, (32.0, -24.0), walker=WALKER), card_course())
    assert given.miss is not None
    assert (given.miss.east, given.miss.north, given.miss.length_m) == pytest.approx((20.0, -15.0, 40.0))
    assert given.miss.chance == pytest.approx(np.exp(-(given.miss.multiple**2)))


def test_ordinary_walks_miss_once_an_ordinary_miss_and_their_chances_are_even() -> None:
    rng = np.random.default_rng(3)
    usual = [
        MadeLearner(f"L{k}", 1.5 * rng.standard_normal(), 0.03 * rng.standard_normal()) for k in range(200)
    ]
    made = walk_class(rng, usual, draw_cards(rng, 5, 6), 1)
    course = course_of(made)
    given = [grade(one, course) for one in handed_by(made)]
    multiples = np.array([one.miss.multiple for one in given if one.miss])
    # A walk's day adds a little to what an ordinary counter has; 4 standard errors of 200 walks.
    assert np.sqrt(np.mean(multiples**2)) == pytest.approx(1.0, abs=0.15)
    chances = np.sort([one.miss.chance for one in given if one.miss])
    assert np.max(np.abs(chances - (np.arange(200) + 0.5) / 200)) < 1.63 / 14.1
    full = np.mean([one.mark == one.rule.full_marks for one in given])
    # Nobody is marked down for what one ordinary walk in twenty has.
    assert full == pytest.approx(0.95, abs=0.04)


@pytest.mark.parametrize(
    ("kind", "leg"),
    [(kind, leg) for kind in KINDS if kind not in NOT_OF_ONE_ROW for leg in (1, 3)],
)
def test_a_slip_of_the_pencil_is_named_with_its_leg(kind: str, leg: int) -> None:
    azimuths, counts = list(AZIMUTHS), list(COUNTS)
    azimuths[leg], counts[leg] = entries_after(kind, azimuths[leg], counts[leg])[0]
    handed = Handed("Tam Orrin", 1, log_of(tuple(azimuths), tuple(counts)), None, (4.0, 2.0), walker=WALKER)
    given = grade(handed, card_course())
    written = [one for one in given.suspects if one.where == "written"]
    assert [(one.leg, one.kind) for one in written] == [(leg + 1, kind)]
    # The finish is right, which speaks for having written it so and not for having walked it.
    assert written[0].walked_chance is not None and written[0].walked_chance < 0.7


def test_a_leg_that_is_not_in_the_log_and_one_too_many_are_found() -> None:
    short = grade(
        Handed("T", 1, log_of(AZIMUTHS[:2] + AZIMUTHS[3:], COUNTS[:2] + COUNTS[3:]), walker=WALKER),
        card_course(),
    )
    assert [(one.leg, one.kind) for one in short.suspects] == [(3, "leg_missing")]
    more = grade(Handed("T", 1, log_of((*AZIMUTHS, 300), (*COUNTS, 77)), walker=WALKER), card_course())
    assert [(one.leg, one.kind, one.instead) for one in more.suspects] == [(None, "other", (300.0, 77.0))]


def test_a_log_in_steps_for_paces_throughout_is_one_slip_and_not_five() -> None:
    given = grade(Handed("T", 1, log_of(counts=tuple(2 * c for c in COUNTS)), walker=WALKER), card_course())
    assert [(one.leg, one.kind) for one in given.suspects] == [(None, "steps_for_paces")]


def test_a_log_that_says_it_counts_steps_agrees() -> None:
    log = log_of(counts=tuple(2 * c for c in COUNTS), count_unit="steps")
    assert grade(Handed("T", 1, log, walker=WALKER), card_course()).suspects == ()


def test_azimuths_against_another_north_are_compared_only_where_the_turn_is_known() -> None:
    true = replace(card_course(), azimuth_reference="true")
    told = log_of(tuple(a - 8 for a in AZIMUTHS), declination_deg=8.0)
    assert grade(Handed("T", 1, told, walker=WALKER), true).suspects == ()
    untold = grade(Handed("T", 1, log_of(), walker=WALKER), true)
    assert untold.suspects == ()
    assert "azimuths were not compared" in untold.said[0]


def test_what_was_walked_wrong_and_written_right_is_told_by_the_finish() -> None:
    # Leg 4 walked the opposite way: twice its length short of where it ends.
    given = grade(Handed("T", 1, log_of(), None, step_m(153, -624), walker=WALKER), card_course())
    first = given.suspects[0]
    assert (first.leg, first.kind, first.where) == (4, "azimuth_reversed", "walked")
    assert first.instead == (333.0, 312.0)
    assert given.slip_chance is not None and given.slip_chance > 0.99


def test_what_was_walked_as_it_was_written_is_told_by_the_finish() -> None:
    counts = (140, 230, 185, 212, 164)
    handed = Handed("T", 1, log_of(counts=counts), None, step_m(333, 100), walker=WALKER)
    one = grade(handed, card_course()).suspects[0]
    assert (one.leg, one.where) == (4, "written")
    assert one.walked_chance is not None and one.walked_chance > 0.9


@pytest.mark.statistical
def test_walked_slips_are_named_nearly_as_often_as_can_be() -> None:
    rng = np.random.default_rng(17)
    # The oracle knows the class and draws clouds of walks for every slip.
    learners = [
        MadeLearner(f"L{k}", 1.5 * rng.standard_normal(), 0.03 * rng.standard_normal()) for k in range(120)
    ]
    made = walk_class(rng, learners, draw_cards(rng, 4, 5, median_m=260.0), 1, slip_share=1.0)
    course = course_of(made)
    named = best = legs = best_legs = 0
    for walk, handed in zip(made.walks, handed_by(made), strict=True):
        if walk.slip is None:
            continue
        given = grade(handed, course, slip_share=0.99)
        told = (given.suspects[0].kind, given.suspects[0].leg)
        oracle = likeliest_slip(rng, made.cards[walk.card], np.array(given.seen.off_m), draws=150)  # type: ignore[union-attr]
        named += told == walk.slip
        legs += told[1] == walk.slip[1]
        best += oracle == walk.slip
        best_legs += oracle[1] == walk.slip[1]
    assert best > 40
    assert named >= 0.95 * best
    assert legs >= 0.95 * best_legs


def test_no_slip_is_claimed_on_ordinary_walks() -> None:
    rng = np.random.default_rng(5)
    made = walk_class(rng, draw_learners(rng, 150), draw_cards(rng, 5, 6), 1)
    course = course_of(made)
    claimed = [grade(one, course).slip_chance for one in handed_by(made)]
    assert np.mean([chance is not None and chance > 0.5 for chance in claimed]) < 0.03


@pytest.mark.statistical
def test_another_walk_of_the_same_learner_gets_a_mark_within_the_stated_range() -> None:
    rng = np.random.default_rng(23)
    learners = [
        MadeLearner(f"L{k}", 1.5 * rng.standard_normal(), 0.03 * rng.standard_normal()) for k in range(150)
    ]
    made = walk_class(rng, learners, draw_cards(rng, 1, 6), 2)
    course, rule = course_of(made), ready_rule("length over error")
    given = [grade(one, course, rule) for one in handed_by(made)]
    inside = [
        first.luck.low <= again.mark <= first.luck.high  # type: ignore[union-attr, operator]
        for first, again in zip(given[::2], given[1::2], strict=True)
    ]
    assert np.mean(inside) == pytest.approx(0.80, abs=0.08)


def test_on_a_line_of_stakes_the_stake_tells_the_place_along_the_line_only() -> None:
    stakes = tuple(Post(f"S{k}", (20.0 * k, 0.0)) for k in range(9))
    moment = cell_moment(stakes[4], stakes, 100.0)
    # Even over 20 m: 20 squared over 12. Across the line it reaches as far as a learner would go.
    assert moment[0, 0] == pytest.approx(400.0 / 12.0, rel=0.02)
    assert moment[1, 1] > 3000.0
    grid = tuple(Post(f"{e} {n}", (30.0 * e, 30.0 * n)) for e in range(3) for n in range(3))
    assert cell_moment(grid[4], grid, 500.0) == pytest.approx(np.eye(2) * 900.0 / 12.0, rel=0.02, abs=0.1)


def test_the_wrong_stake_next_to_the_right_one_is_within_ordinary_scatter() -> None:
    handed = Handed("T", 1, None, "Heron post", walker=WALKER)
    given = grade(handed, card_course(), ready_rule("nearest stake"))
    assert given.mark == 7.0
    assert grade(handed, card_course()).mark == 10.0


def test_points_are_proved_by_the_words_that_stand_on_them() -> None:
    words = {"Post 1": "word 1", "Post 2": "WORD  2", "Post 3": "word 9", "Split oak": "word 5"}
    given = grade(
        Handed("T", 1, None, None, None, words, WALKER), card_course("posts"), ready_rule("points found")
    )
    assert [found for _, found in given.points] == [True, True, False, False, True]
    assert given.mark == pytest.approx(60.0)
    assert given.luck is not None and given.luck.low < 60.0 < given.luck.high


def test_the_word_of_another_post_tells_where_the_learner_stood() -> None:
    given = grade(Handed("T", 1, None, None, None, {"Split oak": "heron"}, WALKER), card_course("posts"))
    assert given.miss is not None and given.miss.east_m == pytest.approx(40.0)


def test_a_hundred_lost_between_posts_is_a_slip_of_the_count() -> None:
    counts = tuple(round(c * f) for c, f in zip(COUNTS, (1.02, 0.99, 1.03, 212 / 312, 1.0), strict=True))
    words = {f"Post {k}": f"word {k}" for k in range(1, 5)} | {"Split oak": "word 5"}
    given = grade(
        Handed("T", 1, log_of(counts=counts), "Split oak", None, words, WALKER), card_course("posts")
    )
    assert (given.suspects[0].leg, given.suspects[0].kind) == (4, "tally_lost")
    assert len(given.suspects) == 1


def test_nothing_handed_in_is_no_mark_and_says_so() -> None:
    given = grade(Handed("Tam Orrin", 1), card_course())
    assert (given.mark, given.luck, given.miss, given.slip_chance) == (None, None, None, None)
    assert given.said == (
        "There is no pace count of Tam Orrin: a pace of 1.5 m was assumed.",
        "Nobody wrote down where Tam Orrin ended.",
    )


def test_every_kind_that_can_be_walked_is_walked_in_the_made_class() -> None:
    route = plain_route([45, 132, 213], [150, 240, 310])
    rng = np.random.default_rng(2)
    made = walk_class(rng, [MadeLearner("L")], [route], 400, slip_share=1.0)
    assert {walk.slip[0] for walk in made.walks if walk.slip} == set(WALKED_KINDS)
