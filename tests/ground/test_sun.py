"""Where the sun stands, against the algorithm of NREL, an ephemeris, and the amplitude rule."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest

from pacewright.exceptions import ValueComplaint
from pacewright.ground.sun import refraction_deg, sun_position, sun_track
from support.authorities import printed, read_authority

SPA = {row["what"]: row["value"] for row in read_authority("sun_nrel_spa.csv")}
SPA_PLACE = (39.742476, -105.1786)
SPA_MOMENT = dt.datetime(2003, 10, 17, 12, 30, 30, tzinfo=dt.timezone(dt.timedelta(hours=-7)))
SOUGHT_DEG = 0.02
"""What the way of reckoning is asked for; it is held to half of it where azimuth means most."""


def off_deg(one: float, other: float) -> float:
    return abs(math.remainder(one - other, 360.0))


def moment(row: dict[str, str]) -> dt.datetime:
    return dt.datetime.fromisoformat(row["utc"])


def place(row: dict[str, str]) -> tuple[float, float]:
    return float(row["latitude_deg"]), float(row["longitude_deg"])


def test_the_worked_example_of_nrel_comes_out_to_a_hundredth_of_a_degree():
    sun = sun_position(*SPA_PLACE, SPA_MOMENT, pressure_hpa=820, air_temp_c=11)
    assert sun.azimuth_deg == pytest.approx(printed(SPA["azimuth_deg"]), abs=0.01)
    assert 90 - sun.elevation_deg == pytest.approx(printed(SPA["zenith_refracted_deg"]), abs=0.01)
    assert 90 - sun.geometric_elevation_deg == pytest.approx(printed(SPA["zenith_geometric_deg"]), abs=0.01)


@pytest.mark.parametrize("row", read_authority("sun_skyfield.csv"), ids=lambda row: row["utc"])
def test_the_sun_stands_where_an_ephemeris_puts_it(row):
    sun = sun_position(*place(row), moment(row))
    level = math.cos(math.radians(printed(row["elevation_deg"])))
    assert sun.geometric_elevation_deg == pytest.approx(printed(row["elevation_deg"]), abs=SOUGHT_DEG / 2)
    assert off_deg(sun.azimuth_deg, printed(row["azimuth_deg"])) * level <= SOUGHT_DEG / 2
    if abs(sun.elevation_deg) < 60:
        assert off_deg(sun.azimuth_deg, printed(row["azimuth_deg"])) <= SOUGHT_DEG


@pytest.mark.parametrize("row", read_authority("sun_pvlib.csv"), ids=lambda row: row["utc"])
def test_the_sun_stands_where_the_nrel_algorithm_puts_it_in_any_year(row):
    sun = sun_position(*place(row), moment(row))
    level = math.cos(math.radians(printed(row["elevation_deg"])))
    assert off_deg(sun.azimuth_deg, printed(row["azimuth_deg"])) * level <= SOUGHT_DEG / 2
    assert sun.geometric_elevation_deg == pytest.approx(printed(row["elevation_deg"]), abs=SOUGHT_DEG / 2)
    assert sun.elevation_deg == pytest.approx(printed(row["apparent_elevation_deg"]), abs=SOUGHT_DEG)


def test_pvlib_agrees_today_over_a_year_at_several_latitudes():
    # The stored values above stand without it; this one looks at many more moments where it is installed.
    pvlib = pytest.importorskip("pvlib")
    pandas = pytest.importorskip("pandas")
    moments = np.datetime64("2027-01-01T00:07", "us") + np.arange(0, 525_600, 997) * np.timedelta64(1, "m")
    for latitude_deg, longitude_deg in [(-54.8, -68.3), (0.0, 36.8), (47.0, 8.5), (69.6, 18.9)]:
        theirs = pvlib.solarposition.get_solarposition(
            pandas.DatetimeIndex(moments, tz="UTC"), latitude_deg, longitude_deg, delta_t=69.0
        )
        ours = sun_track(latitude_deg, longitude_deg, moments)
        turned = (ours.azimuth_deg - theirs["azimuth"].to_numpy() + 180) % 360 - 180
        level = np.cos(np.radians(ours.geometric_elevation_deg))
        assert np.abs(turned * level).max() <= SOUGHT_DEG / 2
        assert np.abs(ours.geometric_elevation_deg - theirs["elevation"]).max() <= SOUGHT_DEG / 2


def test_the_solstice_sun_comes_up_where_the_amplitude_rule_says():
    row = read_authority("sun_amplitude.csv")[0]
    moments = np.datetime64("2026-06-21T08:00", "us") + np.arange(0, 7_200) * np.timedelta64(1, "s")
    track = sun_track(float(row["latitude_deg"]), -77.0, moments)
    at = int(np.flatnonzero(track.geometric_elevation_deg >= 0)[0])
    # The rule leaves out the parallax; the sun's declination that day is 23.436.
    assert 90 - track.azimuth_deg[at] == pytest.approx(printed(row["north_of_east_deg"]), abs=0.01)


def test_many_moments_give_what_each_gives_alone():
    moments = [SPA_MOMENT + dt.timedelta(hours=h) for h in range(24)]
    many = sun_track(*SPA_PLACE, moments)
    alone = [sun_position(*SPA_PLACE, one) for one in moments]
    as_utc = np.array(
        [one.astimezone(dt.UTC).replace(tzinfo=None) for one in moments], dtype="datetime64[us]"
    )
    again = sun_track(*SPA_PLACE, as_utc)
    assert many.azimuth_deg.tolist() == [sun.azimuth_deg for sun in alone]
    assert many.elevation_deg.tolist() == [sun.elevation_deg for sun in alone]
    np.testing.assert_allclose(again.azimuth_deg, many.azimuth_deg, atol=1e-9)


@pytest.mark.parametrize("latitude_deg", [-60, -23, 0, 40, 66])
def test_the_stated_rate_is_the_change_of_a_minute(latitude_deg):
    half = dt.timedelta(seconds=30)
    for hour in range(0, 24, 3):
        when = dt.datetime(2026, 8, 3, hour, 11, tzinfo=dt.UTC)
        change = off_deg(
            sun_position(latitude_deg, 10, when + half).azimuth_deg,
            sun_position(latitude_deg, 10, when - half).azimuth_deg,
        )
        assert abs(sun_position(latitude_deg, 10, when).azimuth_deg_per_min) == pytest.approx(
            change, rel=0.01, abs=0.002
        )


def test_the_air_lifts_a_rising_sun_by_about_half_a_degree_and_none_below_the_horizon():
    # 34' at an apparent elevation of 0, 5.3' at 10 degrees: common practice (almanacs).
    assert float(refraction_deg(-34 / 60)) == pytest.approx(34 / 60, abs=0.02)
    assert float(refraction_deg(10 - 5.3 / 60)) == pytest.approx(5.3 / 60, abs=0.003)
    assert refraction_deg(np.array([-0.9, -20.0])).tolist() == [0.0, 0.0]


def test_at_the_poles_the_sun_is_still_reckoned():
    sun = sun_position(90, 0, dt.datetime(2026, 6, 21, 12, tzinfo=dt.UTC))
    assert sun.geometric_elevation_deg == pytest.approx(23.43, abs=0.02)
    assert sun.azimuth_deg == pytest.approx(180, abs=1)


@pytest.mark.parametrize(
    ("place", "when", "what"),
    [
        ((91, 0), SPA_MOMENT, "91 is not a latitude"),
        ((math.nan, 0), SPA_MOMENT, "nan is not a latitude"),
        ((0, -181), SPA_MOMENT, "-181 is not a longitude"),
        ((0, math.inf), SPA_MOMENT, "inf is not a longitude"),
        ((0, 0), dt.datetime(2026, 5, 14, 12), "does not say by which clock"),
        ((0, 0), dt.datetime(1850, 5, 14, 12, tzinfo=dt.UTC), "not reckoned for that year"),
        ((0, 0), np.array(["NaT"], dtype="datetime64[us]"), "not reckoned for that year"),
    ],
)
def test_what_is_no_place_or_no_moment_is_refused(place, when, what):
    with pytest.raises(ValueComplaint, match=what):
        sun_track(*place, when)


def test_air_that_is_not_found_on_the_ground_is_refused():
    with pytest.raises(ValueComplaint, match="1e\\+06 hPa"):
        sun_position(0, 0, SPA_MOMENT, pressure_hpa=1e6)
