"""From a log and its reckoning to the figure that is drawn."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.answers.way import way_back
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.way.frames import map_frame, walker_frame
from pacewright.core.way.reckoning import reckon
from pacewright.core.way.regions import named_regions
from pacewright.drawing.walk_map import draw_walk_map
from pacewright.drawing.walk_of import walk_of
from support.logs import log_of

WALKER = Walker(per_100_m=62.5, classes=(PaceClass("brush", None, None, 80.0),))
LOG = log_of(
    (346, "", "[see Fire tower]"),
    (0, 300, "[box right 40]"),
    (90, 400, "[at Split oak] [est]"),
    (52, "", "[see Fire tower]"),
    (180, 80, "[ground brush] [box left 16]"),
    more=["title: Cinder Fen", "declination: 10 E"],
)


def figure(log=LOG, make=walker_frame, **options):
    reckoning = reckon(log, WALKER, make(log.heading, WALKER))
    return reckoning, walk_of(log, reckoning, **options)


def test_the_figure_has_the_logs_title_and_the_frames_unit_and_north():
    _, drawn = figure()
    assert (drawn.title, drawn.unit, drawn.azimuth_reference) == ("Cinder Fen", "pace", "magnetic")
    _, drawn = figure(make=map_frame)
    assert (drawn.unit, drawn.azimuth_reference) == ("metre", "true")
    assert figure(log_of((0, 1)))[1].title == "Travel log"


def test_stations_stand_where_they_were_reckoned():
    reckoning, drawn = figure()
    assert [(s.index, s.name) for s in drawn.stations] == [
        (0, "Gate"),
        (1, None),
        (2, "Split oak"),
        (3, None),
    ]
    assert np.array([(s.east, s.north) for s in drawn.stations]) == pytest.approx(reckoning.place)


def test_legs_join_the_stations_and_show_what_was_estimated():
    _, drawn = figure()
    assert [(leg.from_index, leg.to_index) for leg in drawn.legs] == [(0, 1), (1, 2), (2, 3)]
    assert [leg.estimated for leg in drawn.legs] == [False, True, False]


@pytest.mark.parametrize(("make", "pace"), [(walker_frame, 1.0), (map_frame, 1.6)])
def test_boxings_are_drawn_to_the_scale_of_their_leg(make, pace):
    _, drawn = figure(make=make)
    assert drawn.legs[0].boxings == (("right", pytest.approx(40 * pace)),)
    assert drawn.legs[2].boxings == (("left", pytest.approx(16 * pace * 62.5 / 80)),)


def test_a_box_on_a_leg_of_no_count_keeps_its_size():
    _, drawn = figure(log_of((0, 0, "[box right 40]"), (0, 50), count="steps"))
    assert drawn.legs[0].boxings == (("right", 20.0),)


def test_rays_leave_the_station_they_were_taken_from_on_the_frames_north():
    assert [(r.from_index, r.azimuth_deg, r.name) for r in figure()[1].rays] == [
        (0, 346, "Fire tower"),
        (2, 52, "Fire tower"),
    ]
    assert [r.azimuth_deg for r in figure(make=map_frame)[1].rays] == pytest.approx([356, 62])


def test_regions_are_drawn_by_their_outlines():
    reckoning, _ = figure()
    regions = named_regions(reckoning)
    drawn = walk_of(LOG, reckoning, regions=regions)
    assert len(drawn.regions) == 2
    assert np.array(drawn.regions[0].outline) == pytest.approx(regions[0].outline())


def test_the_way_back_runs_from_where_the_walker_stands_to_the_goal_with_its_region():
    way = way_back(LOG, WALKER)
    reckoning, drawn = figure(way=way)
    assert np.array(drawn.way_back.points) == pytest.approx(reckoning.place[[3, 0]])
    assert drawn.way_back.label == f"back {way.azimuth_deg:.0f} deg, {way.count} paces"
    (arrival,) = drawn.regions
    assert arrival.style == "arrival"
    assert np.array(arrival.outline) == pytest.approx(way.region.outline())


def test_on_the_map_the_way_back_joins_the_stations_and_its_arrival_is_left_to_the_walkers_frame():
    reckoning, drawn = figure(make=map_frame, way=way_back(LOG, WALKER))
    assert np.array(drawn.way_back.points) == pytest.approx(reckoning.place[[3, 0]])
    assert not [region for region in drawn.regions if region.kind == "arrival"]
    assert drawn.regions == ()


@pytest.mark.parametrize(
    "log",
    [
        log_of((0, 0)),
        log_of((0, 100), (90, 100), (180, 100), (270, 100, "[at Gate]")),
        log_of((0, 1_000_000)),
        log_of((305, 1)),
    ],
    ids=["no count", "closed", "huge", "one pace"],
)
def test_odd_walks_can_be_drawn(log):
    way = way_back(log, WALKER)
    _, drawn = figure(log, way=way, regions=named_regions(reckon(log, WALKER)))
    assert (drawn.way_back is None) == (way.count == 0)
    assert "nan" not in draw_walk_map(drawn)


def test_the_caption_is_kept():
    assert figure(caption=("One.", "Two."))[1].caption == ("One.", "Two.")
