"""The sun's way over the sky of one day: a ring of azimuths with the hours on it."""

from __future__ import annotations

import datetime
import itertools
from typing import Final

from pacewright.core.compass import unit_vectors
from pacewright.drawing import svg
from pacewright.drawing.labels import Box, Segment, Wish, place_labels
from pacewright.drawing.svg import FAINT, INK, PAPER, PENCIL, Point
from pacewright.drawing.symbols import arrow_head
from pacewright.ground.sun import sun_track
from pacewright.ground.sun_day import SunDay
from pacewright.wording.sun import say_sun_day

PAGE_WIDTH_MM: Final = 120.0

_EDGE_MM: Final = 6.0
_RING_MM: Final = 42.0
_CENTRE: Final[Point] = (PAGE_WIDTH_MM / 2, 66.0)
_FOOT_MM: Final = 122.0
_TITLE_MM: Final = 4.6
_TEXT_MM: Final = 3.0
_SMALL_MM: Final = 2.6
_DOT_MM: Final = 0.9
_STEP_MIN: Final = 5
_HALF_DAY: Final = datetime.timedelta(hours=12)
_POINTS: Final = {0: "N", 90: "E", 180: "S", 270: "W"}

_Place = tuple[float, float]
"""Azimuth and elevation in degrees."""


def draw_sun_day(
    latitude_deg: float,
    longitude_deg: float,
    day: SunDay,
    zone_name: str,
    declination_deg: float | None = None,
    *,
    dial_only: bool = False,
) -> str:
    """Draw where the sun stands through a day, hour by hour, seen from above with true north up the page.

    The rim is the horizon and the middle is overhead. The diagram laid level with its true north to the
    north shows the sun's azimuth at each hour; the shadow falls the other way.

    Parameters
    ----------
    latitude_deg, longitude_deg
        The place, north and east positive.
    day
        Its rise and set.
    zone_name
        The clock of `day`, as a reader knows it.
    declination_deg
        East positive; draws magnetic north. None leaves it out.
    dial_only
        Leave title and sentences out: for a page that says them beside it.

    Returns
    -------
    str
        An SVG document 120 mm wide.
    """
    title = f"The sun at {latitude_deg:.2f} {longitude_deg:.2f}"
    says = say_sun_day(day, zone_name)
    caption = (
        ()
        if dial_only
        else (
            *svg.wrap_text(says[0], _TEXT_MM, PAGE_WIDTH_MM - 2 * _EDGE_MM),
            *svg.wrap_text(says[-1], _TEXT_MM, PAGE_WIDTH_MM - 2 * _EDGE_MM),
        )
    )
    feed = svg.LINE_HEIGHT * _TEXT_MM
    noon = day.noon.astimezone(datetime.UTC)
    moments = [noon + datetime.timedelta(minutes=m) for m in range(-720, 721, _STEP_MIN)]
    runs = _way(_places(latitude_deg, longitude_deg, moments))
    hours = _hours(latitude_deg, longitude_deg, day)
    body = [
        "" if dial_only else svg.text(_EDGE_MM, _EDGE_MM + 3.6, title, _TITLE_MM, font_weight="bold"),
        *_ring(),
        *([] if declination_deg is None else _magnetic_north(declination_deg)),
        *(
            svg.line(*_CENTRE, *_off(azimuth_deg, _RING_MM), stroke=INK, stroke_width=0.28)
            for azimuth_deg in _ends(day)
        ),
        *(svg.polyline(run, stroke=INK, stroke_width=0.8) for run in runs),
        *(svg.circle(*at, _DOT_MM, fill=INK, stroke=PAPER, stroke_width=0.3) for _, at in hours),
        *_labels(hours, runs, day, declination_deg),
        *(svg.text(_EDGE_MM, _FOOT_MM + i * feed, line, _TEXT_MM) for i, line in enumerate(caption)),
    ]
    height_mm = _FOOT_MM + len(caption) * feed + 1.0
    return svg.drawing(PAGE_WIDTH_MM, height_mm, body, title=title, description=" ".join(says))


def _ring() -> list[str]:
    drawn = [svg.circle(*_CENTRE, _RING_MM, fill=PAPER, stroke=INK, stroke_width=0.5)]
    for elevation_deg in (30, 60):
        drawn.append(
            svg.circle(
                *_CENTRE,
                _RING_MM * (1 - elevation_deg / 90),
                fill="none",
                stroke=FAINT,
                stroke_width=0.2,
                stroke_dasharray="1 1",
            )
        )
    drawn += [
        svg.line(*_at(azimuth_deg, 0), *_at(azimuth_deg, 180), stroke=FAINT, stroke_width=0.2)
        for azimuth_deg in (0, 90)
    ]
    for azimuth_deg in range(0, 360, 5):
        length_mm = 2.4 if azimuth_deg % 10 == 0 else 1.2
        drawn.append(
            svg.line(
                *_off(azimuth_deg, _RING_MM),
                *_off(azimuth_deg, _RING_MM + length_mm),
                stroke_width=0.25,
                stroke=INK,
            )
        )
        if azimuth_deg % 30 == 0:
            name = _POINTS.get(azimuth_deg, str(azimuth_deg))
            drawn.append(
                _centred(_off(azimuth_deg, _RING_MM + 6.0), name, _TEXT_MM, bold=azimuth_deg % 90 == 0)
            )
    return drawn


