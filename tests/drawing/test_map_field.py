"""A field shows its own piece of a walk: cut to its frame, labelled inside it, legible when small."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from pacewright.drawing import svg
from pacewright.drawing.labels import Box
from pacewright.drawing.map_field import MapField, PageOutline, field_frame, no_walk
from pacewright.drawing.map_grid import Norths, cross_spacing_m, draw_grid, grid_spacing_m
from pacewright.drawing.map_scale import fit_map, least_scale, tidy_scale
from pacewright.drawing.page_fit import PageFit, seen_piece
from pacewright.drawing.render import svg_to_png
from pacewright.drawing.walk_figure import FigureRay, FigureWayBack
from pacewright.exceptions import MissingComplaint, ValueComplaint
from support.made_ground import CENTRE, NORTH, WEST, hills, walk

SVG = "{http://www.w3.org/2000/svg}"
EAST, NORTHING = CENTRE
PLACES = [(EAST - 900, NORTHING), (EAST, NORTHING + 60), (EAST + 900, NORTHING - 40)]


def field(size=(120.0, 110.0), scale=5_000.0, centre=CENTRE, places=PLACES, **more):
    back = FigureWayBack([places[-1], places[0]], "back 268 deg, 900 paces")
    figure = walk(places, way_back=back, rays=(FigureRay(0, 80.0, "Fire tower"),))
    fit = PageFit(field_frame(size), *centre, scale / 100)
    return MapField(figure, hills(), fit, Norths(1.4, 13.6), **more)


def words(pieces):
    root = ElementTree.fromstring(svg.drawing(300, 300, pieces, title="x"))
    return [e.text for e in root.iter(SVG + "text")]


def test_a_piece_of_a_walk_has_the_labels_of_what_lies_in_it_whole():
    one = field()
    told = words(one.body())
    assert "1" in told and "back 268°, 900 paces" in told
    assert "Gate" not in told and "Heron post" not in told
    assert all(one.fit.frame.holds(label.box) for label in one.placement.labels)


def test_a_bearing_from_beyond_the_frame_is_named_where_it_goes_out():
    far = field(centre=(EAST - 300, NORTHING + 100))
    near = field(centre=(EAST - 900, NORTHING))
    beside = field(centre=(EAST, NORTHING - 900))
    assert "Fire tower" in words(far.body()) and "Fire tower" in words(near.body())
    assert "Fire tower" not in words(beside.body())


def test_nothing_of_the_walk_is_seen_beyond_the_frame():
    def ink(one):
        # What a map with the walk paints beyond the frame, and one without it, is the same.
        return svg_to_png(svg.drawing(120, 110, [*one.body(), cover], title="x"), 60)

    cover = svg.rect(4.0, 4.0, 112.0, 102.0, fill="#fff")
    whole, bare = field(), field()
    bare.figure, bare.walk, bare.placement = no_walk(), [], field(centre=(EAST, NORTHING - 900)).placement
    assert ink(whole) == ink(bare)
    uncut = field()
    uncut.walk = [re.sub(r"</?svg[^>]*>", "", stroke) for stroke in uncut.walk]
    assert ink(uncut) != ink(bare)


def test_a_walk_inside_its_frame_is_not_cut():
    assert not any("<svg" in stroke for stroke in field(scale=25_000.0).walk)


def test_a_field_beyond_the_terrain_is_refused_unless_it_may_be_bare():
    with pytest.raises(MissingComplaint, match="does not reach"):
        field(centre=(WEST - 50_000, NORTH))
    bare = field(centre=(WEST - 50_000, NORTH), may_lack_land=True)
    assert bare.hands() == [] and any(word.endswith(" E") for word in words(bare.body()))


def test_pages_are_outlined_with_numbers_that_no_label_covers():
    west, south, east, north = EAST - 200, NORTHING - 100, EAST + 200, NORTHING + 150
    one = field(outlines=[PageOutline((west, south, east, north), 7)])
    assert "7" in words(one.body())
    [(_, box)] = one._numbered()
    assert not any(label.box.overlaps(box) for label in one.placement.labels)
    x, y = one.fit.point(west, north)
    assert f'x="{svg.number(x)}" y="{svg.number(y)}" width="80" height="50"' in "".join(one.body())


@pytest.mark.parametrize("width", [48.6, 52.0, 60.0, 117.6, 171.6, 300.0])
@pytest.mark.parametrize("scale", [*range(1_000, 100_001, 4_500), 15_000, 25_000])
def test_however_narrow_a_frame_a_line_has_its_metres_and_none_touch(scale, width):
    fit = PageFit(Box(5, 5, 5 + width, 5 + 1.1 * width), EAST, NORTHING, scale / 100)
    size_mm = 2.2 if width < 80 else 2.8
    for ending in (" E", " N"):
        places = []
        for piece in draw_grid(fit, size_mm):
            found = re.search(rf'x="([-\d.]+)" y="([-\d.]+)"[^>]*>([\d ]+{ending})<', piece)
            if found:
                places.append((float(found[1]), float(found[2]), found[3]))
        assert places
        side = (
            [p for p in places if p[1] < fit.frame.top] if ending == " E" else [p for p in places if p[0] < 5]
        )
        at = sorted(p[0] if ending == " E" else p[1] for p in side)
        half = svg.text_width_mm(places[0][2], size_mm) / 2
        assert len(at) >= (2 if width >= 117 else 1)
        assert all(later - earlier > 2 * half for earlier, later in pairwise(at))
        assert min(at) - half > 4 and max(at) + half < 6 + 1.1 * width


def test_the_sentence_of_the_grid_is_that_of_the_lines_drawn():
    small = field(size=(57.0, 70.0), scale=15_000.0)
    spacing = grid_spacing_m(15_000.0, small.fit.frame.right - small.fit.frame.left)
    assert spacing == cross_spacing_m(15_000.0, 48.6) == 200.0
    assert "lines 200 m apart." in small.grid_sentences()
    assert "lines 200 m, crosses 50 m apart." in field().grid_sentences()


def test_the_scale_and_the_norths_do_not_touch():
    for one, width, stacked in (
        (field((57.0, 70.0), 25_000.0), 57.0, True),
        (field((180.0, 120.0)), 180.0, False),
    ):
        strip = one.strip(4.2, width - 4.2, 1.5, with_words=one.is_wide)
        root = ElementTree.fromstring(svg.drawing(width, one.strip_mm(), strip, title="x"))
        boxes = {}
        for e in root.iter(SVG + "text"):
            size = float(e.get("font-size"))
            wide = svg.text_width_mm(e.text, size)
            shift = {"middle": wide / 2, "end": wide}.get(e.get("text-anchor"), 0.0)
            left, base = float(e.get("x")) - shift, float(e.get("y"))
            boxes[e.text] = Box(left, base - 0.75 * size, left + wide, base)
        assert one.is_wide is not stacked
        for name, box in boxes.items():
            assert box.top >= 0 and box.bottom <= one.strip_mm()
            assert not any(box.overlaps(other) for word, other in boxes.items() if word != name), name


def test_a_line_is_seen_where_it_crosses_the_frame_only():
    frame = Box(0, 0, 10, 10)
    assert seen_piece((-5, 5), (15, 5), frame) == ((0, 5), (10, 5))
    assert seen_piece((2, 2), (3, 8), frame) == ((2, 2), (3, 8))
    assert seen_piece((-5, 5), (5, 20), frame) is None
    assert seen_piece((-5, -1), (15, -1), frame) is None
    assert seen_piece((5, -5), (5, 5), frame) == ((5, 0), (5, 5))


def test_the_scale_that_just_fits_is_the_first_tidy_one():
    frame, bounds = field_frame((128.4, 108.4)), (0.0, 0.0, 1_040.0, 100.0)
    # 120 mm less 8 mm on either side are 104 mm: 1040 m are just 1:10 000.
    assert least_scale(bounds, (520.0, 50.0), frame) == pytest.approx(10_000)
    assert fit_map(frame, bounds).units_per_cm == 100
    assert tidy_scale(10_001) == 15_000 and tidy_scale(100_001) is None
    with pytest.raises(ValueComplaint, match="does not fit on this sheet at 1:9000") as refused:
        fit_map(frame, bounds, 9_000.0)
    assert "1:10000" in refused.value.do
    with pytest.raises(ValueComplaint, match="does not fit") as refused:
        fit_map(frame, (0.0, 0.0, 2e5, 1.0))
    assert refused.value.do == "Take larger paper"
