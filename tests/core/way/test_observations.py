"""What a log says beside its legs, read from made-up logs whose answers are worked out by hand."""

from __future__ import annotations

import math

import pytest

from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import map_frame, walker_frame
from pacewright.core.way.observations import BackAzimuth, Fix, MapPlaces, Tie, find_observations
from pacewright.files.log_csv import read_log

INES = Walker(per_100_m=62.5)


def a_log(rows: str, heading: str = ""):
    text = f"# azimuth: magnetic degrees\n# count: paces\n# start: Gate\n{heading}azimuth,count,notes\n{rows}"
    return read_log(text.encode("utf-8"))


def in_paces(log):
    return find_observations(log, INES, walker_frame(log.heading, INES))


def in_metres(log, placed=None):
    return find_observations(log, INES, map_frame(log.heading, INES), placed)


def test_the_start_met_again_is_a_tie_with_station_0():
    log = a_log("0,100,\n120,100,[at Split oak]\n240,100,[at Gate]\n")
    assert in_metres(log).ties == (Tie(0, 3, 1.0, "Gate"),)


def test_a_metre_at_a_marker_is_the_walkers_own_share_of_a_pace():
    # 62.5 paces to 100 m: a pace is 1.6 m, a metre 0.625 paces.
    (tie,) = in_paces(a_log("0,100,\n180,100,[at Gate]\n")).ties
    assert tie.sd == pytest.approx(0.625)


def test_every_later_visit_is_tied_to_the_first():
    log = a_log("0,10,[at Split oak]\n90,10,[at Split oak]\n180,10,[at Split oak]\n")
    assert [(t.first, t.second) for t in in_metres(log).ties] == [(1, 2), (1, 3)]


def test_a_known_point_is_one_fix_however_often_it_is_met():
    log = a_log(
        "0,100,[at Fire tower]\n90,10,\n270,10,[at Fire tower]\n",
        "# known: Fire tower = local 20 160 +-5 m\n",
    )
    found = in_metres(log)
    assert found.fixes == (Fix(1, 20.0, 160.0, 5.0, "Fire tower"),)
    assert len(found.ties) == 1


def test_a_local_place_turns_with_the_declination():
    # 90 degrees east: what lay north by the needle lies true east.
    log = a_log("0,100,[at Fire tower]\n", "# declination: 90 E\n# known: Fire tower = local 0 160 +-5 m\n")
    (fix,) = in_metres(log).fixes
    assert (fix.east, fix.north) == pytest.approx((160.0, 0.0))


def test_places_are_relative_to_a_start_that_has_one():
    log = a_log(
        "0,100,[at Fire tower]\n",
        "# known: Gate = local 1000 2000 +-3 m\n# known: Fire tower = local 1010 2160 +-4 m\n",
    )
    found = in_metres(log)
    (fix,) = found.fixes
    assert (fix.east, fix.north, fix.sd) == pytest.approx((10.0, 160.0, 4.0))
    # How far off the start's own place is, all places counted from it share.
    assert (found.origin_station, found.origin_sd) == (0, 3.0)


def test_places_are_relative_to_a_station_where_a_map_knows_it_and_not_the_start():
    log = a_log(
        "0,100,[at Oak]\n0,100,[at Fire tower]\n",
        "# known: Oak = 48.1 16.2 +-3 m\n# known: Fire tower = 48.2 16.2 +-4 m\n",
    )
    found = in_metres(log, MapPlaces({"Fire tower": (3.0, 150.0, 4.0)}, "Oak", 3.0))
    assert found.fixes == (Fix(2, 3.0, 150.0, 4.0, "Fire tower"),)
    assert (found.origin_station, found.origin_sd) == (1, 3.0)


def test_a_known_place_is_not_used_in_paces_and_that_is_said():
    found = in_paces(a_log("0,100,[at Fire tower]\n", "# known: Fire tower = local 0 160 +-5 m\n"))
    assert found.fixes == ()
    assert "Fire tower is not used" in found.unused[0]


def test_a_place_only_a_map_can_tell_is_said_until_it_is_given():
    log = a_log("0,100,[at Fire tower]\n", "# known: Fire tower = 48.1 16.2 +-5 m\n")
    assert "only a map" in in_metres(log).unused[0]
    told = MapPlaces({"Fire tower": (3.0, 150.0, 5.0)})
    assert in_metres(log, told).fixes == (Fix(1, 3.0, 150.0, 5.0, "Fire tower"),)


def test_a_known_point_that_the_log_never_meets_is_said():
    found = in_metres(a_log("0,100,\n", "# known: Fire tower = local 0 160 +-5 m\n"))
    assert found.unused == (
        "Fire tower is a known point that this log neither reaches nor sees: a goal, no more.",
    )


def test_a_bearing_to_a_known_landmark_carries_its_place_and_its_scatter():
    log = a_log(
        "0,100,\n350,,[see Fire tower]\n90,100,\n",
        "# declination: 20 E\n# known: Fire tower = local 0 1600 +-5 m\n",
    )
    (bearing,) = in_metres(log).bearings
    assert (bearing.station, bearing.azimuth_deg, bearing.row) == (1, 10.0, 1)
    assert bearing.landmark == pytest.approx((1600 * math.sin(math.radians(20)), 1503.508193, 5.0))
    # 2 degrees of sighting and a dial read to whole degrees (interval squared over 12).
    assert bearing.sd_deg == pytest.approx(math.sqrt(4 + 1 / 12))


def test_a_bearing_to_a_station_names_its_first_visit():
    log = a_log("0,100,\n180,,[see Gate]\n90,100,[at Split oak]\n10,10,\n200,,[see Split oak]\n")
    assert [(b.station, b.target_station) for b in in_paces(log).bearings] == [(1, 0), (3, 2)]


def test_a_bearing_to_where_one_stands_is_not_used():
    found = in_paces(a_log("0,100,[at Split oak]\n12,,[see Split oak]\n"))
    assert found.bearings == ()
    assert "taken at Split oak itself" in found.unused[0]


def test_an_unknown_landmark_needs_three_places():
    two = "10,,[see Fire tower]\n0,100,\n20,,[see Fire tower]\n"
    found = in_paces(a_log(two))
    assert found.bearings == ()
    assert "seen from 2 places" in found.unused[0]
    three = in_paces(a_log(two + "0,100,\n40,,[see Fire tower]\n"))
    assert len(three.bearings) == 3
    assert three.unused == ()


def test_the_same_marker_visited_twice_is_one_place_to_see_from():
    rows = "10,,[see Fire tower]\n0,100,\n20,,[see Fire tower]\n180,100,[at Gate]\n11,,[see Fire tower]\n"
    assert in_paces(a_log(rows)).bearings == ()


def test_a_back_azimuth_stays_as_read():
    log = a_log("38,100,[back 220]\n", "# declination: 5 E\n")
    assert in_metres(log).back_azimuths == (BackAzimuth(1, 225.0, math.sqrt(4 + 1 / 12)),)
    assert in_paces(log).back_azimuths[0].azimuth_deg == 220.0


def test_a_back_azimuth_of_a_leg_without_length_is_not_used():
    found = in_paces(a_log("38,0,[back 220]\n"))
    assert found.back_azimuths == ()
    assert "leg 1" in found.unused[0]


def test_a_point_of_the_compass_scatters_by_a_sixteenth_of_the_circle():
    log = a_log("0,100,\nNE,,[see Gate]\n")
    (bearing,) = in_paces(log).bearings
    assert bearing.sd_deg == pytest.approx(math.sqrt(4 + 22.5**2 / 12))
