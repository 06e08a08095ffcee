"""What can be known again along lines: meetings, ends and bends; by hand from the figures drawn here."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from pacewright.route.planning.lines import Line, Sight, find_sights


def line(kind: str, *places: tuple[float, float]) -> Line:
    return Line(kind, np.array(places, dtype=np.float64))


def places_of(what: str, lines: list[Line]) -> list[tuple[float, float]]:
    sights, _ = find_sights(lines)
    return sorted((round(one.place_m[0]), round(one.place_m[1])) for one in sights if one.what == what)


def test_a_corner_of_a_track_is_a_bend_and_a_wide_curve_is_none() -> None:
    corner = Line("track", np.array([(0.0, 0.0), (0.0, 500.0), (500.0, 500.0)]), has_bends=True)
    assert places_of("bend of the track", [corner]) == [(0, 500)]
    # Of a line whose course is not known so well no bend is told.
    assert places_of("bend of the track", [replace(corner, has_bends=False)]) == []
    angle = np.linspace(0.0, math.pi / 2.0, 90)
    curve = Line("track", 1500.0 * np.stack([np.sin(angle), np.cos(angle)], axis=1), has_bends=True)
    assert places_of("bend of the track", [curve]) == []


def test_where_lines_cross_meet_and_end_one_knows_the_place() -> None:
    stream, beck = line("stream", (-800, 300), (800, 300)), line("stream", (200, 900), (200, 300))
    track = line("track", (-400, -200), (-400, 900))
    lines = [stream, beck, track]
    assert places_of("junction of streams", lines) == [(200, 300)]
    assert places_of("stream crosses track", lines) == [(-400, 300)]
    # A track's ends are seen on the ground; where heights begin a stream is not.
    assert places_of("end of the track", lines) == [(-400, -200), (-400, 900)]
    assert places_of("end of the stream", lines) == []


@pytest.mark.parametrize(("beside_m", "is_on"), [(5.0, True), (200.0, False)])
def test_a_point_that_lies_on_a_line_is_found_along_it(beside_m: float, is_on: bool) -> None:
    track = line("track", (0, 0), (0, 1000))
    _, on_lines = find_sights([line("wall", (5000, 0), (6000, 0)), track], [Sight("hut", (beside_m, 400.0))])
    assert [(one.line, round(one.along_m)) for one in on_lines if one.sight == 0] == (
        [(1, 400)] if is_on else []
    )
