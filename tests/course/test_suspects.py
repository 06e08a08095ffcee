"""Which slips are worth naming, what is believed before the finish is looked at, and which counts agree."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.core.log.log_heading import Heading
from pacewright.core.log.travel_log import Cells, TravelLog, compose_log, parse_row
from pacewright.core.pace.walker import Walker
from pacewright.course.answer_key import AnswerKey, answer_key
from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.finish import Handed
from pacewright.course.miss import see_finish
from pacewright.course.suspects import list_suspects, weigh_seen
from pacewright.course.walked_slips import WalkedPosterior, WalkedSlip
from pacewright.course.written_slips import compare_written

WALKER = Walker(name="Ines Rowe", per_100_m=62.5)
LEGS = ((34, 47), (146, 63), (68, 58), (153, 82), (97, 100))
"""Azimuths and counts of the card."""


@pytest.fixture
def course() -> Course:
    legs = [CourseLeg(float(azimuth), count * 1.6) for azimuth, count in LEGS]
    east, north = np.sum([leg.step_m() for leg in legs], axis=0)
    posts = (Post("Gate", (0.0, 0.0)), Post("Oak", (float(east), float(north))))
    legs[-1] = replace(legs[-1], ends="Oak")
    return Course("Cinder Fen", "field", "magnetic", posts, (Card(1, "Gate", tuple(legs), "Oak"),))


@pytest.fixture
def key(course: Course) -> AnswerKey:
    return answer_key(course, 1, WALKER)


def log_of(counts: tuple[int, ...]) -> TravelLog:
    head = Heading(start="Gate")
    rows = [parse_row(Cells(str(a), str(c), ""), head) for (a, _), c in zip(LEGS, counts, strict=True)]
    return compose_log(head, rows)


def counts_with(number: int, count: int) -> tuple[int, ...]:
    return tuple(count if k == number else asked for k, (_, asked) in enumerate(LEGS, start=1))


def test_a_slip_less_likely_than_one_in_twenty_is_not_named(key: AnswerKey) -> None:
    """One in twenty, by common practice, is where chance is no longer held to explain it."""
    slips = tuple(
        WalkedSlip("tally_lost", (row,), 34.0, 40.0, chance, (0.0, 0.0))
        for row, chance in ((1, 0.06), (2, 0.04))
    )
    told = WalkedPosterior(np.ones(1), 0.88, 0.02, 1.0, np.zeros((2, 2)), slips)
    assert [one.chance for one in list_suspects(key, None, told)] == [0.06]


def test_whoever_wrote_otherwise_than_the_card_is_believed_two_in_three_to_have_walked_it(
    course: Course, key: AnswerKey
) -> None:
    """Assumed: likelier than not, and far from sure. A finish known to 10 000 km tells nothing more."""
    log = log_of(counts_with(4, 182))
    written = compare_written(log, key, counted_to_posts=False)
    seen = see_finish(Handed("Tam Rook", 1, log, None, (0.0, 0.0), walker=WALKER), course, key, {})
    assert seen is not None and len(written.slips) == 1
    told = weigh_seen(replace(seen, known=1e14 * np.eye(2)), key, written, False, None, 0.2)
    assert told is not None
    assert 0.6 < told.base_probability[1] < 0.8


def test_counts_worked_out_to_the_nearest_five_are_no_slips_and_one_a_ten_short_is(key: AnswerKey) -> None:
    """Who works a count out from the card may round it to five, and no ten; both common practice."""
    fives = tuple(5 * round(count / 5) for _, count in LEGS)
    assert fives != tuple(count for _, count in LEGS)
    assert compare_written(log_of(fives), key, counted_to_posts=False).slips == ()
    short = compare_written(log_of(counts_with(5, 90)), key, counted_to_posts=False)
    assert [(one.leg, one.column) for one in short.slips] == [(5, "count")]
