"""A log beside the recorded track of its walk: what made-up walkers were off is found again.

Tracks scatter by 5 m in each coordinate, anew at every point or, as receivers do, drifting over a
minute; the walker stops half a minute at each station. Fixed seeds.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.core.pace.walker import Walker
from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.files.log_csv import read_log
from pacewright.ground.grid import GridZone, project
from pacewright.ground.track import Track
from pacewright.ground.track_truth import compare
from support.logs import walker_like
from support.made_tracks import BEGAN_S, EAST_M, NORTH_M, on_the_map, recorded, walk_once
from support.simulator import USUAL

pytestmark = pytest.mark.slow

ZONE = GridZone(32, "N")
WALKER = walker_like(USUAL)


def track_of(place_m, time_s):
    return Track(*on_the_map(place_m), time_s + BEGAN_S)


def made(seed, shape="loop", legs=12, change=lambda text: text, correlated_s=60.0, **more):
    """A walk, its log and its track."""
    rng, walked, text = walk_once(seed, shape, legs, **more)
    return (
        walked,
        read_log(change(text).encode()),
        track_of(*recorded(rng, walked.places_m[0], 5.0, correlated_s)),
    )


def metres_off(comparison, walked):
    east, north = project(ZONE, comparison.latitude_deg, comparison.longitude_deg)
    return np.hypot(east - EAST_M - walked.places_m[0, :, 0], north - NORTH_M - walked.places_m[0, :, 1])


@pytest.mark.parametrize("correlated_s", [0.0, 60.0])
@pytest.mark.parametrize(
    ("shape", "half", "most"), [("loop", 8.0, 16.0), ("wander", 8.0, 18.0), ("straight", 20.0, 50.0)]
)
def test_stations_are_found_where_they_are(shape, half, most, correlated_s):
    """Half of them within 8 m and nine in ten within 18 m; 20 and 50 m where hardly a corner marks them."""
    off = []
    for seed in range(10):
        walked, log, track = made(seed, shape, correlated_s=correlated_s)
        off.append(metres_off(compare(log, track, WALKER), walked))
    assert np.quantile(off, 0.5) < half
    assert np.quantile(off, 0.9) < most


@pytest.mark.statistical
def test_stated_intervals_hold_the_true_bias_and_pace_count():
    """60 walks of three shapes, both kinds of scatter: at least 54 in 60 inside a stated 95 in 100."""
    inside = []
    for seed in range(100, 110):
        for shape in ("loop", "wander", "straight"):
            for correlated_s in (0.0, 60.0):
                walked, log, track = made(seed, shape, correlated_s=correlated_s)
                found = compare(log, track, WALKER)
                turn, pace = found.azimuth_off_deg, found.per_100_m
                # The track is laid in grid metres; a pace count is on the ground.
                true = 100.0 / (USUAL.pace_m * walked.scale[0] / found.on_grid.scale)
                inside.append(
                    (turn.low <= walked.bias_deg[0] <= turn.high, pace.low <= true <= pace.high, found.fits)
                )
    bias, pace, fits = np.sum(inside, axis=0)
    assert (bias >= 54, pace >= 54, fits) == (True, True, 60), np.sum(inside, axis=0)


def test_a_long_log_tells_the_walkers_scatter_within_its_interval():
    _, log, track = made(3, "loop", 40)
    found = compare(log, track, WALKER)
    assert found.azimuth_sd_deg.low < 2.5 < found.azimuth_sd_deg.high
    assert found.count_sd_pct.low < 5.0 < found.count_sd_pct.high
    assert found.azimuth_sd_deg.high < 5.0 and found.count_sd_pct.high < 10.0


def test_a_walker_without_a_pace_count_gets_one():
    walked, log, track = made(4, "loop", 16)
    found = compare(log, track, Walker())
    assert found.assumed_pace_m == 1.5
    true = 100.0 / (USUAL.pace_m * walked.scale[0])
    assert found.per_100_m.low < true < found.per_100_m.high
    assert found.per_100_m.sd < 0.04 * true


def test_a_declination_left_out_is_found_as_what_all_legs_share():
    walked, log, track = made(5, "loop", 14, lambda text: text.replace("grid", "magnetic"))
    turned = replace(log, heading=replace(log.heading, declination_deg=-9.0))
    found = compare(turned, track, WALKER)
    # Grid and true north are one on the central meridian, where the walk is.
    assert found.azimuth_off_deg.value == pytest.approx(walked.bias_deg[0] + 9.0, abs=2.5)
    assert found.azimuth_off_deg.low < walked.bias_deg[0] + 9.0 < found.azimuth_off_deg.high


def test_a_hundred_not_counted_is_shown_as_a_mistake_and_hardly_weighs():
    walked, log, track = made(6, "loop", 14)
    clean = compare(log, track, WALKER)
    longest = int(np.argmax(walked.count[0]))
    rows = list(log.rows)
    rows[longest] = replace(rows[longest], count=rows[longest].count - 100)
    found = compare(replace(log, rows=tuple(rows)), track, WALKER)
    assert [leg.leg for leg in found.legs if leg.odd > 0.5] == [longest + 1]
    assert found.per_100_m.value == pytest.approx(clean.per_100_m.value, rel=0.02)


def test_legs_say_what_they_were_off_with_the_sign_of_the_walker():
    # One square without scatter: 2 degrees to the right of every azimuth, 5 % more metres than counted.
    text = (
        "# azimuth: grid degrees\n# count: metres\nazimuth,count,notes\n"
        + "0,400,\n90,400,\n180,400,\n270,400,\n"
    )
    azimuth_rad = np.radians([2, 92, 182, 272])
    steps = 420 * np.stack([np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=1)
    stations = np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])
    rng = np.random.default_rng(1)
    found = compare(read_log(text.encode()), track_of(*recorded(rng, stations, 0.3)), WALKER, track_sd_m=0.5)
    assert [leg.azimuth_off_deg for leg in found.legs] == pytest.approx([2] * 4, abs=0.5)
    assert [leg.count_off_pct for leg in found.legs] == pytest.approx([100 / 1.05 - 100] * 4, abs=0.5)
    assert [leg.true_length_m for leg in found.legs] == pytest.approx([420 / found.on_grid.scale] * 4, abs=2)
    assert found.per_100_m is None and all(leg.per_100_m is None for leg in found.legs)


def with_times(walked, text, stations, shift_s, every=3):
    """Note the time at every third station, by a clock that is `shift_s` ahead of Universal Time."""
    seconds = np.hypot(*np.diff(stations, axis=0).T) / 1.3 + 30.0
    at = BEGAN_S + shift_s + np.cumsum(seconds) - 15.0
    lines = text.splitlines()
    first = lines.index("azimuth,count,notes") + 1
    for k in range(every - 1, len(seconds), every):
        minutes = int(at[k] // 60) % 1440
        lines[first + k] += f"[time {minutes // 60}:{minutes % 60:02d}]"
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("shift_h", [0.0, 5.5, -7.0, 13.0])
def test_times_in_log_and_track_are_matched_whatever_the_zone_of_the_clock(shift_h):
    rng, walked, text = walk_once(8, "straight", 15)
    stations = walked.places_m[0]
    log = read_log(with_times(walked, text, stations, shift_h * 3600).encode())
    place, time_s = recorded(rng, stations, 5.0, 60.0)
    found = compare(log, track_of(place, time_s), WALKER)
    assert found.matched_by == "time"
    assert np.quantile(metres_off(found, walked), 0.9) < 60
    without = compare(log, Track(*on_the_map(place), np.full(len(place), np.nan)), WALKER)
    assert without.matched_by == "shape"


def test_a_track_may_begin_before_the_log_and_go_on_after_it():
    rng, walked, text = walk_once(9, "wander", 12)
    stations = walked.places_m[0]
    before, after = np.array([[-900.0, 400.0], [-300.0, -200.0]]), stations[-1] + np.array([[500.0, 800.0]])
    place, time_s = recorded(rng, np.concatenate([before, stations, after]), 5.0, 60.0)
    found = compare(read_log(text.encode()), track_of(place, time_s), WALKER)
    assert found.fits
    assert np.quantile(metres_off(found, walked), 0.9) < 30


def test_two_points_are_track_enough_for_a_leg():
    log = read_log(b"# azimuth: grid degrees\n# count: metres\nazimuth,count,notes\n90,300,\n")
    found = compare(log, track_of(np.array([[0.0, 0.0], [310.0, 5.0]]), np.zeros(2)), WALKER)
    assert found.legs[0].true_length_m == pytest.approx(310, abs=25)
    assert found.count_off_pct.low < -3 < found.count_off_pct.high


def test_the_track_of_another_walk_is_told_apart():
    told = [
        compare(made(seed, "wander")[1], made(seed + 1, "wander")[2], WALKER).fits
        for seed in range(20, 30, 2)
    ]
    assert told == [False] * 5


def test_a_hundred_legs_are_compared():
    _, log, track = made(1, "wander", 100)
    found = compare(log, track, WALKER)
    assert found.fits
    assert len(found.legs) == 100


def test_what_cannot_be_compared_is_refused():
    _, log, track = made(1)
    still = Track(track.latitude_deg[:2] * 0 + 45, track.longitude_deg[:2] * 0 + 9, track.time_s[:2])
    with pytest.raises(ValueComplaint, match="the track never gets on by 10 m"):
        compare(log, still, WALKER)
    far = Track(np.array([45.0, 45.1, -20.0]), np.array([9.0, 9.1, 120.0]), track.time_s[:3])
    with pytest.raises(ValueComplaint, match="the track leaves the UTM zone 32 north"):
        compare(log, far, WALKER)
    with pytest.raises(MissingComplaint, match="the declination is not known"):
        compare(replace(log, heading=replace(log.heading, azimuth_reference="magnetic")), track, WALKER)


def test_a_track_far_from_what_the_log_knows_is_refused():
    _, log, track = made(1, change=lambda text: "# known: Gate = 45.1500000 9.0000000 +-10 m\n" + text)
    assert compare(log, track, WALKER).fits
    swapped = Track(track.longitude_deg, track.latitude_deg, track.time_s)
    with pytest.raises(ValueComplaint, match=r"the track stays \d+ km away from Gate, which the log knows"):
        compare(log, swapped, WALKER)
