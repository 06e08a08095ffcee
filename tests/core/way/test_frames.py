"""The two frames: unit, scale, north, and the errors that all legs share."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pacewright.core.log.log_heading import Heading, KnownPoint
from pacewright.core.pace.scatter import CountScatter
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.way.frames import choose_frame, class_ratio, class_ratio_sd, map_frame, walker_frame
from pacewright.exceptions import MissingComplaint

MEASURED = Walker(per_100_m=62.5)
KNOWN = (KnownPoint("Gate", "local 0 0", 10.0, (0.0, 0.0)),)


def test_the_walkers_frame_converts_nothing_and_shares_no_error():
    frame = walker_frame(Heading(declination_deg=5.5), MEASURED)
    assert (frame.unit, frame.azimuth_reference) == ("pace", "magnetic")
    assert (frame.units_per_count, frame.turn_deg) == (1.0, 0.0)
    assert (frame.bias_sd_deg, frame.scale_sd) == (0.0, 0.0)


def test_the_map_frame_is_in_metres_and_shares_bias_and_scale():
    frame = map_frame(Heading(), MEASURED)
    assert (frame.unit, frame.units_per_count) == ("metre", 1.6)
    assert (frame.bias_sd_deg, frame.scale_sd) == (1.5, 0.03)


@pytest.mark.parametrize("make", [walker_frame, map_frame])
def test_two_steps_are_a_pace(make):
    """A pace is every time the same foot lands (common practice)."""
    steps, paces = (make(Heading(count_unit=unit), MEASURED) for unit in ("steps", "paces"))
    assert 2 * steps.units_per_count == paces.units_per_count
    assert steps.unit == paces.unit


@pytest.mark.parametrize("make", [walker_frame, map_frame])
@pytest.mark.parametrize("walker", [MEASURED, Walker()], ids=["measured", "not measured"])
def test_metres_need_no_pace_count(make, walker):
    frame = make(Heading(count_unit="metres"), walker)
    assert (frame.unit, frame.units_per_count) == ("metre", 1.0)


@pytest.mark.parametrize("unit", ["paces", "steps"])
def test_paces_become_metres_only_with_a_pace_count(unit):
    with pytest.raises(MissingComplaint, match="no pace count"):
        map_frame(Heading(count_unit=unit), Walker())


def test_a_magnetic_log_with_its_declination_is_turned_to_true_north():
    frame = map_frame(Heading(declination_deg=-3.5), MEASURED)
    assert (frame.azimuth_reference, frame.turn_deg) == ("true", -3.5)


@pytest.mark.parametrize("reference", ["true", "grid"])
def test_a_declination_does_not_turn_azimuths_that_are_not_magnetic(reference):
    frame = map_frame(Heading(azimuth_reference=reference, declination_deg=-3.5), MEASURED)
    assert (frame.azimuth_reference, frame.turn_deg) == (reference, 0.0)


def test_a_magnetic_log_without_declination_stays_magnetic():
    frame = map_frame(Heading(), MEASURED)
    assert (frame.azimuth_reference, frame.turn_deg) == ("magnetic", 0.0)


@pytest.mark.parametrize(
    ("heading", "walker", "kind"),
    [
        (Heading(), Walker(), "walker"),
        (Heading(), MEASURED, "walker"),
        (Heading(known=KNOWN), Walker(), "walker"),
        (Heading(known=KNOWN), MEASURED, "map"),
        (Heading(known=KNOWN, count_unit="metres"), Walker(), "map"),
    ],
)
def test_paces_stay_until_there_is_a_pace_count_and_a_known_point(heading, walker, kind):
    assert choose_frame(heading, walker).kind == kind


def test_the_frame_asked_for_is_given():
    assert choose_frame(Heading(), MEASURED, "map").kind == "map"
    assert choose_frame(Heading(known=KNOWN), MEASURED, "walker").kind == "walker"


def test_more_paces_to_a_hundred_metres_are_shorter_paces():
    assert class_ratio(PaceClass("brush", None, None, 80.0), MEASURED) == pytest.approx(62.5 / 80.0)


def test_a_class_without_an_ordinary_pace_count_is_refused():
    with pytest.raises(MissingComplaint, match="ordinary pace count"):
        class_ratio(PaceClass("brush", None, None, 80.0), Walker())


def test_a_class_is_known_as_well_as_its_trials_say():
    walker = replace(MEASURED, count=CountScatter(count_sd_pct=6.0, scale_sd_pct=4.0))
    assert class_ratio_sd(PaceClass("brush", None, None, 80.0, 2.0, 9), walker) == pytest.approx(0.025)
    assert class_ratio_sd(PaceClass("brush", None, None, 80.0, 0.0, 9), walker) == pytest.approx(0.02)
    assert class_ratio_sd(PaceClass("brush", None, None, 80.0), walker) == pytest.approx(0.04)
