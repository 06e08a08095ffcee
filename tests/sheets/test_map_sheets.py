"""A printed map is to scale on every paper, on one page or many, and nothing written is cut."""

from __future__ import annotations

import math
from functools import cache
from itertools import combinations

import numpy as np
import pytest

from pacewright.drawing.map_grid import Norths
from pacewright.drawing.walk_figure import FigureRay, FigureRegion, FigureStation, FigureWayBack, WalkFigure
from pacewright.drawing.walk_on_ground import WalkOnGround
from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.sheets.map_sheets import map_sheets
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.typesetting import typeset
from pacewright.wording.sheets import PAPER_CAUTION
from support.made_ground import CENTRE, NORTH, WEST, hills, walk
from support.pdf_pages import MM_PER_PT, opened, words
from support.read_maps import read_maps, strokes_with, written

pytestmark = pytest.mark.slow

FLAT = ["a4", "letter", "a5"]
CARDS = ["pocket", "pocket-letter"]
WITHIN_MM = 0.2
LEG_MM, WAY_MM = 0.65, 1.4
"""Pens of a leg and of the way back."""
PLACES = [(CENTRE[0] + e, CENTRE[1] + n) for e, n in ((-400, -450), (-420, 60), (380, 450), (410, -390))]
WAY = (
    "From Heron post to Gate: azimuth 266 deg (magnetic), 506 paces.",
    "Look for it from 430 on. Stop at 582; do not walk on.",
)
LONG = "Heron post beyond the very long ditch of the seven alder stumps"


def ground_of(figure, **land):
    return WalkOnGround(figure, hills(**land), Norths(1.4, 13.6, "2026-05-14"), ("A note on the walk.",))


def figure_of(places=PLACES, **more):
    back = FigureWayBack([places[-1], places[0]], "back 266 deg, 506 paces")
    ring = [
        (places[-1][0] + 60 * math.sin(t), places[-1][1] + 60 * math.cos(t)) for t in np.arange(0, 6.2, 0.2)
    ]
    settings = {
        "way_back": back,
        "regions": (FigureRegion(ring),),
        "rays": (FigureRay(1, 20.0, "Fire tower"),),
    }
    return walk(places, **(settings | more))


@cache
def printed(name="a4", scale=None, places=None, title="Cinder Fen"):
    return of(figure_of(list(places or PLACES)), name, scale, title)


def of(figure, name="a4", scale=None, title="Cinder Fen", way=WAY):
    return typeset([map_sheets(ground_of(figure), PAPERS[name], title, scale, way)], PAPERS[name])


def page_words(pdf):
    return [" ".join(page.get_text().split()) for page in opened(pdf)]


# One page, and at a scale that no single page of the paper holds.
SHEETS = [*((name, None) for name in PAPERS), ("a4", 5000.0), ("letter", 5000.0), ("a5", 5000.0)]
SHEETS += [("pocket", 10000.0), ("pocket-letter", 12000.0), ("a5", 15000.0), ("a4", 25000.0)]


def scale_told(pdf, name, scale):
    """The scale that was asked for, or that stands on the sheet."""
    if scale is not None:
        return scale
    [told] = {w for w in (t.split(",")[0] for p in opened(pdf) for t, _ in written(p)) if w.startswith("1:")}
    return float(told[2:].replace(" ", ""))


@pytest.mark.parametrize(("name", "scale"), SHEETS)
def test_grid_lines_and_stations_lie_where_their_metres_say(name, scale):
    pdf = printed(name, scale)
    told = scale_told(pdf, name, scale)
    maps = read_maps(pdf)
    # The first of several maps is the index, which is smaller.
    maps = maps[1:] if len(maps) > 1 else maps
    seen = 0
    for one in maps:
        assert one.east and one.north
        # The lower row of a card is turned round, to stand upright when it is folded behind.
        turned = -1 if name.startswith("pocket") and one.frame[1] > PAPERS[name].height_mm / 2 else 1
        for lines, sign in ((one.east, turned), (one.north, -turned)):
            for (metres, at), (more, there) in combinations(sorted(lines.items()), 2):
                assert there - at == pytest.approx(sign * 1000 * (more - metres) / told, abs=WITHIN_MM)
        (line_e, x0), (line_n, y0) = next(iter(one.east.items())), next(iter(one.north.items()))
        for east, north in (PLACES[0], PLACES[-1]):
            x = x0 + turned * 1000 * (east - line_e) / told
            y = y0 - turned * 1000 * (north - line_n) / told
            if not one.holds((x - 3, y - 3, x + 3, y + 3)):
                continue
            middles = [((a + c) / 2, (b + d) / 2) for a, b, c, d in one.squares]
            assert min(math.dist((x, y), middle) for middle in middles) < WITHIN_MM
            seen += 1
    assert seen >= 2


