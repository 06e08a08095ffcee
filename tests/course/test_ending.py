"""Where learners who make no mistake end: against an independent simulation, scipy and a handbook."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.core.pace.walker import Walker
from pacewright.course.course import Card, Course, CourseLeg, Obstacle, Post
from pacewright.course.ending import (
    ending_covariance,
    normal_share,
    stands_on_line,
    walked_pieces,
    wrong_stake_share,
)
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.exceptions import ValueComplaint
from support.authorities import printed, read_authority
from support.simulator import Person, Route, walk

PACE_M = 1.25
"""Five metres are four paces, so that every length told is a whole count."""
USUAL = Person(pace_m=PACE_M)
WALKER = Walker(per_100_m=100.0 / PACE_M)
WALKS = 20_000


def route_of(card: Card) -> Route:
    """The rows that a learner of the simulation walks: a box as one row, a detour as its pieces."""
    rows: list[tuple[float, float, float]] = []
    for leg in card.legs:
        bar = leg.obstacle
        if bar is not None and bar.way == "box":
            rows.append(
                (leg.azimuth_deg, leg.length_m, bar.offset_m if bar.side == "right" else -bar.offset_m)
            )
        else:
            rows += [(azimuth, length, 0.0) for azimuth, length in walked_pieces(leg)]
    azimuth, length, box = np.array(rows).T
    counts = [np.rint(metres / PACE_M).astype(np.int64) for metres in (length, box)]
    return Route(np.rint(azimuth).astype(np.int64), counts[0], counts[1], np.zeros(len(rows)))


def simulated_share(card: Card, course: Course, person: Person, seed: int) -> float:
    """How often a walk with ordinary scatter alone ends nearest to another stake than it should."""
    walked = walk(np.random.default_rng(seed), route_of(card), WALKS, person)
    stakes = np.array([post.place_m for post in course.posts])
    names = [post.name for post in course.posts]
    ends = walked.places_m[:, -1] + stakes[names.index(card.start)]
    nearest = np.hypot(*(ends[:, None] - stakes).transpose(2, 0, 1)).argmin(axis=1)
    return float(np.mean(nearest != names.index(card.ends)))


@pytest.mark.parametrize(
    ("legs", "drills", "field_m", "azimuth_deg"),
    [
        (3, (), (220.0, 120.0), 90.0),
        (4, ("box",), (260.0, 120.0), 37.0),
        (3, ("detour",), (220.0, 120.0), 200.0),
        (2, (), (220.0, 120.0), 90.0),
        (10, (), (500.0, 200.0), 311.0),
    ],
)
def test_the_stated_share_of_wrong_stakes_holds_within_two_points_on_fresh_walks(
    legs: int, drills: tuple[str, ...], field_m: tuple[float, float], azimuth_deg: float
) -> None:
    asked = FieldAsked(
        learners=5,
        legs=legs,
        drills=drills,  # type: ignore[arg-type]
        field_m=field_m,
        base_azimuth_deg=azimuth_deg,
        most_wrong_share=0.15,
        walker=WALKER,
    )
    course = set_field_course(asked, np.random.default_rng(11))
    for card in course.cards:
        told = wrong_stake_share(card, course, WALKER)
        assert simulated_share(card, course, USUAL, 100 + card.number) == pytest.approx(told, abs=0.02)


@pytest.mark.parametrize(
    ("azimuth_sd_deg", "count_sd", "bias_sd_deg", "scale_sd"),
    [(1.0, 0.02, 0.5, 0.01), (4.0, 0.08, 3.0, 0.05), (2.5, 0.03, 0.0, 0.10)],
)
def test_the_stated_share_holds_for_surer_and_for_less_sure_learners(
    azimuth_sd_deg: float, count_sd: float, bias_sd_deg: float, scale_sd: float
) -> None:
    person = Person(PACE_M, azimuth_sd_deg, count_sd, 1.0, bias_sd_deg, scale_sd)
    walker = Walker(
        per_100_m=100.0 / PACE_M,
        compass=CompassScatter(azimuth_sd_deg, bias_sd_deg),
        count=CountScatter(100.0 * scale_sd, 100.0 * count_sd),
    )
    course = set_field_course(FieldAsked(learners=4, walker=WALKER), np.random.default_rng(3))
    for card in course.cards:
        told = wrong_stake_share(card, course, walker)
        assert simulated_share(card, course, person, 200 + card.number) == pytest.approx(told, abs=0.02)


def two_stakes(length_m: float) -> tuple[Card, Course]:
    posts = (Post("Alder", (0.0, 0.0)), Post("Beech", (20.0, 0.0)), Post("Cedar", (40.0, 0.0)))
    legs = (CourseLeg(0.0, length_m), CourseLeg(180.0, length_m), CourseLeg(90.0, 20.0))
    card = Card(1, "Alder", legs, "Beech")
    return card, Course("Three stakes", "field", "magnetic", posts, (card,))


def test_the_share_is_what_a_pencil_and_scipy_make_of_it() -> None:
    card, course = two_stakes(100.0)
    # Along the base line: two legs across it, 2.5 degrees and 1/sqrt(12) degree off at 100 m each, one
    # leg along it, 5 % or at least a pace, rounded counts, and the pace scale of 3 % over 20 m.
    across = math.radians(math.hypot(2.5, 1.0 / math.sqrt(12.0))) * 100.0
    along = math.hypot(max(1.0, PACE_M), PACE_M / math.sqrt(12.0), 0.03 * 20.0)
    sd = math.sqrt(2.0 * across**2 + along**2)
    assert wrong_stake_share(card, course, WALKER) == pytest.approx(2.0 * stats.norm.sf(10.0 / sd), rel=1e-9)


def test_stakes_farther_apart_and_legs_shorter_are_surer() -> None:
    shares = [wrong_stake_share(*two_stakes(length_m), WALKER) for length_m in (20.0, 60.0, 120.0)]
    assert shares == sorted(shares)
    assert shares[0] < 0.002 < 0.1 < shares[2]


def test_steps_round_finer_than_paces() -> None:
    card, course = two_stakes(60.0)
    assert wrong_stake_share(card, course, WALKER, "steps") < wrong_stake_share(card, course, WALKER)


def test_a_compass_bias_turns_an_end_across_the_base_line_and_not_along_it() -> None:
    card, _ = two_stakes(60.0)
    east, north = np.diag(ending_covariance(card.legs, WALKER))
    still = Walker(per_100_m=80.0, compass=CompassScatter(bias_sd_deg=0.0))
    east_still, north_still = np.diag(ending_covariance(card.legs, still))
    assert east == pytest.approx(east_still)
    assert north - north_still == pytest.approx((math.radians(1.5) * 20.0) ** 2)


def test_posts_that_stand_anywhere_have_no_share_of_wrong_stakes() -> None:
    card, course = two_stakes(60.0)
    scattered = (*course.posts, Post("Dogwood", (20.0, 50.0)))
    moved = Course("Anywhere", "field", "magnetic", scattered, (card,))
    with pytest.raises(ValueComplaint, match="do not stand apart on one line"):
        wrong_stake_share(card, moved, WALKER)


@pytest.mark.parametrize(("off_m", "is_one"), [(0.9, True), (-0.9, True), (1.1, False), (-1.1, False)])
def test_stakes_20_m_apart_may_stand_a_metre_off_their_line(off_m: float, is_one: bool) -> None:
    off = (0.0, off_m, 0.0)
    posts = tuple(Post(f"Stake {k}", (20.0 * k, off[k]), 0.1) for k in range(3))
    assert stands_on_line(posts) == is_one


def test_a_box_is_walked_as_the_field_manual_draws_it() -> None:
    rows = {row["step"]: row for row in read_authority("detour_field_manual.csv")}
    out, past = printed(rows["out"]["length_m"]), printed(rows["past"]["length_m"])
    leg = CourseLeg(
        printed(rows["course"]["azimuth"]), past, obstacle=Obstacle("box", "right", 0.0, past, out)
    )
    told = [
        (printed(rows[k]["azimuth"]) % 360, printed(rows[k]["length_m"])) for k in ("out", "past", "back")
    ]
    assert [tuple(piece) for piece in walked_pieces(leg)] == told


@pytest.mark.parametrize("side", ["right", "left"])
@pytest.mark.parametrize("way", ["box", "detour"])
def test_the_way_round_comes_out_on_the_line(way: str, side: str) -> None:
    bar = Obstacle(way, side, 20.0, 25.0, 15.0 if way == "box" else 0.0)  # type: ignore[arg-type]
    leg = CourseLeg(215.0, 60.0, obstacle=bar)
    walked = np.sum([CourseLeg(a, length).step_m() for a, length in walked_pieces(leg)], axis=0)
    assert walked == pytest.approx(leg.step_m())


def test_the_normal_share_is_scipys() -> None:
    z = np.linspace(-8.0, 8.0, 33)
    assert [normal_share(one) for one in z] == pytest.approx(stats.norm.cdf(z), rel=1e-12, abs=0)
