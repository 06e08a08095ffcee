"""Fixes from a log's bearings: stations from known things, unknown things from stations."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.core.bearings.fix_entries import own_place, parse_bearing_from, parse_bearing_to, seen_place
from pacewright.core.bearings.log_fixes import find_fixes, fix_landmark, fix_station, known_places
from pacewright.core.compass import direction_deg
from pacewright.core.log.log_heading import parse_heading
from pacewright.core.log.travel_log import Cells, compose_log, parse_row
from pacewright.core.pace.walker import Walker
from pacewright.core.way.observations import MapPlaces
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint

WALKER = Walker(per_100_m=62.5)
KNOWN = ("known: Fire tower = local 300 700 +-5 m", "known: Water tank = local -400 300 +-5 m")


def made(rows, *headings):
    lines = [("start", "Gate"), *(line.split(": ", 1) for line in headings)]
    heading = parse_heading([(k, key, value) for k, (key, value) in enumerate(lines)])
    return compose_log(heading, [parse_row(Cells(*row), heading) for row in rows])


def see(name, here, there):
    return (f"{direction_deg(there[0] - here[0], there[1] - here[1]):.2f}", "", f"[see {name}]")


def a_log(*headings):
    """Two legs of 160 m by 100 paces; from the end both towers are sighted, and from two places a crag."""
    return made(
        [
            ("90", "100", "[at Split oak]"),
            see("Grey crag", (160, 0), (500, 400)),
            ("0", "100", ""),
            see("Fire tower", (160, 160), (300, 700)),
            see("Water tank", (160, 160), (-400, 300)),
            see("Grey crag", (160, 160), (500, 400)),
        ],
        *headings,
    )


def test_a_station_is_fixed_where_the_bearings_say():
    fix = fix_station(a_log(*KNOWN), WALKER, 2)
    assert fix.resection.place == pytest.approx([160, 160], abs=0.2)
    assert fix.seen == ("Fire tower", "Water tank")
    assert fix.reckoned == pytest.approx([160, 160])
    assert fix.gap_p_value > 0.9


def test_a_station_is_fixed_without_a_pace_count():
    fix = fix_station(a_log(*KNOWN), Walker(), 2)
    assert fix.resection.place == pytest.approx([160, 160], abs=0.2)
    assert fix.reckoned is None


def test_a_landmark_is_fixed_in_metres_where_the_log_allows_and_else_in_paces():
    in_metres = fix_landmark(a_log(*KNOWN), WALKER, "Grey crag")
    assert in_metres.frame.unit == "metre"
    assert in_metres.intersection.place == pytest.approx([500, 400], abs=0.2)
    in_paces = fix_landmark(a_log(), Walker(), "Grey crag")
    assert in_paces.frame.unit == "pace"
    assert in_paces.intersection.place == pytest.approx(np.array([500, 400]) * 0.625, abs=0.2)


def test_a_landmark_is_less_sure_when_the_stations_are():
    """One leg parts the two stations here; the more it scatters, the more the distance of the crag does."""
    from dataclasses import replace

    sure = replace(WALKER, count=replace(WALKER.count, count_sd_pct=0.0, scale_sd_pct=0.0, count_floor=0.0))
    log = a_log(*KNOWN)
    less, more = (np.trace(fix_landmark(log, w, "Grey crag").intersection.covariance) for w in (sure, WALKER))
    assert less < more


def test_all_fixes_of_a_log_are_found_at_once():
    fixes = find_fixes(a_log(*KNOWN), WALKER)
    assert [fix.station for fix in fixes.stations] == [2]
    assert [fix.name for fix in fixes.landmarks] == ["Grey crag"]
    assert fixes.said == ()


def test_a_declination_turns_bearings_and_places_alike():
    """Local places and bearings both stand on the log's own north: the fix turns with them."""
    fix = fix_station(a_log(*KNOWN, "declination: 10 E"), WALKER, 2)
    assert fix.frame.azimuth_reference == "true"
    assert np.hypot(*fix.resection.place) == pytest.approx(160 * 2**0.5, abs=0.3)
    assert direction_deg(*fix.resection.place) == pytest.approx(55, abs=0.1)


def test_bearings_from_two_visits_of_a_marker_make_one_fix():
    log = made(
        [
            ("90", "100", "[at Split oak]"),
            see("Fire tower", (160, 0), (300, 700)),
            ("0", "100", ""),
            ("180", "100", "[at Split oak]"),
            see("Water tank", (160, 0), (-400, 300)),
        ],
        *KNOWN,
    )
    for station in (1, 3):
        fix = fix_station(log, WALKER, station)
        assert fix.station == 1
        assert fix.resection.place == pytest.approx([160, 0], abs=0.2)


def test_the_start_is_a_known_thing_too():
    log = made(
        [("90", "100", ""), see("Gate", (160, 0), (0, 0)), see("Fire tower", (160, 0), (300, 700))], *KNOWN
    )
    assert fix_station(log, WALKER, 1).resection.place == pytest.approx([160, 0], abs=0.2)
    assert known_places(log, WALKER)["Gate"] == (0, 0, 0)


