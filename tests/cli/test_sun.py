"""pacewright sun: places south and west, clocks, a compass by the sun, daylight for the way back."""

from __future__ import annotations

import json

import click
import pytest
from click.testing import CliRunner

from pacewright.cli.main import group
from pacewright.exceptions import Complaint

DAY = ["--date", "2026-05-14"]
AT = [*DAY, "--time", "17:00", "--zone", "+02:00"]
LOG = """\
# date: 2026-05-14
# azimuth: magnetic degrees
# count: metres
azimuth,count,notes
0,3000,
90,4000,
"""


def run(*arguments, code=0):
    done = CliRunner().invoke(
        group, ["sun", *map(str, arguments)], catch_exceptions=False, standalone_mode=False
    )
    assert (done.return_value or 0) == code, done.output
    return done.output


def keys(*arguments, code=0):
    return json.loads(run(*arguments, "--json", code=code))


@pytest.fixture
def log_file(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(LOG, encoding="utf-8")
    return path


def test_a_place_south_and_west_needs_no_quoting():
    south = keys("-33.9", "-70.7", *DAY)
    assert (south["latitude_deg"], south["longitude_deg"]) == (-33.9, -70.7)
    assert south["zone"] == "UTC"


def test_other_forms_of_a_place_mean_the_same_place():
    plain, grid = keys(33.33424, 44.40363, *DAY), keys("38SMB4488", *DAY)
    assert grid["sunrise"][:16] == plain["sunrise"][:16]
    assert keys("47°N 8.5°W", *DAY)["longitude_deg"] == -8.5


def test_the_keys_of_a_day_and_of_a_moment_are_there():
    found = keys(47, 8.5, *AT)
    assert found["sunrise"].startswith("2026-05-14T05:5") and found["sunrise"].endswith("+02:00")
    assert set(found["civil"]) == {"begins", "ends", "stays"}
    assert found["at"]["azimuth_deg"] == pytest.approx(256.56, abs=0.01)
    assert found["at"]["daylight_left_min"] == pytest.approx(233, abs=1)


@pytest.mark.parametrize("zone", ["+02:00", "+2", "+0200"])
def test_an_offset_may_be_written_short(zone):
    assert keys(47, 8.5, *DAY, "--zone", zone)["sunrise"] == keys(47, 8.5, *AT)["sunrise"]


def test_a_negative_offset_is_no_option():
    assert keys(39.7, -105.2, *DAY, "--zone", "-07:00")["zone"] == "-07:00"


def test_a_compass_that_is_right_exits_with_0_and_one_that_is_off_with_1():
    expected_deg = keys(47, 8.5, *AT, "--compass", 0, code=1)["compass"]["expected_deg"]
    right = keys(47, 8.5, *AT, "--compass", f"{expected_deg:.1f}")["compass"]
    assert not right["is_off"]
    off = keys(47, 8.5, *AT, "--compass", f"{expected_deg + 9:.1f}", code=1)["compass"]
    assert off["is_off"] and off["error_deg"] == pytest.approx(9, abs=0.06)


def test_the_declination_comes_from_the_model_unless_it_is_stated():
    by_model, stated = (
        keys(47, 8.5, *AT, "--compass", 73, *more, code=code)["compass"]
        for more, code in (([], 0), (["--declination", "13.5 W"], 1))
    )
    assert by_model["declination_deg"] == pytest.approx(3.6, abs=0.3)
    assert stated["declination_deg"] == -13.5


def test_where_the_model_does_not_hold_the_declination_is_asked_for():
    old = [47, 8.5, "--date", "1999-05-14", "--time", "17:00", "--zone", "+02:00", "--compass", 73]
    with pytest.raises(Complaint, match="without the declination"):
        run(*old)
    assert keys(*old, "--declination", "0 E")["compass"]["declination_deg"] == 0


def test_daylight_for_the_way_back_is_a_finding_when_it_is_short(log_file):
    early = keys(47, 8.5, *AT, "--back", log_file)["back"]
    assert early["is_enough"] and early["legs_m"] == pytest.approx(7000)
    assert early["needed_min"] == pytest.approx(105)
    assert early["reserve_min"] == pytest.approx(52.5)
    late = ["--time", "19:30", "--zone", "+02:00", "--back", log_file]
    assert not keys(47, 8.5, *late, code=1)["back"]["is_enough"]
    assert "Daylight is not enough" in run(47, 8.5, *late, code=1)


@pytest.mark.parametrize(
    ("option", "value", "what"),
    [
        ("--reserve-min", "nan", "--reserve-min: nan minutes"),
        ("--reserve-min", "-5", "--reserve-min: -5 minutes"),
        ("--climb-m", "nan", "a climb of nan m"),
        ("--descent-m", "-5", "a descent of -5 m"),
    ],
)
def test_a_figure_of_the_way_back_that_cannot_be_is_refused(log_file, option, value, what):
    with pytest.raises(Complaint, match=what):
        run(47, 8.5, *AT, "--back", log_file, option, value)


def test_the_rule_is_named_and_the_others_stand_beside_it(log_file):
    said = run(47, 8.5, *AT, "--back", log_file, "--rule", "tobler", code=0)
    assert "Rule: tobler" in said
    assert all(f"\n{name}" in said for name in ("naismith", "langmuir", "tobler"))


def test_the_picture_is_written(tmp_path):
    out = tmp_path / "day.svg"
    run(47, 8.5, *DAY, "--draw", out)
    assert out.read_bytes().startswith(b"<svg")


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        ((47, 8.5), "there is no date"),
        ((47, 8.5, "--date", "5/6/2026"), "--date: 5/6/2026 may be 5 June or 6 May"),
        ((47, 8.5, *DAY, "--time", "17:00"), "by which clock"),
        ((47, 8.5, *DAY, "--time", "25:00", "--zone", "UTC"), "--time: 25:00 is not a time"),
        ((47, 8.5, *DAY, "--zone", "Nowhere/Fen"), "no zone that this machine knows"),
        ((47, 8.5, *DAY, "--zone", "../../etc"), "no zone that this machine knows"),
        ((47, 8.5, *DAY, "--zone", "+25:00"), "no zone that this machine knows"),
        ((97, 8.5, *DAY), "97 is not a latitude"),
        ((47, 8.5, *AT, "--compass", "361"), "361 is not an azimuth"),
        ((47, 8.5, *DAY, "--time", "03:00", "--zone", "UTC", "--compass", "61"), "below the horizon"),
        ((47, 8.5, *DAY, "--declination-sd", "nan"), "--declination-sd: nan degrees cannot be"),
        ((47, 8.5, *AT, "--compass", 73, "--wait-min", "nan"), "nan minutes between"),
        (("here",), "place"),
    ],
)
def test_what_cannot_be_answered_is_complained_of(arguments, what):
    with pytest.raises(Complaint, match=what):
        run(*arguments)


@pytest.mark.parametrize("arguments", [(47, 8.5, *DAY, "--compass", "61"), (47, 8.5, "--dat", "x"), ()])
def test_a_wrong_call_is_a_usage_message(arguments):
    with pytest.raises(click.UsageError):
        run(*arguments)


def test_an_hour_that_the_clock_skips_or_repeats_is_refused_by_name():
    import zoneinfo

    try:
        zoneinfo.ZoneInfo("Europe/Zurich")
    except zoneinfo.ZoneInfoNotFoundError:
        pytest.skip("this machine has no zone names")
    for date, time in (("2026-03-29", "02:30"), ("2026-10-25", "02:30")):
        with pytest.raises(Complaint, match="clocks of that zone are changed"):
            run(47, 8.5, "--date", date, "--time", time, "--zone", "Europe/Zurich")
