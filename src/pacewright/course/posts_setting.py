"""Setting a course between posts whose places are known: equal lanes, each another order, nobody in step.

First the legs that may be walked, then many lanes and the middle about which they lie densest, then who walks
which lane when. Lanes are equal within what is tolerated by construction; among those, the last learner is to
be home early, and how far from the earliest possible that is at most is told.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import direction_deg
from pacewright.course.barred_land import corridor_for
from pacewright.course.closing_up import closed_up, proved
from pacewright.course.course import Card, Course, CourseLeg, Fact, Post
from pacewright.course.lane_candidates import LaneRules, all_lanes, drawn_lanes
from pacewright.course.lane_measures import LaneMeasures, Middle, lane_measures, middle_lane
from pacewright.course.leg_graph import LegGraph, leg_graph
from pacewright.course.meetings import meeting_share
from pacewright.course.post_words import draw_words
from pacewright.course.posts_asked import PostsAsked
from pacewright.course.posts_risk import MARGIN, barred_facts, clear_of_barred
from pacewright.course.sending_off import Land, Sent, lane_risks, send_off
from pacewright.course.timetable import Clockwork, last_home_bound
from pacewright.exceptions import NoAnswerComplaint

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Progress = Callable[[str, float], None]

_MOST_STARTS_MIN: Final = 1440
_TRIES: Final = 3
_ROUNDS: Final = 40
_POOL: Final = 2_000
_MORE: Final = 4


def set_posts_course(asked: PostsAsked, rng: np.random.Generator, progress: Progress | None = None) -> Course:
    """A course between posts: a card and a start for every learner, and how good the course is.

    Parameters
    ----------
    asked
        Posts, learners, limits and tolerances.
    rng
        Chance; the same start of chance gives the same course on any machine.
    progress
        Told what is being done, and the share of all that is done, from 0 to 1.

    Returns
    -------
    Course
        Its facts tell the least and greatest length, climb and chance, when the last starts and is home, how
        many visits meet somebody all the same when paces vary, and `last_home_bound`: no class on lanes that
        are equal about the same middle could all be home before it. `gap_to_bound` is how much longer this
        one takes, as a part of the bound.

    Raises
    ------
    ValueComplaint
        A post stands in a barred area, or two stand at one place.
    NoAnswerComplaint
        No leg, no lane, or not enough lanes that are equal within what is tolerated.
    MissingComplaint
        The height under a post is not known.
    """
    tell = progress or _tell_nobody
    tell("legs between posts", 0.0)
    # Chance of their own: how many learners are walked to tell a risk must not change the course.
    of_legs, of_cards = rng.spawn(2)
    graph, risk = clear_of_barred(asked, _legs(asked), of_legs)
    clockwork = clockwork_of(asked, graph)
    measures = lane_measures(graph, asked.walker, asked.finding)
    tell("possible lanes", 0.05)
    land = _land(asked, clockwork, measures, risk, rng)
    tell("starts", 0.2)
    horizon_min = _MOST_STARTS_MIN + asked.legs * (int(clockwork.minutes[graph.allowed].max()) + 60) + 200
    sent = _sent(asked, land, horizon_min, rng, lambda share: tell("starts", 0.2 + 0.2 * share))
    bound = last_home_bound(clockwork, asked.learners, _least_lane_min(asked, land))
    sent = closed_up(
        land, sent, bound, _ROUNDS, horizon_min, rng, lambda share: tell("closing up", 0.4 + 0.5 * share)
    )
    sent, bound = proved(land, sent, bound)
    order = np.lexsort((*sent.lanes.T[::-1], sent.start_min))
    sent = Sent(sent.lanes[order], sent.start_min[order] - sent.start_min.min())
    tell("checks", 0.95)
    meeting = meeting_share(clockwork, sent, asked.pace.varies_pct / 100, rng)
    course = _course(asked, land, sent, bound, meeting, rng)
    course = replace(course, facts=(*course.facts, *barred_facts(asked, sent.lanes, of_cards)))
    tell("done", 1.0)
    return course


def clockwork_of(asked: PostsAsked, graph: LegGraph) -> Clockwork:
    """The minutes of every leg, rounded up to whole ones, and who may follow whom."""
    names = [post.name for post in asked.posts]
    between = np.array([asked.is_between(name) for name in names])
    starts = tuple(names.index(name) for name in dict.fromkeys(asked.starts)) or tuple(
        np.flatnonzero(between).tolist()
    )
    finish = None if asked.finish is None else names.index(asked.finish)
    pace = asked.pace
    hours = graph.length_m / pace.timing.metres_per_hour + graph.climb_m / pace.timing.climb_m_per_hour
    window = np.full(len(names), pace.at_post_min + pace.spare_min, dtype=np.intp)
    if asked.starts:
        window[list(starts)] = pace.start_gap_min
    if finish is not None and finish not in starts:
        window[finish] = 0
    return Clockwork(
        LaneRules(graph.allowed, starts, between, finish, asked.legs),
        np.ceil(60.0 * hours - 1e-9).astype(np.intp),
        pace.at_post_min,
        window,
        pace.apart_on_leg_min,
    )


def post_minutes(asked: PostsAsked, course: Course) -> tuple[tuple[int, ...], ...]:
    """When each card's learner is due at each post, in minutes after the first start.

    Returns
    -------
    tuple
        By card, in the order of the course; by leg. The pace is the one asked for: nobody keeps to it.
    """
    clockwork = clockwork_of(asked, _legs(asked))
    names = [post.name for post in asked.posts]
    lanes = np.array(
        [
            [names.index(str(name)) for name in (card.start, *(leg.ends for leg in card.legs))]
            for card in course.cards
        ],
        dtype=np.intp,
    )
    start = np.array([card.start_minute for card in course.cards], dtype=np.intp)
    reached = clockwork.arrivals(lanes)[:, 1:] + start[:, None]
    return tuple(tuple(row) for row in reached.tolist())


def _tell_nobody(_doing: str, _share: float) -> None:
    """Keep quiet."""


def _legs(asked: PostsAsked) -> LegGraph:
    graph = leg_graph(
        asked.posts,
        asked.leg_m,
        corridor_for(asked.walker, asked.clearance_m, asked.drift_sds),
        asked.barred,
        asked.finding.sighting_m,
        asked.height,
    )
    if not graph.allowed.any():
        raise NoAnswerComplaint(
            f"no leg between two posts may be walked ({_say_refused(graph)})",
            "Move posts, or allow longer or shorter legs; a smaller clearance only if it is safe",
        )
    return graph


def _say_refused(graph: LegGraph) -> str:
    told = [f"{count} {why}" for why, count in graph.refused.items() if count]
    return ", ".join(told) or "none was refused"


def _land(
    asked: PostsAsked, clockwork: Clockwork, measures: LaneMeasures, risk: Array, rng: np.random.Generator
) -> Land:
    """The lanes there are, near the middle one."""
    every = all_lanes(clockwork.rules, asked.candidates)
    if every is not None:
        return _near_the_middle(asked, clockwork, measures, risk, every, is_all=True)
    drawn = drawn_lanes(clockwork.rules, asked.candidates, rng)
    try:
        return _near_the_middle(asked, clockwork, measures, risk, drawn, is_all=False)
    except NoAnswerComplaint:
        more = drawn_lanes(clockwork.rules, _MORE * asked.candidates, rng)
        return _near_the_middle(asked, clockwork, measures, risk, more, is_all=False)


def _near_the_middle(
    asked: PostsAsked,
    clockwork: Clockwork,
    measures: LaneMeasures,
    risk: Array,
    lanes: Ints,
    *,
    is_all: bool,
) -> Land:
    most_risk = MARGIN * asked.most_barred_share
    lanes = _safe_lanes(asked, risk, lanes, most_risk)
    values = measures.of(lanes) if len(lanes) else np.zeros((0, 3))
    within = (values[:, 0] >= asked.lane_m[0]) & (values[:, 0] <= asked.lane_m[1])
    _check_lanes(asked, values, int(within.sum()))
    lanes, values = _as_hard_as_wanted(asked, lanes[within], values[within])
    allowed = asked.tolerances
    share = allowed.length_share / 2.0
    tolerated = np.array(
        [share * float(np.median(values[:, 0])), allowed.climb_m / 2.0, allowed.chance / 2.0]
    )
    middle = middle_lane(values, tolerated, 4 * asked.learners)
    middle = replace(middle, tolerated=np.array([share * middle.values[0], *tolerated[1:]]))
    off = middle.deviation(values)
    nearest = np.argsort(off, kind="stable")
    if off[nearest[asked.learners - 1]] > 1.0:
        raise _not_equal_enough(asked, values[nearest[: asked.learners]], middle)
    pool = nearest[: max(_POOL, asked.learners)] if not is_all else nearest
    return Land(
        clockwork, measures, middle, asked.lane_m, risk, most_risk, lanes[pool[off[pool] <= 1.0]], is_all
    )


def _as_hard_as_wanted(asked: PostsAsked, lanes: Ints, values: Array) -> tuple[Ints, Array]:
    """The lanes that have the wanted chance to find every post, all where none is wanted."""
    if asked.wanted_chance is None:
        return lanes, values
    chance = values[:, 2]
    hard = np.abs(chance - asked.wanted_chance) <= asked.tolerances.chance / 2.0
    if int(hard.sum()) < asked.learners:
        low, high = (float(np.sort(chance)[k]) for k in (0, -1))
        raise NoAnswerComplaint(
            f"{int(hard.sum())} lanes for {asked.learners} learners have a chance of"
            f" {100 * asked.wanted_chance:g} % to find every post; here it is from {100 * low:.0f} to"
            f" {100 * high:.0f} %",
            "Ask for a chance in between, for fewer or shorter legs to make it greater, or for posts that are"
            " seen from farther",
        )
    return lanes[hard], values[hard]


def _safe_lanes(asked: PostsAsked, risk: Array, lanes: Ints, most_risk: float) -> Ints:
    """The lanes on which the chance to enter barred land stays under the bound."""
    risks = lane_risks(risk, lanes)
    safe = lanes[risks <= most_risk]
    if len(lanes) and len(safe) < asked.learners:
        least = float(np.sort(risks)[min(asked.learners, len(lanes)) - 1])
        raise NoAnswerComplaint(
            f"{len(safe)} lanes for {asked.learners} learners keep the chance to enter barred land under"
            f" {100 * asked.most_barred_share:g} % for learners who miss posts and follow the card's rule;"
            f" the safest {min(asked.learners, len(lanes))} come to {100 * least / MARGIN:.1f} %",
            "Move posts, ask for shorter legs or more clearance, state a backstop that leads away,"
            " or state a greater bound if the land allows it",
        )
    return safe


def _check_lanes(asked: PostsAsked, values: Array, within: int) -> None:
    if not len(values):
        raise NoAnswerComplaint(
            f"the legs that may be walked make no lane of {asked.legs} legs",
            "Ask for fewer legs, set more posts, or allow longer or shorter legs",
        )
    if within == 0:
        raise NoAnswerComplaint(
            f"lanes of {asked.legs} legs come out {values[:, 0].min():.0f} to {values[:, 0].max():.0f} m"
            f" long, none of them within {asked.lane_m[0]:.0f} to {asked.lane_m[1]:.0f} m",
            "Change the number of legs, or the limits of a lane",
        )
    if within < asked.learners:
        raise NoAnswerComplaint(
            f"only {within} different lanes were found for {asked.learners} learners",
            "Set more posts, or allow longer or shorter legs",
        )


def _not_equal_enough(asked: PostsAsked, values: Array, middle: Middle) -> NoAnswerComplaint:
    spread = values.max(axis=0) - values.min(axis=0)
    tolerated = 2.0 * middle.tolerated
    return NoAnswerComplaint(
        f"no {asked.learners} lanes were found that are equal enough: the nearest differ by {spread[0]:.0f} m"
        f" in length ({tolerated[0]:.0f} m tolerated), {spread[1]:.0f} m in climb ({tolerated[1]:.0f} m) and"
        f" {spread[2]:.3f} in the chance to find every post ({tolerated[2]:.3f})",
        "Tolerate that much, or set more posts",
    )


def _sent(
    asked: PostsAsked, land: Land, horizon_min: int, rng: np.random.Generator, tell: Callable[[float], None]
) -> Sent:
    """The best of a few classes sent off."""
    best: Sent | None = None
    latest = _MOST_STARTS_MIN
    for one in range(_TRIES):
        sent = send_off(land, asked.learners, horizon_min, rng, latest)
        if sent is not None and (best is None or _home(land, sent) < _home(land, best)):
            best, latest = sent, int(sent.start_min.max()) + 60
        tell((one + 1) / _TRIES)
    if best is None:
        raise NoAnswerComplaint(
            f"{asked.learners} learners cannot be sent off within {_MOST_STARTS_MIN // 60} hours so that"
            " no two are at one post at once",
            "Set more posts or starts, or allow less time at a post and less to spare",
        )
    return best


def _home(land: Land, sent: Sent) -> int:
    return land.clockwork.last_home(sent.lanes, sent.start_min)


def _least_lane_min(asked: PostsAsked, land: Land) -> int:
    """The least time of any lane within what is tolerated."""
    clockwork = land.clockwork
    if land.is_all:
        least_min = int(clockwork.arrivals(land.pool)[:, -1].min())
        return least_min + asked.pace.at_post_min
    least_m, least_climb_m, _ = land.middle.values - land.middle.tolerated
    hours = max(float(least_m), asked.lane_m[0]) / asked.pace.timing.metres_per_hour
    hours += max(float(least_climb_m), 0.0) / asked.pace.timing.climb_m_per_hour
    return math.ceil(60.0 * hours - 1e-6) + asked.legs * asked.pace.at_post_min


def _course(
    asked: PostsAsked, land: Land, sent: Sent, bound: int, meeting: float, rng: np.random.Generator
) -> Course:
    cards = tuple(
        _card(asked, number, lane, start, climb_m)
        for number, (lane, start, climb_m) in enumerate(
            zip(
                sent.lanes.tolist(),
                sent.start_min.tolist(),
                land.measures.of(sent.lanes)[:, 1].round(1).tolist(),
                strict=True,
            ),
            start=1,
        )
    )
    return Course(
        title=asked.title,
        kind="posts",
        azimuth_reference=asked.azimuth_reference,
        posts=_worded(asked, rng),
        cards=cards,
        seed=asked.seed,
        facts=_facts(asked, land, sent, bound, meeting),
        barred=asked.barred,
        safety=asked.safety,
        timing=asked.pace.timing,
        finding=asked.finding,
    )


def _worded(asked: PostsAsked, rng: np.random.Generator) -> tuple[Post, ...]:
    """The posts, each with a word: without one nobody can prove to have been there."""
    taken = [post.word for post in asked.posts if post.word]
    words = iter(draw_words(len(asked.posts) - len(taken), rng, taken))
    return tuple(post if post.word else replace(post, word=next(words)) for post in asked.posts)


def _card(asked: PostsAsked, number: int, lane: list[int], start: int, climb_m: float) -> Card:
    posts = [asked.posts[post] for post in lane]
    legs = []
    for begin, end in pairwise(posts):
        east, north = (there - here for here, there in zip(begin.place_m, end.place_m, strict=True))
        legs.append(CourseLeg(direction_deg(east, north), math.hypot(east, north), end.name))
    return Card(
        number, posts[0].name, tuple(legs), posts[-1].name, start_minute=float(start), climb_m=climb_m
    )


def _facts(asked: PostsAsked, land: Land, sent: Sent, bound: int, meeting: float) -> tuple[Fact, ...]:
    values = land.measures.of(sent.lanes)
    home = _home(land, sent)
    facts: list[Fact] = []
    for column, (name, unit) in enumerate((("length", "m"), ("climb", "m"), ("chance", "share"))):
        facts.append(Fact(f"{name}_least", float(values[:, column].min()), unit))
        facts.append(Fact(f"{name}_most", float(values[:, column].max()), unit))
        facts.append(Fact(f"{name}_tolerance", float(2.0 * land.middle.tolerated[column]), unit))
    facts += [
        Fact("last_start", float(sent.start_min.max()), "min"),
        Fact("last_home", float(home), "min"),
        Fact("last_home_bound", float(bound), "min"),
        Fact("gap_to_bound", home / bound - 1.0, "share"),
        Fact("apart_at_post", float(asked.pace.at_post_min + asked.pace.spare_min), "min"),
        Fact("apart_on_leg", float(asked.pace.apart_on_leg_min), "min"),
        Fact("visits_meeting", meeting, "share"),
        Fact("clearance", asked.clearance_m, "m"),
        Fact("drift_sds", asked.drift_sds, "sd"),
    ]
    return tuple(facts)
