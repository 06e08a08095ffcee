"""What a track told alone becomes evidence of the walker, no more and no less."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from pacewright.core.learn.evidence import Told
from pacewright.core.learn.learning import learn
from pacewright.core.learn.track_evidence import TrackedWalk, find_track_evidence
from pacewright.core.pace.walker import PaceClass, Walker
from support.logs import walker_like
from support.simulator import USUAL

BELIEVED = walker_like()
BRUSH = walker_like(USUAL, PaceClass("brush", None, None, 70.0, per_100_m_sd=2.1, runs=4))
NOTHING = Told(0.0, 100.0)


def tracked(**other):
    """Ten legs of ordinary ground, 4 per cent longer than counted and turned by 2 degrees, known to 1."""
    one = TrackedWalk(
        fits=True,
        counts_paces=True,
        turn=Told(math.radians(2.0), math.radians(1.0) ** 2),
        grounds=("",),
        legs_on=np.array([10.0]),
        length=np.log([1.04]),
        length_covariance=np.array([[0.01**2]]),
        azimuth=NOTHING,
        count=NOTHING,
        legs=10,
    )
    return replace(one, **other)


def on_two_grounds(legs_on=(5.0, 5.0)):
    """The ordinary ground 4 per cent longer than counted, brush 6 per cent shorter."""
    return tracked(
        grounds=("", "ground brush"),
        legs_on=np.array(legs_on),
        length=np.log([1.04, 0.94]),
        length_covariance=np.array([[4e-4, 1e-4], [1e-4, 9e-4]]),
    )


def test_a_pace_count_is_weighed_by_what_was_believed_and_the_day():
    learnt = learn(BELIEVED, tracked())
    # By hand, all in per cent squared: believed 3^2 - 1.5^2; told 1^2 and 1.5^2 for the day, and as the
    # whole of it is 1.2 sds off, trusted (4 + 1) / (4 + 1.46) of the full.
    off, believed, told = 100 * math.log(1.04), 3.0**2 - 1.5**2, 1.0**2 + 1.5**2
    told *= (4 + off**2 / (believed + told)) / 5
    share = believed / (believed + told)
    assert learnt.walker.per_100_m == pytest.approx(62.5 * math.exp(-share * off / 100), abs=0.01)
    left = math.sqrt((1 - share) * believed + 1.5**2)
    assert learnt.walker.count.scale_sd_pct == pytest.approx(left, abs=0.01)


def test_instrument_and_handling_share_a_bias_that_a_track_cannot_part():
    walker = learn(BELIEVED, tracked()).walker
    assert 0.8 < walker.compass.bias_deg < 1.6
    assert walker.compass.sighting_bias_deg == pytest.approx(walker.compass.bias_deg / 2, abs=0.001)
    assert walker.compass.bias_sd_deg < BELIEVED.compass.bias_sd_deg


def test_a_scatter_rests_on_as_many_numbers_as_its_doubt_says():
    evidence = find_track_evidence(tracked(count=Told(math.log(1.5), 1 / 40)), BELIEVED)
    # A scatter from 20 numbers is known to 1 in sqrt(40) (common practice); ten legs had one mean taken out.
    assert evidence.count.squares == pytest.approx(20 * 1.5**2)
    assert evidence.count.freedom == pytest.approx(20 * 0.9)
    assert evidence.azimuth.freedom == evidence.sighting.freedom == 0.0


def test_a_track_says_nothing_of_bearings():
    learnt = learn(BELIEVED, tracked(azimuth=Told(0.3, 0.02), count=Told(0.3, 0.02)))
    assert {change.name for change in learnt.changes} == {
        *("pace count", "compass bias", "scatter of azimuths", "scatter of counts")
    }
    assert learnt.walker.compass.azimuth_sd_deg > 2.5
    assert learnt.walker.compass.sighting_sd_deg == BELIEVED.compass.sighting_sd_deg


def test_a_ground_is_told_beside_the_ordinary_one():
    evidence = find_track_evidence(on_two_grounds(), BRUSH)
    ground = evidence.grounds["ground brush"]
    factor = 0.94 / 1.04
    assert ground.value == pytest.approx(factor - 1)
    assert ground.variance == pytest.approx(factor**2 * (4e-4 + 9e-4 - 2e-4))
    assert evidence.scale == Told(pytest.approx(math.log(1.04)), pytest.approx(4e-4))


def test_legs_of_a_log_are_no_pace_trials():
    (brush,) = learn(BRUSH, on_two_grounds()).walker.classes
    assert brush.per_100_m > 70.0
    assert 0 < brush.per_100_m_sd < 2.1
    assert brush.runs == 4


def test_too_few_legs_tell_no_ground():
    learnt = learn(BRUSH, on_two_grounds((8.0, 2.0)))
    (brush,) = learnt.walker.classes
    # The ratio to the ordinary ground stays, so the count follows the ordinary one.
    ordinary = learnt.walker.per_100_m / 62.5
    assert brush.per_100_m == pytest.approx(70.0 * ordinary, abs=0.01)
    assert [c.name for c in learnt.changes if "brush" in c.name] == []


def test_a_walk_on_one_class_alone_tells_that_class_and_leaves_the_pace_count():
    evidence = find_track_evidence(on_two_grounds((0.0, 10.0)), BRUSH)
    assert evidence.scale is None
    ground = evidence.grounds["ground brush"]
    assert ground.value == pytest.approx(-0.06)
    assert ground.variance == pytest.approx(0.94**2 * (9e-4 + 0.03**2))


def test_a_log_counted_in_metres_says_nothing_of_paces():
    learnt = learn(BELIEVED, tracked(counts_paces=False))
    assert learnt.walker.per_100_m == BELIEVED.per_100_m
    assert learnt.walker.compass.bias_deg > 0


@pytest.mark.parametrize(
    ("other", "says"),
    [
        ({"fits": False}, "its track does not look like it"),
        ({"turn": Told(math.radians(12.0), 1e-4)}, "all its azimuths are off by 12 deg"),
        ({"length": np.log([0.5])}, "its legs are 0.50 times as long as counted"),
    ],
)
def test_a_log_that_its_walker_cannot_have_walked_is_set_aside(other, says):
    learnt = learn(BELIEVED, tracked(**other))
    assert learnt.walker == BELIEVED
    assert learnt.changes == ()
    assert learnt.said[0].startswith("The log is set aside") and says in learnt.said[0]


def test_a_walker_never_measured_gets_a_pace_count():
    # An assumed pace of 1.5 m (five feet) is 66.7 to 100 m; the legs were 4 per cent longer.
    learnt = learn(Walker(), tracked())
    assert learnt.walker.per_100_m == pytest.approx(100 / 1.5 / 1.04, rel=0.005)
    assert 1.5 < learnt.walker.count.scale_sd_pct < 3.0
    assert "an assumed pace of 1.5 m" in learnt.walker.origin["pace.per_100_m"]
    spoiled = learn(Walker(), tracked(fits=False))
    assert spoiled.walker == Walker()


def test_the_weight_of_an_old_track_halves_in_ten_logs():
    fresh = learn(BRUSH, on_two_grounds()).walker
    paper = tracked(counts_paces=False, turn=Told(0.0, 1e3))
    old = learn(BRUSH, on_two_grounds(), *[paper] * 10).walker

    def weight(walker):
        # Beyond the default of 3 per cent, to which a ground falls back.
        (brush,) = walker.classes
        return (brush.per_100_m / brush.per_100_m_sd) ** 2 - 1 / 0.03**2

    assert weight(old) == pytest.approx(weight(fresh) / 2, rel=0.02)