def test_a_fix_far_from_the_reckoning_is_more_than_scatter():
    log = made(
        [
            ("90", "300", ""),
            see("Fire tower", (160, 0), (300, 700)),
            see("Water tank", (160, 0), (-400, 300)),
        ],
        *KNOWN,
    )
    assert fix_station(log, WALKER, 1).gap_p_value < 0.001


def test_what_cannot_be_fixed_is_said_and_the_rest_is_fixed():
    log = made(
        [
            see("Fire tower", (0, 0), (300, 700)),
            ("90", "100", ""),
            see("Fire tower", (160, 0), (300, 700)),
            see("Water tank", (160, 0), (-400, 300)),
            see("Grey crag", (160, 0), (500, 400)),
        ],
        *KNOWN,
    )
    fixes = find_fixes(log, WALKER)
    assert [fix.station for fix in fixes.stations] == [1]
    assert fixes.landmarks == ()
    line, crag = fixes.said
    assert line == "Gate sighted Fire tower and no other known thing: a line, not a place."
    assert crag.startswith("Grey crag was sighted from one place only (station 1)")


@pytest.mark.parametrize(
    ("call", "what"),
    [
        (lambda: find_fixes(made([("0", "10", "")]), WALKER), "this log holds no bearing"),
        (
            lambda: find_fixes(made([("0", "10", ""), ("10", "", "[see Grey crag]")]), WALKER),
            "the bearings of this log fix nothing. Grey crag was sighted from one place only",
        ),
        (lambda: fix_landmark(a_log(), WALKER, "Fire tower"), "Fire tower was sighted from one place only"),
        (lambda: fix_landmark(a_log(), WALKER, "Old mill"), "no station sighted Old mill"),
        (
            lambda: fix_landmark(
                made([("0", "10", "[at Oak]"), ("9", "10", ""), ("180", "", "[see Oak]")]), WALKER, "Oak"
            ),
            "Oak was walked to",
        ),
        (lambda: fix_station(a_log(), WALKER, 2), "station 2 sighted no thing whose place is known"),
        (lambda: fix_station(a_log(KNOWN[0]), WALKER, 2), "station 2 sighted one thing whose place is known"),
    ],
)
def test_a_fix_that_cannot_be_made_is_refused_with_a_sentence(call, what):
    with pytest.raises(MissingComplaint) as refused:
        call()
    assert what in refused.value.what
    assert refused.value.do


def test_parallel_bearings_in_a_log_are_said():
    log = made([("20", "", "[see Grey crag]"), ("90", "100", ""), ("20", "", "[see Grey crag]")])
    with pytest.raises(ValueComplaint, match="parallel as nearly as a compass can tell"):
        fix_landmark(log, WALKER, "Grey crag")


def test_a_place_only_a_map_can_tell_is_said_and_used_when_told():
    log = made(
        [
            ("90", "100", ""),
            see("Fire tower", (160, 0), (300, 700)),
            see("Water tank", (160, 0), (-400, 300)),
        ],
        KNOWN[0],
        "known: Water tank = 47.1 8.2",
    )
    with pytest.raises(MissingComplaint, match="known on the map"):
        find_fixes(log, WALKER)
    fix = fix_station(log, WALKER, 1, MapPlaces({"Water tank": (-400.0, 300.0, 10.0)}))
    assert fix.resection.place == pytest.approx([160, 0], abs=0.2)


def test_bearings_typed_without_a_log_fix_a_place():
    typed = ["Fire tower=local 300 700=11.31", "Water tank=local -400 300 +-5 m=298.18"]
    entries = [parse_bearing_to(text) for text in typed]
    assert [entry.sd_m for entry in entries] == [10, 5]
    assert own_place(entries).place == pytest.approx([160, 0], abs=20)


def test_bearings_typed_from_known_places_fix_what_was_seen():
    tree = seen_place([parse_bearing_from("local 0 0=38"), parse_bearing_from("B=local 75 0=338")])
    assert tree.place == pytest.approx([49.44, 63.27], abs=0.01)


def test_mils_are_read_as_mils():
    assert parse_bearing_from("local 0 0=1600", "mils").azimuth_deg == 90


@pytest.mark.parametrize(
    ("call", "what"),
    [
        (lambda: parse_bearing_to("Fire tower 45"), "Fire tower 45 is not a bearing to a known thing"),
        (lambda: parse_bearing_to("Fire tower=45"), "is not a bearing to a known thing"),
        (lambda: parse_bearing_to("Fire tower=local 1 2=400"), "400 is not an azimuth in degrees"),
        (lambda: parse_bearing_to("Fire tower=local 1=4"), "local 1 is not a local place"),
        (
            lambda: parse_bearing_to("Fire tower=47.1 8.2=4"),
            "without a map there is no telling where 47.1 8.2 lies",
        ),
        (lambda: parse_bearing_from("38"), "38 is not a bearing taken at a known place"),
        (lambda: parse_bearing_from(""), "nothing is not a bearing taken at a known place"),
        (lambda: parse_bearing_from("local a b=38"), "local a b is not a local place"),
    ],
)
def test_what_is_no_bearing_is_refused_without_line_or_column(call, what):
    with pytest.raises(Complaint) as refused:
        call()
    assert what in refused.value.what
    assert str(refused.value.where) == ""
