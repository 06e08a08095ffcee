import numpy as np
import pytest

from pacewright.course.map_origin import heights_by_place
from pacewright.files.course_land import origin_for
from pacewright.ground.grid_text import parse_place
from pacewright.ground.terrain import Terrain

PLACE = parse_place("11N 295840 4137150")


def test_a_place_comes_back_from_the_grid():
    origin = origin_for("magnetic", "2026-05-14")(PLACE)
    there = parse_place("11N 296840 4137650")
    east, north = origin.course_m(there)
    assert origin.grid_m(np.array([east]), np.array([north]))[0] == pytest.approx([296840, 4137650], abs=0.01)
    # Declination there is some 12 to 13 deg E (World Magnetic Model 2025): the course's north lies
    # east of grid north, so the place stands farther to the left of it.
    assert np.degrees(np.arctan2(east, north)) == pytest.approx(
        np.degrees(np.arctan2(1000, 500)) - 13.9, abs=1.5
    )


def test_heights_are_read_where_the_course_lies():
    east, north = np.arange(295000.0, 297000.0, 100.0), np.arange(4138000.0, 4136000.0, -100.0)
    plane = (0.1 * (east[None, :] - 295000.0) + 0.2 * (north[:, None] - 4136000.0)).astype(np.float32)
    land = Terrain(plane, 294950.0, 4138050.0, 100.0, 100.0, "EPSG:32611")
    origin = origin_for("grid", None)(PLACE)
    height = heights_by_place(origin, land)
    found = height(np.array([0.0, 200.0]), np.array([0.0, -300.0]))
    wanted = [0.1 * (295840 + 200 * k - 295000) + 0.2 * (4137150 - 300 * k - 4136000) for k in (0, 1)]
    assert found == pytest.approx(wanted, abs=0.2)