@pytest.mark.parametrize(("name", "scale"), SHEETS)
def test_nothing_written_is_cut_by_a_frame_a_page_or_a_fold(name, scale):
    pdf = printed(name, scale)
    maps = read_maps(pdf)
    seen = 0
    for number, page in enumerate(opened(pdf)):
        wide, high = (MM_PER_PT * side for side in (page.rect.width, page.rect.height))
        for _, (x0, y0, x1, y1) in written(page):
            assert x0 > 0 and x1 < wide and y0 > 0 and y1 < high
            for left, top, right, bottom in (one.frame for one in maps if one.page == number):
                is_inside = left <= x0 and x1 <= right and top <= y0 and y1 <= bottom
                # Metres upright stand in the band; a box of text is a little higher than its letters.
                is_outside = x1 < left + 1 or x0 > right - 1 or y1 < top + 1 or y0 > bottom - 1
                assert is_inside or is_outside
                seen += is_inside
    assert seen >= 5


@pytest.mark.parametrize("scale", [None, 5000.0])
@pytest.mark.parametrize("name", FLAT)
def test_every_page_with_a_map_carries_the_whole_caution(name, scale):
    pdf = printed(name, scale)
    told = page_words(pdf)
    pages = {one.page for one in read_maps(pdf)}
    assert pages and all(PAPER_CAUTION in told[page] for page in pages)


@pytest.mark.parametrize(("name", "scale"), SHEETS)
def test_the_sheet_says_the_way_back_its_key_and_its_notes(name, scale):
    told = words(printed(name, scale))
    for part in (
        *WAY,
        PAPER_CAUTION,
        "A note on the walk.",
        "station, numbered",
        "start of the log",
        "end of the log",
        "bearing to a thing seen",
        "way back",
        "contour, every",
        "Magnetic north is 13.6° east of grid north (2026-05-14).",
        "The heights show no cliff smaller than a cell",
    ):
        assert part in told
    assert told.count("A note on the walk.") == 1


@pytest.mark.parametrize("name", PAPERS)
def test_the_title_stands_once_above_a_map_on_one_page(name):
    pdf = printed(name, None, None, "Cinder Fen, first crossing")
    foot = 0 if name in CARDS else opened(pdf).page_count
    assert words(pdf).count("Cinder Fen, first crossing") == 1 + foot


@pytest.mark.parametrize(
    ("name", "pages"), [("a4", 1), ("letter", 1), ("a5", 2), ("pocket", 1), ("pocket-letter", 1)]
)
def test_unasked_the_map_itself_is_on_one_page(name, pages):
    pdf = printed(name)
    [one] = read_maps(pdf)
    assert one.page == 0 and opened(pdf).page_count == pages
    assert len(one.squares) == 2


@pytest.mark.parametrize("name", FLAT)
def test_the_way_back_stands_beneath_its_map(name):
    assert all(sentence in page_words(printed(name))[0] for sentence in WAY)


def test_pages_share_land_and_name_their_neighbours():
    pdf = printed("a5", 5000.0)
    told = words(pdf)
    assert "2 by 2 pages at 1:5000" in told
    assert "Beside it: east 2, south 3." in told and "Beside it: west 3, north 2." in told
    _, *maps = read_maps(pdf)
    edges = []
    for one in maps:
        (metres, x), (up, y) = next(iter(one.east.items())), next(iter(one.north.items()))
        left, top, right, bottom = one.frame
        edges.append(
            (metres - 5 * (x - left), metres + 5 * (right - x), up - 5 * (bottom - y), up + 5 * (y - top))
        )
    first, second, third, _ = edges
    # 15 mm at 1:5000 are 75 m, from west to east and from north to south.
    assert first[1] - second[0] == pytest.approx(75, abs=1)
    assert third[3] - first[2] == pytest.approx(75, abs=1)
    for east, north in PLACES:
        assert any(w <= east <= e and s <= north <= n for w, e, s, n in edges)


