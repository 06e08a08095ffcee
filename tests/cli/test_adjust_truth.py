"""pacewright adjust --truth --learn: a walker learnt from logs and the recorded tracks of the same walks."""

from __future__ import annotations

import tomllib

import numpy as np
import pytest

from support.command import run
from support.made_tracks import on_the_map, recorded, walk_once


@pytest.fixture
def walker(tmp_path):
    path = tmp_path / "ines.toml"
    path.write_text('name = "Ines Rowe"\n[pace]\nper_100_m = 60.0\n', encoding="utf-8")
    return path


@pytest.fixture
def walks(tmp_path):
    """Two logs and the tracks of the same walks."""
    logs, tracks = [], []
    for seed in (12, 13):
        rng, walked, text = walk_once(seed, "loop", 10)
        place_m, _ = recorded(rng, walked.places_m[0], 5.0, 60.0)
        points = np.stack(on_the_map(place_m), axis=1)
        body = "".join(f'<trkpt lat="{lat:.7f}" lon="{lon:.7f}"/>' for lat, lon in points)
        log, track = tmp_path / f"{seed}.csv", tmp_path / f"{seed}.gpx"
        log.write_text(text, encoding="utf-8")
        track.write_text(f"<gpx><trk><trkseg>{body}</trkseg></trk></gpx>", encoding="utf-8")
        logs.append(log)
        tracks.append(track)
    return logs, tracks


def truths(*tracks):
    return [word for track in tracks for word in ("--truth", track)]


def test_a_track_shows_before_and_after_and_writes_the_walker(walks, walker, tmp_path):
    (log, _), (track, _) = walks
    out = tmp_path / "after.toml"
    said = run("adjust", log, *truths(track), "--learn", "--walker", walker, "--out", out)
    assert (said.code, said.err) == (0, "")
    assert "Beside the track (stations matched by shape)" in said.out
    assert "Pace count: 60.0 give or take 1.8 before, 6" in said.out
    assert "Compass bias: 0.0 give or take 1.5 before" in said.out
    assert "Scatter of counts: 5.0 give or take 1.2 before" in said.out
    assert "Scatter of bearings" not in said.out
    assert [line.split()[0] for line in said.out.splitlines() if "paces to 100 m  " in line] == ["pace"]
    table = tomllib.loads(out.read_text(encoding="utf-8"))
    # The made-up walker's pace of 1.6 m is 62.5 to 100 m.
    assert 60.5 < table["pace"]["per_100_m"] < 65.0
    assert table["pace"]["scale_sd_pct"] < 3.0
    assert "own logs" in table["origin"]["pace.per_100_m"]
    assert run("adjust", log, "--walker", out).code == 0


def test_each_log_goes_with_its_track_in_order(walks, walker):
    logs, tracks = walks
    said = run("adjust", *logs, *truths(*tracks), "--learn", "--walker", walker, "--json")
    assert said.code == 0
    assert [one["truth"]["fits"] for one in said.objects[:2]] == [True, True]
    assert {"pace count", "compass bias"} <= {change["name"] for change in said.objects[2]["learnt"]}
    crossed = run("adjust", *logs, *truths(*reversed(tracks)), "--learn", "--walker", walker, "--json")
    assert crossed.code == 1
    assert crossed.objects[2]["learnt"] == []
    assert len(crossed.objects[2]["says"]) == 2
    assert all("set aside: its track does not look like it" in one for one in crossed.objects[2]["says"])


def test_a_walker_without_a_pace_count_gets_one_from_a_track(walks, tmp_path):
    (log, _), (track, _) = walks
    out = tmp_path / "new.toml"
    said = run("adjust", log, *truths(track), "--learn", "--out", out)
    assert said.code == 0
    assert 60.0 < tomllib.loads(out.read_text(encoding="utf-8"))["pace"]["per_100_m"] < 65.0


def test_a_bad_track_takes_only_its_own_log_with_it(walks, walker, tmp_path):
    logs, (_, track) = walks
    bad = tmp_path / "bad.gpx"
    bad.write_text("no track", encoding="utf-8")
    said = run("adjust", *logs, *truths(bad, track), "--learn", "--walker", walker, "--json")
    assert said.code == 2
    assert str(bad) in said.objects[0]["complaint"]
    assert said.objects[1]["truth"]["fits"]
    assert said.objects[2]["learnt"]


@pytest.mark.parametrize(
    ("options", "tracks", "says"),
    [
        ((), 1, "add --learn"),
        (("--learn",), 1, "there are 2 of FILE and 1 of --truth"),
        (("--learn",), 3, "there are 2 of FILE and 3 of --truth"),
    ],
)
def test_tracks_that_do_not_go_with_the_logs_are_refused(walks, options, tracks, says):
    logs, (track, _) = walks
    said = run("adjust", *logs, *truths(*[track] * tracks), *options)
    assert (said.code, said.out) == (2, "")
    assert says in said.err