def _magnetic_north(declination_deg: float) -> list[str]:
    foot, tip = _CENTRE, _off(declination_deg, _RING_MM - 1.0)
    return [
        svg.line(*foot, *tip, stroke=PENCIL, stroke_width=0.3, stroke_dasharray="2 1"),
        arrow_head(foot, tip, 3.0, solid=False),
    ]


def _ends(day: SunDay) -> list[float]:
    return [a for a in (day.rise_azimuth_deg, day.set_azimuth_deg) if a is not None]


def _way(track: list[_Place]) -> list[list[Point]]:
    """The sun's way while it is up: one run of points, or two about midnight far north or south."""
    return [
        [_at(*one) for one in run]
        for up, group in itertools.groupby(track, key=lambda one: one[1] >= 0)
        if up and len(run := list(group)) > 1
    ]


def _hours(latitude_deg: float, longitude_deg: float, day: SunDay) -> list[tuple[str, Point]]:
    """The full hours of the clock while the sun is up, and where it stands then."""
    zone = day.noon.tzinfo or datetime.UTC
    first = (day.noon.astimezone(datetime.UTC) - _HALF_DAY).astimezone(zone)
    full = first.replace(minute=0, second=0, microsecond=0).astimezone(datetime.UTC)
    hours = [full + datetime.timedelta(hours=h) for h in range(1, 25)]
    places = _places(latitude_deg, longitude_deg, hours)
    return [
        (f"{hour.astimezone(zone):%H}", _at(*place))
        for hour, place in zip(hours, places, strict=True)
        if place[1] >= 0
    ]


def _labels(
    hours: list[tuple[str, Point]], runs: list[list[Point]], day: SunDay, declination_deg: float | None
) -> list[str]:
    """Write the hours, and `mag` beside the arrow, where they cover neither each other nor the sun's way."""
    lines: list[Segment] = [(*a, *b) for run in runs for a, b in itertools.pairwise(run)]
    lines += [(*_CENTRE, *_off(azimuth_deg, _RING_MM)) for azimuth_deg in _ends(day)]
    wishes = [Wish(name, *at, _DOT_MM, _TEXT_MM) for name, at in hours]
    if declination_deg is not None:
        tip = _off(declination_deg, _RING_MM - 1.0)
        lines.append((*_CENTRE, *tip))
        wishes.append(Wish("mag", *_off(declination_deg, _RING_MM - 5.0), 1.5, _SMALL_MM, rank=1))
    side = _RING_MM - 1.0
    room = Box(_CENTRE[0] - side, _CENTRE[1] - side, _CENTRE[0] + side, _CENTRE[1] + side)
    blocked = [Box(x - _DOT_MM, y - _DOT_MM, x + _DOT_MM, y + _DOT_MM) for _, (x, y) in hours]
    drawn = []
    for label in place_labels(wishes, room, [*blocked, *_rim()], lines).labels:
        if label.leader is not None:
            drawn.append(svg.line(*label.leader, stroke=PENCIL, stroke_width=0.2))
        size_mm = label.wish.size_mm
        drawn.append(
            svg.text(label.middle_x, label.baseline_y, label.content, size_mm, anchor="middle", halo_mm=0.4)
        )
    return drawn


def _rim() -> list[Box]:
    # Small boxes all along the ring keep labels off it and inside.
    around = (_off(azimuth_deg, _RING_MM + 2.0) for azimuth_deg in range(0, 360, 3))
    return [Box(x - 1.6, y - 1.6, x + 1.6, y + 1.6) for x, y in around]


def _places(latitude_deg: float, longitude_deg: float, moments: list[datetime.datetime]) -> list[_Place]:
    track = sun_track(latitude_deg, longitude_deg, moments)
    return list(zip(track.azimuth_deg.tolist(), track.elevation_deg.tolist(), strict=True))


def _at(azimuth_deg: float, elevation_deg: float) -> Point:
    return _off(azimuth_deg, _RING_MM * (1 - elevation_deg / 90))


def _off(azimuth_deg: float, radius_mm: float) -> Point:
    east, north = unit_vectors(azimuth_deg)
    return (_CENTRE[0] + radius_mm * float(east), _CENTRE[1] - radius_mm * float(north))


def _centred(at: Point, content: str, size_mm: float, *, bold: bool = False) -> str:
    return svg.text(
        at[0],
        at[1] + 0.35 * size_mm,
        content,
        size_mm,
        anchor="middle",
        font_weight="bold" if bold else None,
    )