def test_the_contours_of_all_pages_are_as_far_apart_in_height():
    told = words(printed("a5", 5000.0))
    assert told.count("contour, every") == 1


def test_the_index_numbers_every_page():
    pdf = printed("a5", 5000.0)
    texts = [text for text, _ in written(opened(pdf)[read_maps(pdf)[0].page])]
    assert {"1", "2", "3", "4"} <= set(texts)


def test_names_too_long_for_the_map_are_told_in_words():
    figure = figure_of(names=("Gate", " ".join([LONG] * 3)))
    for name in (*FLAT, *CARDS):
        told = words(of(figure, name))
        assert "Marked in short: 3: " + LONG in told


def test_a_name_too_long_for_a_panel_is_refused_or_printed_on_larger_paper():
    figure, way = figure_of(names=("Gate", LONG)), (LONG * 60,)
    with pytest.raises(ValueComplaint, match="too long for a panel"):
        of(figure, "pocket", way=way)
    assert words(of(figure, "a4", way=way)).count(LONG.split()[-1] + "Heron") == 59


@pytest.mark.parametrize("name", ["a4", "pocket"])
def test_names_from_right_to_left_stand_on_the_map_and_in_the_words(name):
    post = "תחנה"
    pdf = of(figure_of(names=("Gate", post)), name, way=(f"From {post} to Gate: azimuth 266 deg.",))
    told = words(pdf)
    assert "azimuth 266 deg." in told
    # A reader of the PDF may give the letters of a word from either side.
    assert sum(told.count(word) for word in (post, post[::-1])) == 2


def test_a_title_of_many_lines_leaves_the_map_whole():
    for name, times in (("a5", 12), ("pocket", 5)):
        pdf = printed(name, None, None, "Cinder Fen and all its ditches, " * times)
        assert len(read_maps(pdf)) == 1


def test_words_that_leave_no_room_below_a_map_stand_before_it():
    way = tuple(f"Sentence {k} of a way that has much to be said of it, and more." for k in range(40))
    pdf = of(figure_of(), "a5", way=way)
    told = page_words(pdf)
    [one] = read_maps(pdf)
    assert one.page == len(told) - 1 and PAPER_CAUTION in told[-1]
    assert all(sentence in words(pdf) for sentence in way)


def test_three_hundred_legs_are_printed_to_scale_with_every_name():
    turn = [math.radians(37 * k) for k in range(301)]
    places = [
        (CENTRE[0] + (60 + 2 * k) * math.sin(t), CENTRE[1] + (60 + 2 * k) * math.cos(t))
        for k, t in enumerate(turn)
    ]
    stations = tuple(
        FigureStation(k, f"Marker {k}" if k % 30 == 0 else None, *place) for k, place in enumerate(places)
    )
    figure = WalkFigure("Many", "metre", "grid", stations, walk(places).legs)
    for name in ("a4", "a5"):
        told = words(of(figure, name))
        assert all(f"Marker {k}" in told for k in range(0, 301, 30))
        assert "station, one in 10 numbered" in told


def test_a_page_beyond_the_terrain_is_a_page_of_grid_and_walk():
    places = [(WEST + 300.0, NORTH - 300.0), (WEST - 2600.0, NORTH - 300.0)]
    pdf = of(figure_of(places), "a5", 5000.0)
    assert "edge of the known heights" in words(pdf)
    assert all(one.east for one in read_maps(pdf))


def test_a_map_all_beyond_the_terrain_is_refused():
    places = [(WEST - 9000.0, NORTH), (WEST - 8000.0, NORTH)]
    with pytest.raises(MissingComplaint, match="does not reach"):
        of(figure_of(places))


