"""A log on its ground keeps its places, says what a region holds, and what the ground does not hold."""

from __future__ import annotations

import html
import re

import numpy as np
import pytest

from pacewright.answers.estimate import find_estimate
from pacewright.answers.placing import place_log
from pacewright.answers.way import WayAsked, answer_way
from pacewright.core.pace.walker import Walker
from pacewright.drawing.terrain_map import LAND_CAUTION
from pacewright.drawing.walk_on_ground import draw_walk_on_ground, ground_parts, walk_on_ground
from pacewright.exceptions import MissingComplaint
from pacewright.files.field_model import open_norths
from pacewright.files.known_places import open_estimate
from pacewright.ground.terrain import Terrain
from pacewright.wording.norths import MAGNETIC_UNKNOWN
from pacewright.wording.way_answer import say_short
from support.logs import log_of
from support.placed import small_walk

UTM_32 = "EPSG:32632"
WALKER = Walker(per_100_m=62.5)


def ground_about(placed, wide_m=3_000.0, east_m=0.0):
    """Even ground in the grid of the log, its middle so far east of the start."""
    east, north = placed.place_m[0]
    cells = int(wide_m / 20)
    heights = np.add.outer(np.arange(cells), np.arange(cells)).astype(np.float32)
    return Terrain(heights, east + east_m - wide_m / 2, north + wide_m / 2, 20.0, 20.0, UTM_32)


def test_stations_lie_on_the_ground_where_they_lie_on_the_grid():
    log, placed = small_walk()
    made = walk_on_ground(log, placed, ground_about(placed), probability=0.95)
    places = [(s.east, s.north) for s in made.figure.stations]
    assert np.asarray(places) == pytest.approx(placed.place_m, abs=0.01)
    assert made.notes == ("The region of a station holds its true place 95 times in 100.", MAGNETIC_UNKNOWN)
    assert len(made.figure.regions) == len(placed.shown_regions(0.95))


def test_for_a_page_title_key_and_sentences_stand_beside_the_picture_and_nothing_of_the_sheet_is_left_out():
    log, placed = small_walk()
    walk = walk_on_ground(log, placed, ground_about(placed), probability=0.95)
    sheet = said_in(draw_walk_on_ground(walk))
    parts = ground_parts(walk, (88.0, 112.0))
    picture, beside = said_in(parts.picture), [words for _, words in parts.key]
    assert {"start of the log", "leg, counted", "region of a station"} <= set(beside)
    assert any(words.startswith("contour, every") for words in beside)
    assert not set(beside) & set(picture)
    # The height between contours goes by the scale, and that by the size.
    assert {words for words in beside if "contour" not in words} <= set(sheet)
    for note in walk.notes:
        assert note in parts.sentences and note not in picture
    assert LAND_CAUTION in parts.sentences
    assert any(one.startswith("Grid EPSG:32632") for one in parts.sentences)
    assert all(station.name in picture for station in walk.figure.stations if station.name)


def said_in(drawing):
    """The words that are drawn, each line by itself."""
    return [html.unescape(line) for line in re.findall(r"<text[^>]*>([^<]*)</text>", drawing)]


def test_stations_without_a_height_are_counted_and_a_log_without_any_is_refused():
    log, placed = small_walk()
    east = placed.place_m[:, 0] - placed.place_m[0, 0]
    # Ground that begins between the easternmost station and the next.
    edge = (np.sort(east)[-1] + np.sort(east)[-2]) / 2
    told = walk_on_ground(log, placed, ground_about(placed, 3_000.0, edge + 1_500.0), probability=0.95)
    assert told.notes[-1] == "3 of 4 stations lie where the terrain holds no height."
    with pytest.raises(MissingComplaint, match="holds no height at any station: the log starts at"):
        walk_on_ground(log, placed, ground_about(placed, 3_000.0, 90_000.0), probability=0.95)


@pytest.mark.parametrize("azimuth", ["magnetic degrees", "true degrees", "grid degrees"])
def test_a_map_says_the_norths_of_the_place_whatever_north_the_log_is_read_by(azimuth):
    """The declination is that of the place and the day: the azimuths of the log have no part in it."""
    head = ("date: 2026-05-14", "known: Gate = 37.4521 -119.2984 +-10 m")
    log = log_of((90, 300, "[at Oak]"), (0, 200), azimuth=azimuth, more=head)
    placed = place_log(open_estimate(log, WALKER))
    east, north = placed.place_m[0]
    ground = Terrain(np.zeros((100, 100), np.float32), east - 1000, north + 1000, 20.0, 20.0, "EPSG:32611")
    made = walk_on_ground(log, placed, ground, probability=0.95)
    asked = open_norths("37.4521 -119.2984", "2026-05-14")
    assert made.norths.magnetic_deg == pytest.approx(asked.relation.grid_magnetic_deg, abs=0.01)
    assert made.norths.magnetic_deg - made.norths.true_deg == pytest.approx(
        asked.relation.declination_deg, abs=0.01
    )


def test_a_map_without_a_date_says_that_magnetic_north_is_not_known():
    log = log_of((90, 300), azimuth="grid degrees", more=("known: Gate = 37.4521 -119.2984 +-10 m",))
    placed = place_log(open_estimate(log, WALKER))
    east, north = placed.place_m[0]
    ground = Terrain(np.zeros((100, 100), np.float32), east - 1000, north + 1000, 20.0, 20.0, "EPSG:32611")
    made = walk_on_ground(log, placed, ground, probability=0.95)
    assert made.norths.magnetic_deg is None
    assert any("Magnetic north is not known here" in one for one in made.notes)


def test_the_caption_of_the_way_back_warns_first_and_then_says_where_to_stop():
    rows = ((0, 500, "[at Oak]"), (90, 300), (180, 100, "[at Oak]"), (90, 100, "[at End]"))
    log = log_of(*rows)
    said = say_short(answer_way(find_estimate(log, WALKER), WayAsked(len(log.legs))))
    assert said[0].startswith("Take care") and "do not walk on" in said[-2]
    sound = log_of((0, 500, "[at Oak]"), (90, 300))
    assert not any(
        "Take care" in one
        for one in say_short(answer_way(find_estimate(sound, WALKER), WayAsked(len(sound.legs))))
    )
