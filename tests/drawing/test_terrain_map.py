"""A map sheet is to exact scale on paper, says what it shows, and loses nothing of the walk."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pymupdf
import pytest

from pacewright.drawing.map_grid import Norths, cross_spacing_m, grid_spacing_m, written_metres
from pacewright.drawing.placed_walk import cut_outline, placed_walk
from pacewright.drawing.render import svg_to_pdf
from pacewright.drawing.svg import number
from pacewright.drawing.terrain_map import A4_MM, draw_terrain_map, map_sheet
from pacewright.drawing.walk_figure import (
    FigureAlternative,
    FigureRay,
    FigureRegion,
    FigureWayBack,
)
from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.ground.terrain import Terrain
from support.made_ground import CENTRE, NORTH, WEST, hills, walk

pytestmark = pytest.mark.slow

SCALES = [5_000, 10_000, 25_000, 50_000]
# ISO 32000-1:2008, section 8.3.2.3: a PDF unit is 1/72 inch; the inch is 25.4 mm.
POINTS_A_MM = 72 / 25.4
WITHIN_MM = 0.2
SVG = "{http://www.w3.org/2000/svg}"


FIRST = (CENTRE[0] - 233.0, CENTRE[1] + 151.0)
LAST = (CENTRE[0] + 311.0, CENTRE[1] - 277.0)


def sheet(scale=10_000, **more):
    figure = walk([FIRST, (CENTRE[0] + 90.0, CENTRE[1] + 40.0), LAST])
    return draw_terrain_map(figure, hills(), scale, centre=CENTRE, **more)


def words(svg):
    return [e.text for e in ElementTree.fromstring(svg).iter(SVG + "text")]


def printed(svg):
    document = pymupdf.open("pdf", svg_to_pdf(svg))
    return document, document[0]


def mm(points):
    return points / POINTS_A_MM


def lines_of(page, width_mm):
    """The straight lines of one pen on the page, each as x1, y1, x2, y2 in mm."""
    for drawn in page.get_drawings():
        if drawn["width"] and abs(mm(drawn["width"]) - width_mm) < 0.004:
            for item in drawn["items"]:
                if item[0] == "l":
                    yield tuple(mm(v) for v in (item[1].x, item[1].y, item[2].x, item[2].y))


def grid_lines(page):
    """x of the upright and y of the level grid lines, each across the whole frame, in mm."""
    lines = [line for line in lines_of(page, 0.14) if math.dist(line[:2], line[2:]) > 100]
    upright = sorted({round(x1, 3) for x1, y1, x2, y2 in lines if abs(x1 - x2) < 1e-3})
    level = sorted({round(y1, 3) for x1, y1, x2, y2 in lines if abs(y1 - y2) < 1e-3})
    return upright, level


def label_place(page, written):
    """Middle of a label in the PDF, in mm."""
    [box, *_] = page.search_for(written)
    return mm((box.x0 + box.x1) / 2), mm((box.y0 + box.y1) / 2)


@pytest.mark.parametrize("scale", SCALES)
def test_grid_lines_in_the_pdf_are_as_far_apart_as_the_scale_says(scale):
    document, page = printed(sheet(scale))
    with document:
        upright, level = grid_lines(page)
    apart_mm = 1000 * grid_spacing_m(scale) / scale
    assert len(upright) >= 3 and len(level) >= 3
    for lines in (upright, level):
        # From the first to the last: no error may add up across the sheet.
        assert np.asarray(lines) == pytest.approx(lines[0] + apart_mm * np.arange(len(lines)), abs=WITHIN_MM)
        assert lines[-1] - lines[0] > 100


@pytest.mark.parametrize("scale", SCALES)
def test_grid_lines_lie_at_the_metres_that_stand_beside_them(scale):
    document, page = printed(sheet(scale))
    with document:
        upright, _ = grid_lines(page)
        spacing = grid_spacing_m(scale)
        told = {w for w in words(sheet(scale)) if re.fullmatch(r"[\d ]+ E", w)}
        assert len(told) >= 3
        for written in told:
            metres = float(written[:-2].replace(" ", ""))
            assert metres % spacing == 0
            where = A4_MM[0] / 2 + 1000 * (metres - CENTRE[0]) / scale
            assert min(abs(x - where) for x in upright) < WITHIN_MM
            assert label_place(page, written)[0] == pytest.approx(where, abs=0.5)


@pytest.mark.parametrize("scale", SCALES)
def test_the_scale_bar_in_the_pdf_has_the_length_it_says(scale):
    svg = sheet(scale)
    document, page = printed(svg)
    with document:
        # The bar's thin line is the only one of its pen that is level and longer than 20 mm.
        bars = {x2 - x1 for x1, y1, x2, y2 in lines_of(page, 0.35) if abs(y1 - y2) < 1e-3 and x2 - x1 > 20}
    [said] = [float(w.split(" metres")[0].replace(" ", "")) for w in words(svg) if w.endswith(" metres")]
    assert min(abs(bar - 1000 * said / scale) for bar in bars) < WITHIN_MM


@pytest.mark.parametrize("scale", SCALES)
def test_stations_in_the_pdf_lie_where_their_grid_metres_say(scale):
    document, page = printed(sheet(scale))
    with document:
        upright, level = grid_lines(page)
        boxes = [
            [mm(v) for v in d["rect"]]
            for d in page.get_drawings()
            if d["width"] and abs(mm(d["width"]) - 0.45) < 0.004 and d["type"] == "fs"
        ]
    spacing = grid_spacing_m(scale)
    for place, wide in ((FIRST, 4.2), (LAST, 3.8)):
        middles = [((x0 + x1) / 2, (y0 + y1) / 2) for x0, y0, x1, y1 in boxes if abs(x1 - x0 - wide) < 0.1]
        # The other square of this size is the sample in the key, at the foot of the sheet.
        x, y = min(middles, key=lambda middle: middle[1])
        assert x == pytest.approx(A4_MM[0] / 2 + 1000 * (place[0] - CENTRE[0]) / scale, abs=WITHIN_MM)
        # Measured from a printed grid line, whatever its metres: whole spacings are left over.
        east, north = (x - upright[0]) * scale / 1000, (level[0] - y) * scale / 1000
        for measured, known in ((east, place[0]), (north, place[1])):
            assert math.remainder(known - measured, spacing) * 1000 / scale == pytest.approx(0, abs=WITHIN_MM)


@pytest.mark.parametrize("scale", SCALES)
def test_the_paper_is_the_size_asked_for(scale):
    document, page = printed(sheet(scale))
    with document:
        assert (mm(page.rect.width), mm(page.rect.height)) == pytest.approx(A4_MM, abs=0.05)
        assert len(document) == 1


@pytest.mark.parametrize("page_mm", [(210, 297), (297, 210), (148, 210), (420, 297)])
def test_everything_stands_on_the_paper(page_mm):
    svg = sheet(25_000, page_mm=page_mm, norths=Norths(-0.9, 11.4, "2026"))
    document, page = printed(svg)
    with document:
        for x0, y0, x1, y1, *_ in page.get_text("words"):
            assert min(x0, y0) > 0 and mm(x1) < page_mm[0] and mm(y1) < page_mm[1]


def test_contours_lie_where_the_land_has_their_height():
    # An even slope that rises 1 in 10 to the east: every contour is one upright line.
    east = WEST + 30 * (np.arange(300) + 0.5)
    slope = Terrain(np.tile(0.1 * (east - WEST), (300, 1)), WEST, NORTH, 30.0, 30.0, "EPSG:32611")
    svg = draw_terrain_map(None, slope, 10_000, centre=CENTRE, with_shade=False)
    [interval] = [float(w.split()[2]) for w in words(svg) if w.startswith("contour, every")]
    document, page = printed(svg)
    with document:
        xs = {round((x1 + x2) / 2, 2) for x1, y1, x2, y2 in lines_of(page, 0.34) if abs(y2 - y1) > 20}
    heavy = 5 * interval
    assert len(xs) >= 3
    for x in xs:
        height = 0.1 * (CENTRE[0] + (x - 105) * 10 - WEST)
        # To 0.2 mm on paper: 2 m across, 0.2 m up.
        assert abs(math.remainder(height, heavy)) < WITHIN_MM * 10 * 0.1


def test_the_sheet_states_its_scale_its_interval_and_its_grid():
    told = words(sheet(25_000))
    for part in (
        "1:25 000",
        "1 mm is 25 m",
        "Grid EPSG:32611, in metres:",
        "lines 1000 m, crosses 250 m apart.",
    ):
        assert part in told
    assert any(w.startswith("contour, every ") for w in told)
    assert any(w.startswith("index contour, ") for w in told)
    assert "level: water, or a flat" in told


def test_the_sheet_says_what_was_done_to_the_heights_and_to_look_at_the_land():
    remark = "This raster was in degrees (EPSG:4326)."
    told = " ".join(words(draw_terrain_map(None, hills(remarks=(remark,)), 25_000)))
    assert remark in told
    assert "follow local rules and qualified instruction" in told


def test_the_norths_are_in_words_with_what_a_compass_reads():
    told = words(sheet(norths=Norths(-0.9, 11.4, "2026")))
    for part in (
        "True north is 0.9° west of grid north.",
        "Magnetic north is 11.4° east of grid north (2026).",
        # Magnetic azimuth = grid azimuth - grid-magnetic angle (east positive): common practice.
        "A compass reads 11.4° less than the grid azimuth.",
    ):
        assert part in told
    assert "A compass reads 7.0° more than the grid azimuth." in words(sheet(norths=Norths(None, -7.0)))


@pytest.mark.parametrize("angle", [math.nan, math.inf, 200.0])
def test_an_angle_that_is_none_between_norths_is_refused(angle):
    with pytest.raises(ValueComplaint, match="not an angle between two norths"):
        Norths(angle, None)


def test_all_names_and_the_caption_of_the_walk_are_on_the_sheet():
    figure = walk([FIRST, LAST], caption=("Back 118°, 410 paces.",))
    told = words(draw_terrain_map(figure, hills()))
    for part in ("Cinder Fen", "Gate", "Heron post", "Back 118°, 410 paces."):
        assert part in told


def test_unasked_the_largest_scale_is_taken_at_which_the_walk_fits():
    near = walk([CENTRE, (CENTRE[0] + 500, CENTRE[1])])
    far = walk([CENTRE, (CENTRE[0] + 2_000, CENTRE[1] - 1_000)])
    assert "1:5 000" in words(draw_terrain_map(near, hills()))
    assert "1:15 000" in words(draw_terrain_map(far, hills()))


def test_a_walk_that_does_not_fit_is_refused_and_the_scale_that_fits_is_named():
    far = walk([CENTRE, (CENTRE[0] + 2_000, CENTRE[1] - 1_000)])
    with pytest.raises(ValueComplaint, match="does not fit on this sheet at 1:5000") as complaint:
        draw_terrain_map(far, hills(), 5_000)
    assert complaint.value.do == "Give a scale of 1:15000, or larger paper"
    draw_terrain_map(far, hills(), 15_000)


def test_a_walk_that_is_not_on_the_grid_is_refused():
    for unfit in ({"unit": "pace"}, {"azimuth_reference": "magnetic"}):
        with pytest.raises(ValueComplaint, match="does not lie on the grid"):
            draw_terrain_map(walk([FIRST, LAST], **unfit), hills())


@pytest.mark.parametrize("scale", [0, -5000, 999, 200_000, math.nan, math.inf])
def test_a_scale_that_nobody_walks_by_is_refused(scale):
    with pytest.raises(ValueComplaint, match="no scale to walk by"):
        draw_terrain_map(None, hills(), scale)


@pytest.mark.parametrize("page_mm", [(100, 297), (210, math.nan), (5000, 210)])
def test_paper_that_cannot_be_drawn_on_is_refused(page_mm):
    with pytest.raises(ValueComplaint, match="cannot be drawn"):
        draw_terrain_map(None, hills(), 25_000, page_mm)


def test_a_sheet_beside_the_terrain_is_refused():
    with pytest.raises(MissingComplaint, match="does not reach"):
        draw_terrain_map(None, hills(), 10_000, centre=(0.0, 0.0))


def test_a_sheet_over_the_edge_of_the_terrain_says_so():
    told = words(draw_terrain_map(None, hills(), 10_000, centre=(WEST, NORTH)))
    assert "edge of the known heights" in told
    assert "edge of the known heights" not in words(sheet())


def test_holes_in_the_terrain_are_drawn_and_break_nothing():
    land = hills()
    heights = land.elevation_m.copy()
    heights[100:160, 120:170] = np.nan
    told = words(draw_terrain_map(walk([FIRST, LAST]), replace(land, elevation_m=heights)))
    assert "edge of the known heights" in told


def test_terrain_all_level_is_a_sheet_too():
    flat = replace(hills(), elevation_m=np.full((300, 300), 55.0, dtype=np.float32))
    told = words(draw_terrain_map(None, flat, 25_000))
    assert "level: water, or a flat" in told
    assert not any(w.startswith("contour") for w in told)


def test_a_placed_walk_starts_at_its_place_and_is_turned_to_grid_north():
    figure = walk(
        [(10.0, 20.0), (10.0, 120.0)],
        azimuth_reference="magnetic",
        rays=(FigureRay(1, 355.0, "Fire tower"),),
        regions=(FigureRegion([(10, 20), (20, 20), (20, 30)]),),
        way_back=FigureWayBack([(10, 120), (10, 20)]),
        alternatives=(FigureAlternative([(10, 20), (60, 20)], 0.2),),
        arrow=((10.0, 120.0), (10.0, 20.0)),
    )
    placed = placed_walk(figure, 500_000.0, 4_000_000.0, 10.0)
    # 100 m along magnetic north, which lies 10 degrees east of grid north.
    tip = (500_000 + 100 * math.sin(math.radians(10)), 4_000_000 + 100 * math.cos(math.radians(10)))
    assert (placed.stations[0].east, placed.stations[0].north) == (500_000, 4_000_000)
    assert (placed.stations[1].east, placed.stations[1].north) == pytest.approx(tip)
    assert placed.rays[0].azimuth_deg == pytest.approx(5.0)
    assert placed.way_back.points[0] == pytest.approx(tip)
    assert placed.arrow[0] == pytest.approx(tip)
    assert placed.regions[0].outline[0] == (500_000, 4_000_000)
    east = (500_000 + 50 * math.cos(math.radians(10)), 4_000_000 - 50 * math.sin(math.radians(10)))
    assert placed.alternatives[0].points[1] == pytest.approx(east)
    assert placed.azimuth_reference == "grid"


def test_a_walk_in_paces_cannot_be_placed():
    with pytest.raises(ValueComplaint, match="in paces"):
        placed_walk(walk([(0, 0), (1, 1)], unit="pace"), 0, 0, 0)


def test_a_region_larger_than_the_sheet_is_cut_to_it():
    ring = [(CENTRE[0] + 9e3 * math.cos(t), CENTRE[1] + 9e3 * math.sin(t)) for t in np.linspace(0, 6.2, 40)]
    figure = walk([FIRST, LAST], regions=(FigureRegion(ring, "", "arrival"),))
    svg = draw_terrain_map(figure, hills(), 5_000)
    x = [float(v.split(",")[0]) for p in re.findall(r'points="([^"]+)"', svg) for v in p.split()]
    assert min(x) >= 0 and max(x) <= 210


def test_cutting_an_outline_keeps_the_area_inside():
    # The quarter of a circle of radius 2 is pi.
    ring = [(2 * math.cos(t), 2 * math.sin(t)) for t in np.linspace(0, 2 * math.pi, 2000)[:-1]]
    cut = np.array(cut_outline(ring, (0, 0, 9, 9)))
    x, y = cut.T
    assert abs(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1))) / 2 == pytest.approx(math.pi, rel=1e-4)
    assert cut_outline(ring, (5, 5, 9, 9)) == []


def test_map_sheet_places_the_walk_and_draws_it():
    figure = walk([(0.0, 0.0), (0.0, 300.0)], azimuth_reference="magnetic")
    placed = map_sheet(hills(), figure, start=FIRST, turn_deg=11.4, scale=10_000, centre=CENTRE)
    turn = math.radians(11.4)
    ready = walk([FIRST, (FIRST[0] + 300 * math.sin(turn), FIRST[1] + 300 * math.cos(turn))])
    assert placed == draw_terrain_map(ready, hills(), 10_000, centre=CENTRE)


def test_the_same_sheet_is_the_same_bytes():
    assert sheet() == sheet()


def test_nothing_on_the_sheet_needs_another_file_or_an_identity():
    assert not re.search(r"href|url\(|\bid=|<image", sheet())


@pytest.mark.parametrize("scale", range(1_000, 100_001, 3_000))
def test_crosses_divide_the_grid_and_both_can_be_seen(scale):
    lines, crosses = grid_spacing_m(scale), cross_spacing_m(scale)
    assert lines / crosses in (1.0, 2.0, 4.0, 5.0)
    assert 30 - 1e-6 <= 1000 * lines / scale <= 75 + 1e-6
    assert 1000 * crosses / scale >= 10 - 1e-6


def test_grid_metres_are_written_in_threes():
    assert written_metres(4_140_500.0) == "4 140 500"
    assert number(4_140_500.0) == "4140500"


@pytest.mark.parametrize("page_mm", [(148.0, 210.0), (120.0, 170.0)])
def test_a_small_sheet_with_many_sentences_takes_smaller_type(page_mm):
    caption = tuple(
        f"Sentence {k} of the way back, azimuth 118 deg, 410 paces, as it is said." for k in range(6)
    )
    told = words(draw_terrain_map(walk([FIRST, LAST], caption=caption), hills(), None, page_mm))
    assert all(sentence.replace(" deg", "°") in " ".join(told) for sentence in caption)


def test_sentences_that_leave_no_room_for_the_map_are_refused():
    with pytest.raises(ValueComplaint, match="leave no room for the map"):
        draw_terrain_map(walk([FIRST, LAST], caption=("word " * 900,)), hills(), None, (148.0, 210.0))


def test_the_key_tells_named_and_numbered_stations():
    told = words(draw_terrain_map(walk([FIRST, CENTRE, LAST]), hills()))
    assert "station, numbered" in told and "station with a name" not in told
    figure = walk([FIRST, CENTRE, LAST])
    named = (figure.stations[0], replace(figure.stations[1], name="Split oak"), figure.stations[2])
    told = words(draw_terrain_map(replace(figure, stations=named), hills()))
    assert "station with a name" in told and "station, numbered" not in told
