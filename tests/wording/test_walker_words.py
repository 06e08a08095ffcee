"""A walker's figures in plain sentences."""

from __future__ import annotations

from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.wording.walker import say_doubtful_figures, say_figures


def test_a_pace_count_that_looks_like_steps_is_asked_about():
    says = "Were steps counted? pace.per_100_m = 144 looks like steps. A pace is two steps: if so, write 72."
    assert say_doubtful_figures(Walker(per_100_m=144)) == [says]
    assert say_figures(Walker(per_100_m=144))[-1] == says


def test_the_question_is_the_one_that_calibrating_asks():
    """A level count above 95 to 100 m."""
    assert say_doubtful_figures(Walker(per_100_m=95)) == []
    assert len(say_doubtful_figures(Walker(per_100_m=95.5))) == 1


def test_classes_of_ground_are_asked_about_where_they_are_level():
    walker = Walker(
        per_100_m=62.5,
        classes=(
            PaceClass("", "level", None, 120.0),
            PaceClass("brush", None, None, 140.0),
            PaceClass("brush", "up", None, 150.0),
            PaceClass("bog", "level", None, 130.0),
        ),
    )
    assert [
        said.split(" = ")[0].removeprefix("Were steps counted? ") for said in say_doubtful_figures(walker)
    ] == [
        "pace.slope.level.per_100_m",
        "pace.ground.brush.per_100_m",
        "pace.ground.bog.level.per_100_m",
    ]
