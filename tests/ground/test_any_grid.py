"""Any grid by its EPSG code: against the surveys' own examples."""

from __future__ import annotations

import pytest

from pacewright.exceptions import ValueComplaint
from pacewright.ground.any_grid import check_code, from_any_grid, on_grid
from pacewright.ground.grid import grid_turn, to_grid, zone_of
from pacewright.ground.grid_text import parse_place
from support.command import run


def test_the_british_survey_s_water_tower_comes_out_to_the_change_of_datum():
    """Ordnance Survey, A guide to coordinate systems in Great Britain, worked example (from memory):
    E 651409.903 N 313177.270; on ETRS89 52°39'28.8282"N 1°42'57.8663"E. With no table it is good to 5 m.
    """
    place = on_grid("EPSG:27700", 52 + 39 / 60 + 28.8282 / 3600, 1 + 42 / 60 + 57.8663 / 3600)
    assert (place.east_m, place.north_m) == pytest.approx((651409.903, 313177.270), abs=5)
    back = from_any_grid("EPSG:27700", place.east_m, place.north_m)
    assert back == pytest.approx((52.6580078, 1.7160740), abs=1e-6)


def test_a_utm_zone_by_its_code_is_that_zone():
    """GeographicLib's GeoConvert page: 33.3 N 44.4 E is 38N 444140.54 3684706.36, convergence -0.32942."""
    place = on_grid("EPSG:32638", 33.3, 44.4)
    ours = to_grid(33.3, 44.4, zone_of(33.3, 44.4))
    assert (place.east_m, place.north_m) == pytest.approx((ours.east_m, ours.north_m), abs=0.001)
    assert place.convergence_deg == pytest.approx(
        grid_turn(33.3, 44.4, zone_of(33.3, 44.4)).convergence_deg, abs=1e-6
    )
    typed = parse_place("EPSG:32638 444140.54 3684706.36")
    assert (typed.latitude_deg, typed.longitude_deg) == pytest.approx((33.3, 44.4), abs=1e-7)


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("27700", "not the code of a grid"),
        ("EPSG:999999", "not known"),
        ("EPSG:4326", "no grid in metres"),
        ("EPSG:2225", "no grid in metres"),
    ],
)
def test_what_is_no_grid_in_metres_is_refused(code, says):
    with pytest.raises(ValueComplaint, match=says):
        check_code(code)


def test_a_place_outside_the_grid_is_refused():
    with pytest.raises(ValueComplaint, match="the place lies outside EPSG:27700"):
        on_grid("EPSG:27700", 37.4, -119.3)


def test_places_are_said_on_the_grid_asked_for(tmp_path):
    path = tmp_path / "walk.csv"
    path.write_text(
        "# date: 2026-05-14\n# known: A = EPSG:27700 432100 512300\n# start: A\n"
        "# azimuth: grid degrees\n# count: metres\nazimuth,count,notes\n90,100,\n"
    )
    found = run("reckon", path, "--grid", "EPSG:27700", "--json").json["placed"]["on_grid"]
    assert (found[0]["east_m"], found[0]["north_m"]) == pytest.approx((432100, 512300), abs=0.01)
    assert (
        "EPSG:27700 432"
        in run("north", "EPSG:27700", "432100", "512300", "--grid", "EPSG:27700", "--date", "2026").out
    )