@pytest.mark.parametrize("scale", [1.0, 999.0, 1e9, 0.0, -1.0, float("nan"), float("inf")])
@pytest.mark.parametrize("name", ["a4", "pocket"])
def test_an_absurd_scale_is_refused(name, scale):
    with pytest.raises(ValueComplaint, match="is no scale to walk by") as refused:
        of(figure_of(), name, scale)
    assert refused.value.do == "Give 1000 to 100000, such as 10000"


def test_too_many_pages_are_refused_and_a_scale_that_does_is_named():
    places = [(CENTRE[0] + 1200.0 * (k % 2), CENTRE[1] + 75.0 * k) for k in range(17)]
    with pytest.raises(ValueComplaint, match=r"at 1:1000 this map would take \d+ by \d+ pages") as refused:
        of(figure_of(places), "a4", 1000.0)
    assert refused.value.do == "Give --scale 5000, or take larger paper"
    assert opened(of(figure_of(places), "a4", 5000.0)).page_count > 4


def test_a_walk_too_long_for_one_page_is_refused_and_a_scale_and_a_paper_are_named():
    places = [CENTRE, (CENTRE[0] + 9000.0, CENTRE[1])]
    with pytest.raises(
        ValueComplaint, match="does not fit a map on one page of pocket even at 1:25000, the smallest that"
    ) as refused:
        of(figure_of(places), "pocket")
    assert refused.value.do == (
        "Give --scale 25000, which takes 10 pages, or --paper a5, where it fits one page"
    )
    assert len(read_maps(of(figure_of(places), "pocket", 25000.0))) == 1 + 10
    assert len(read_maps(of(figure_of(places), "a5"))) == 1


def test_a_card_is_refused_at_a_scale_that_cannot_be_read_on_it():
    with pytest.raises(ValueComplaint, match="a pocket card cannot be read at 1:50000") as refused:
        of(figure_of(), "pocket", 50_000.0)
    assert refused.value.do == "Give --scale 25000 or less, or larger paper, such as --paper a5"


@pytest.mark.parametrize(("name", "scale"), [("a4", 2500.0), ("a5", 2500.0), ("pocket", 10000.0)])
def test_every_page_of_several_has_its_bar_its_norths_and_a_part_of_the_walk(name, scale):
    pdf = printed(name, scale)
    told = page_words(pdf)
    _, *maps = read_maps(pdf)
    assert len(maps) > 2
    for one in maps:
        page = opened(pdf)[one.page]
        walked = [s for pen in (LEG_MM, WAY_MM) for s in strokes_with(page, pen)]
        along = ((a + k / 200 * (c - a), b + k / 200 * (d - b)) for a, b, c, d in walked for k in range(201))
        assert any(one.holds((x, y, x, y)) for x, y in along)
        assert "A compass reads 13.6° less than the grid azimuth." in told[one.page]
        assert "0 " in told[one.page] and "metres" in told[one.page] and "grid" in told[one.page]


def test_no_page_holds_the_key_alone():
    for name in ("a4", "a5"):
        for told in page_words(printed(name, 2500.0)):
            assert "Map page" in told or "Index of the map" in told or WAY[0] in told


def test_a_page_without_the_walk_is_not_printed_and_neighbours_skip_it():
    places = [(CENTRE[0] + e, CENTRE[1] + n) for e, n in ((-400, 400), (400, 400), (400, -400))]
    figure = figure_of(places, way_back=None, rays=(), regions=())
    told = words(of(figure, "a5", 2500.0))
    number = int(told.split(" pages at 1:2500, ")[1].split(" of them without")[0])
    across, down = (int(part) for part in told.split(" pages at")[0].split()[-3::2])
    assert number >= 1 and f"Map page {across * down - number}," in told
    assert f"Map page {across * down - number + 1}," not in told


def test_a_walk_that_no_paper_holds_is_refused():
    with pytest.raises(ValueComplaint, match="does not fit a map") as refused:
        of(figure_of([CENTRE, (CENTRE[0] + 9e6, CENTRE[1] + 9e5)]), "a5")
    assert "Draw a part of the log" in refused.value.do


def test_a_walk_in_paces_is_no_map():
    with pytest.raises(ValueComplaint, match="does not lie on the grid"):
        of(figure_of(unit="pace"))


def test_the_same_map_is_the_same_bytes():
    assert of(figure_of(), "a5") == of(figure_of(), "a5")
