"""A course between known posts: checked from its cards alone, and against learners made up afresh."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from pacewright.course.barred_land import BarredArea
from pacewright.course.course import Course, Post
from pacewright.course.leg_graph import terrain_heights
from pacewright.course.posts_asked import ClassPace, PostsAsked, Tolerances
from pacewright.course.posts_setting import post_minutes, set_posts_course
from pacewright.course.safety import Timing
from pacewright.exceptions import MissingComplaint, NoAnswerComplaint, ValueComplaint
from pacewright.ground.terrain import Terrain
from support.authorities import printed, read_authority
from support.made_posts import thrown_posts, walk_the_class
from support.made_searches import dense_ring, lane_found, winding_inside

pytestmark = pytest.mark.slow

POND = BarredArea("Cinder tarn", ((800, 700), (1150, 700), (1150, 1100), (800, 1000)))


def clear_of_pond(posts: tuple[Post, ...]) -> tuple[Post, ...]:
    return tuple(
        post for post in posts if not (750 < post.place_m[0] < 1200 and 650 < post.place_m[1] < 1150)
    )


ASKED = PostsAsked(
    "Cinder Fen lanes",
    clear_of_pond(thrown_posts(22, 31, 2000.0, 220.0)),
    learners=16,
    legs=6,
    barred=(POND,),
    candidates=5000,
    seed=7,
)


def set_course(asked: PostsAsked, seed: int = 7) -> Course:
    return set_posts_course(asked, np.random.default_rng(seed))


@pytest.fixture(scope="module")
def course() -> Course:
    return set_course(ASKED)


def orders(course: Course) -> list[tuple[str, ...]]:
    return [(card.start, *(str(leg.ends) for leg in card.legs)) for card in course.cards]


def spread(values: list[float]) -> float:
    return max(values) - min(values)


def test_every_learner_has_another_order_and_meets_no_post_twice(course: Course) -> None:
    assert [card.number for card in course.cards] == list(range(1, 17))
    assert len(set(orders(course))) == 16
    assert all(len(set(order)) == 7 for order in orders(course))


def test_lanes_are_equally_long(course: Course) -> None:
    lengths_m = [card.length_m for card in course.cards]
    assert spread(lengths_m) <= 0.05 * np.mean(lengths_m) * 1.03
    assert spread(lengths_m) <= course.fact("length_tolerance") + 1e-6


def test_lanes_are_equally_hard_for_learners_made_up_afresh(course: Course) -> None:
    shares = []
    for seed, card in enumerate(course.cards[::3]):
        places_m = course.places_m(card)
        shares.append(lane_found(np.random.default_rng(900 + seed), places_m, 10_000, 30.0, 50.0))
    # Four standard deviations of a difference of two shares, and the 120 looks a leg.
    doubt = 4 * np.sqrt(2 * 0.25 / 10_000) + 0.003
    assert spread(shares) <= ASKED.tolerances.chance + doubt
    assert min(shares) >= course.fact("chance_least") - doubt
    assert max(shares) <= course.fact("chance_most") + doubt


def test_no_two_learners_are_at_one_post_at_once(course: Course) -> None:
    visits = walk_the_class(course, 3000.0, 3)
    for at_post in visits.values():
        come = sorted(coming for coming, _, _ in at_post)
        assert all(later - before >= 4 for before, later in pairwise(come))
    assert max(going for at_post in visits.values() for _, going, _ in at_post) == course.fact("last_home")


def test_the_minutes_of_the_instructors_sheet_are_those_of_the_cards(course: Course) -> None:
    visits = walk_the_class(course, 3000.0, 3)
    for card, minutes in zip(course.cards, post_minutes(ASKED, course), strict=True):
        for leg, minute in zip(card.legs, minutes, strict=True):
            assert (minute, minute + 3, card.number) in visits[str(leg.ends)]


def test_no_leg_comes_within_the_clearance_of_a_danger_area(course: Course) -> None:
    border = dense_ring(np.array(POND.corners_m, dtype=float), 2.0)
    for card in course.cards:
        places_m = course.places_m(card)
        for here, there in pairwise(places_m):
            points = here + np.linspace(0, 1, 200)[:, None] * (there - here)
            assert not winding_inside(points, np.array(POND.corners_m, dtype=float)).any()
            assert np.hypot(*(points[:, None] - border[None]).transpose(2, 0, 1)).min() > ASKED.clearance_m


def test_no_leg_leads_past_another_post_in_sight(course: Course) -> None:
    places = {post.name: np.array(post.place_m) for post in course.posts}
    for card in course.cards:
        names = (card.start, *(str(leg.ends) for leg in card.legs))
        for here, there in pairwise(names):
            points = places[here] + np.linspace(0, 1, 200)[:, None] * (places[there] - places[here])
            for name, place in places.items():
                assert name in (here, there) or np.hypot(*(points - place).T).min() > 29.0


def test_the_defaults_are_those_of_the_field_manual(course: Course) -> None:
    rows = {
        row["what"]: (printed(row["least"]), printed(row["most"]))
        for row in read_authority("course_field_manual.csv")
    }
    assert ASKED.leg_m == rows["distance between points"]
    assert ASKED.lane_m == rows["length of a lane"]
    least, most = rows["distance between points"]
    assert all(least <= leg.length_m <= most for card in course.cards for leg in card.legs)
    least, most = rows["length of a lane"]
    assert all(least <= card.length_m <= most for card in course.cards)


def test_one_seed_sets_one_course_and_another_another(course: Course) -> None:
    assert set_course(ASKED) == course
    assert orders(set_course(ASKED, 8)) != orders(course)


def test_progress_is_told_and_goes_up() -> None:
    told: list[tuple[str, float]] = []
    set_posts_course(
        replace(ASKED, learners=4, candidates=2000),
        np.random.default_rng(1),
        lambda doing, share: told.append((doing, share)),
    )
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert {"legs between posts", "possible lanes", "starts", "checks"} <= {doing for doing, _ in told}


def test_from_one_start_learners_leave_one_by_one_and_all_come_home_to_it() -> None:
    asked = replace(ASKED, starts=("Post 1",), finish="Post 1", learners=10, legs=6)
    course = set_course(asked)
    starts = sorted(card.start_minute for card in course.cards)
    assert all(later - before >= 2 for before, later in pairwise(starts))
    for order in orders(course):
        assert order[0] == order[-1] == "Post 1"
        assert len(set(order)) == 6
    for name, at_post in walk_the_class(course, 3000.0, 3).items():
        come = sorted(coming for coming, _, _ in at_post)
        gaps = [later - before for before, later in pairwise(come)]
        assert name == "Post 1" or all(gap >= 4 for gap in gaps)


def test_lanes_on_a_hillside_climb_alike() -> None:
    # A plane that rises 1 in 10 to the north: what a leg climbs is a tenth of its way north.
    north_m = np.linspace(2200, -200, 25)
    land = Terrain(np.repeat(north_m[:, None] / 10, 25, axis=1), -200.0, 2250.0, 100.0, 100.0, "local")
    asked = replace(ASKED, height=terrain_heights(land), tolerances=Tolerances(0.08, 20.0, 0.08))
    course = set_course(asked)
    climbs = []
    for card in course.cards:
        rise = np.diff(course.places_m(card)[:, 1]) / 10
        climbs.append(float(np.maximum(rise, 0).sum()))
    assert spread(climbs) <= 20.0 + 0.5
    assert min(climbs) == pytest.approx(course.fact("climb_least"), abs=0.5)


def test_the_heights_of_the_terrain_turn_with_the_course() -> None:
    land = Terrain(np.arange(100.0).reshape(10, 10), 0.0, 1000.0, 100.0, 100.0, "local")
    # The course's north points to the grid's east: 200 m north of (150, 450) is (350, 450).
    height = terrain_heights(land, (150.0, 450.0), 90.0)
    assert height(np.array([0.0]), np.array([200.0]))[0] == pytest.approx(53.0)


@pytest.mark.parametrize(
    ("change", "kind", "told"),
    [
        ({"posts": ASKED.posts[:4]}, MissingComplaint, "need 7 posts .* there are 4"),
        ({"starts": ("Heron post",)}, MissingComplaint, "no post called Heron post"),
        ({"leg_m": (5000.0, 6000.0)}, NoAnswerComplaint, "no leg between two posts may be walked"),
        ({"lane_m": (20.0, 30.0)}, NoAnswerComplaint, "none of them within 20 to 30 m"),
        (
            {"tolerances": Tolerances(1e-5, 30.0, 1e-5)},
            NoAnswerComplaint,
            "nearest differ by .* m in length",
        ),
        ({"learners": 0}, ValueComplaint, "0 learners make no course"),
        ({"posts": (*ASKED.posts, Post("Heron post", (1000, 900)))}, ValueComplaint, "stands in Cinder tarn"),
        ({"posts": (*ASKED.posts, Post("Heron post", (790, 800)))}, ValueComplaint, "nearer than the cl"),
        (
            {"posts": (*ASKED.posts, Post("Heron post", ASKED.posts[0].place_m))},
            ValueComplaint,
            "stand at one place",
        ),
    ],
)
def test_what_cannot_be_set_is_refused_in_a_sentence(change: dict, kind: type, told: str) -> None:
    with pytest.raises(kind, match=told) as caught:
        set_course(replace(ASKED, **({"candidates": 1000} | change)))
    assert caught.value.do


def test_posts_that_water_parts_make_no_lane_from_one_side_to_the_other() -> None:
    sides = tuple(
        Post(f"Post {n}{side}", (east + 500.0 * (n % 2), 450.0 * n))
        for side, east in (("a", 0.0), ("b", 1500.0))
        for n in range(3)
    )
    river = BarredArea("Fen river", ((1000, -5000), (1000, 5000)), is_line=True)
    asked = replace(
        ASKED, posts=sides, barred=(river,), leg_m=(200, 3000), legs=3, learners=2, candidates=500
    )
    with pytest.raises(NoAnswerComplaint, match="make no lane of 3 legs"):
        set_course(asked)
    assert (
        len(set_course(replace(asked, barred=(), drift_sds=0.0, tolerances=Tolerances(9, 9, 9))).cards) == 2
    )


def test_a_post_beyond_the_terrain_is_refused_by_its_name() -> None:
    land = Terrain(np.zeros((4, 4)), 0.0, 400.0, 100.0, 100.0, "local")
    with pytest.raises(MissingComplaint, match="does not know the height of the post Post"):
        set_course(replace(ASKED, height=terrain_heights(land)))


def test_the_share_of_visits_that_meet_is_that_of_classes_walked_one_by_one(course: Course) -> None:
    rng = np.random.default_rng(41)
    shares = []
    for _ in range(150):
        visits: dict[str, list[float]] = {}
        for card in course.cards:
            now, own = card.start_minute, np.exp(0.1 * rng.standard_normal())
            for leg in card.legs:
                now += np.ceil(leg.length_m / 50.0) * own * np.exp(0.1 * rng.standard_normal())
                visits.setdefault(str(leg.ends), []).append(now)
                now += 3.0
        met = [
            any(other is not one and abs(other - one) < 3.0 for other in come)
            for come in visits.values()
            for one in come
        ]
        shares.append(np.mean(met))
    doubt = 4 * np.std(shares) * np.sqrt(1 / 150 + 1 / 200)
    assert course.fact("visits_meeting") == pytest.approx(np.mean(shares), abs=doubt)
    steady = set_course(replace(ASKED, learners=4, candidates=2000, pace=ClassPace(varies_pct=0.0)))
    assert steady.fact("visits_meeting") == 0.0


def test_a_pace_that_is_none_is_refused() -> None:
    for timing, pace in (
        ({"metres_per_hour": 0.0}, {}),
        ({"at_post_min": 0.0}, {}),
        ({"at_post_min": 2.5}, {}),
        ({}, {"varies_pct": float("nan")}),
    ):
        with pytest.raises(ValueComplaint):
            ClassPace(Timing(**timing), **pace)


def test_lanes_have_the_chance_that_is_asked_for_or_it_is_said_what_there_is() -> None:
    any_will_do = set_course(replace(ASKED, learners=4, candidates=2000))
    least, most = any_will_do.fact("chance_least"), any_will_do.fact("chance_most")
    assert least is not None and most is not None
    wanted = round((least + most) / 2.0, 2)
    found = set_course(replace(ASKED, learners=4, candidates=2000, wanted_chance=wanted))
    half = ASKED.tolerances.chance / 2.0
    for name in ("chance_least", "chance_most"):
        assert abs((found.fact(name) or 0.0) - wanted) <= half + 1e-9
    with pytest.raises(NoAnswerComplaint, match=r"to find every post; here it is from \d+ to \d+ %"):
        set_course(replace(ASKED, learners=4, candidates=2000, wanted_chance=0.001))
    with pytest.raises(ValueComplaint, match="no chance to find every post"):
        replace(ASKED, wanted_chance=0.0)
