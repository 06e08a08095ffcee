"""An offset taped from a base line, against plane geometry (common practice: square to the line)."""

from __future__ import annotations

import pytest

from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.taping import taped_offset
from pacewright.exceptions import ValueComplaint


def course(last: tuple[float, float], kind: str = "field") -> Course:
    posts = (Post("Alder", (0.0, 0.0)), Post("Beech", last))
    card = Card(1, "Alder", (CourseLeg(0.0, 50.0), CourseLeg(180.0, 50.0)), "Alder")
    return Course("Cinder Fen", kind, "magnetic", posts, (card,))


@pytest.mark.parametrize(
    ("last", "east_north"),
    [
        ((90.0, 0.0), (3.0, -2.0)),
        ((0.0, 90.0), (2.0, 3.0)),
        ((-90.0, 0.0), (-3.0, 2.0)),
        ((30.0, 40.0), (3 * 0.6 + 2 * 0.8, 3 * 0.8 - 2 * 0.6)),
    ],
)
def test_right_of_the_base_line_is_a_quarter_turn_clockwise(last, east_north):
    assert taped_offset(course(last), 3.0, 2.0) == pytest.approx(east_north, abs=1e-12)


def test_posts_in_the_land_are_taped_east_and_north():
    assert taped_offset(course((30.0, 40.0), "posts"), 3.0, 2.0) == (3.0, 2.0)


def test_a_base_line_without_length_is_refused():
    with pytest.raises(ValueComplaint, match="stand on one place"):
        taped_offset(course((0.0, 0.0)), 1.0, 1.0)
