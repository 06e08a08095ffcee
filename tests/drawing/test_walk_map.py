"""The walked figure is to scale, north up, inside its frame, and loses nothing."""

from __future__ import annotations

import math
import random
import re
from itertools import combinations
from xml.etree import ElementTree

import pymupdf
import pytest

from pacewright.drawing import svg
from pacewright.drawing.render import svg_to_pdf
from pacewright.drawing.walk_map import (
    FigureAlternative,
    FigureLeg,
    FigureRay,
    FigureRegion,
    FigureStation,
    FigureWayBack,
    WalkFigure,
    draw_walk_map,
)
from pacewright.exceptions import MissingComplaint, ValueComplaint

SVG = "{http://www.w3.org/2000/svg}"
OVAL = [(40 * math.cos(i / 5), 25 * math.sin(i / 5)) for i in range(31)]


def chain(courses, names=None, **more):
    east = north = 0.0
    stations = [FigureStation(0, (names or {}).get(0), 0.0, 0.0)]
    for i, (azimuth_deg, count) in enumerate(courses, 1):
        east += count * math.sin(math.radians(azimuth_deg))
        north += count * math.cos(math.radians(azimuth_deg))
        stations.append(FigureStation(i, (names or {}).get(i), east, north))
    settings = {"title": "A walk", "unit": "pace", "azimuth_reference": "magnetic"} | more
    settings.setdefault("legs", tuple(FigureLeg(i, i + 1) for i in range(len(courses))))
    return WalkFigure(stations=tuple(stations), **settings)


def loop(**more):
    courses = [(305, 240), (38, 185), (52, 330), (97, 70), (180, 400), (213, 200)]
    return chain(courses, {0: "Gate", 2: "Split oak", 6: "Heron stile"}, **more)


def wander(legs, seed=7, names=None):
    chance = random.Random(seed)
    return chain([(chance.uniform(0, 360), chance.randint(20, 300)) for _ in range(legs)], names)


def drawn(figure, **more):
    return ElementTree.fromstring(draw_walk_map(figure, **more))


def found(root, tag, **attributes):
    return [
        e for e in root.iter(SVG + tag) if all(e.get(k.replace("_", "-")) == v for k, v in attributes.items())
    ]


def numbers(text):
    return [float(n) for n in re.findall(r"-?[\d.]+", text)]


def frame_of(root):
    [rect] = found(root, "rect", fill="none", stroke_width="0.5")
    x, y, width, height = (float(rect.get(k)) for k in ("x", "y", "width", "height"))
    return x, y, x + width, y + height


def legs_of(root):
    """The plain counted legs, each (x1, y1, x2, y2); the key below the frame is left out."""
    bottom = frame_of(root)[3]
    lines = list(found(root, "line", stroke_width="0.65"))
    ends = [tuple(float(e.get(k)) for k in ("x1", "y1", "x2", "y2")) for e in lines]
    return [e for e in ends if e[1] < bottom]


def words(root):
    return [e.text for e in root.iter(SVG + "text")]


def paces_per_mm(root):
    """The scale as the words under the frame state it: the crosses are 10 mm apart."""
    [said] = [w for w in words(root) if w.startswith("crosses ")]
    return numbers(said)[0] / 10


def label_boxes(root):
    bottom = frame_of(root)[3]
    for e in found(root, "text", text_anchor="middle", paint_order="stroke"):
        x, y, size = (float(e.get(k)) for k in ("x", "y", "font-size"))
        assert y < bottom
        half = svg.text_width_mm(e.text, size) / 2
        # Capitals of the family are 0.73 of the type high, descenders 0.24.
        yield e.text, (x - half, y - 0.73 * size, x + half, y + 0.2 * size)


@pytest.mark.parametrize("unit", ["pace", "metre"])
def test_a_hundred_pace_leg_has_its_length_on_paper_by_the_stated_scale(unit):
    root = drawn(chain([(90, 100), (0, 100), (217, 300)], unit=unit))
    lengths = [math.dist(e[:2], e[2:]) * paces_per_mm(root) for e in legs_of(root)]
    assert lengths == pytest.approx([100, 100, 300], abs=0.02 * paces_per_mm(root))


def test_the_scale_bar_agrees_with_the_legs():
    root = drawn(chain([(90, 400)]))
    [said] = [w for w in words(root) if re.fullmatch(r"[\d ]+ paces", w)]
    bar = next(e for e in found(root, "line", stroke_width="0.35"))
    bar_mm = float(bar.get("x2")) - float(bar.get("x1"))
    [leg] = legs_of(root)
    assert bar_mm / int(said.split(" paces")[0].replace(" ", "")) == pytest.approx(
        (leg[2] - leg[0]) / 400, rel=1e-3
    )


@pytest.mark.parametrize("wide_mm", [80.0, 95.0, 120.0, 180.0])
@pytest.mark.parametrize("count", [30, 700, 4000, 90_000])
def test_the_words_of_the_bar_end_before_the_north_arrow(wide_mm, count):
    root = drawn(chain([(90, count)]), page_mm=(wide_mm, 140.0))
    [said] = [e for e in root.iter(SVG + "text") if re.fullmatch(r"[\d ]+ paces?", e.text or "")]
    ends = float(said.get("x")) + svg.text_width_mm(said.text, float(said.get("font-size")))
    [needle] = [e for e in root.iter(SVG + "polygon") if e.get("fill") == svg.PAPER and e.get("stroke")][-1:]
    assert ends + 1.0 < min(float(pair.split(",")[0]) for pair in needle.get("points").split())


def test_the_leg_is_as_long_in_the_printed_pdf():
    figure = chain([(90, 100)])
    scale = paces_per_mm(drawn(figure))
    with pymupdf.open("pdf", svg_to_pdf(draw_walk_map(figure))) as document:
        rects = [
            d["rect"]
            for d in document[0].get_drawings()
            if d["width"] == pytest.approx(0.65 / 25.4 * 72, rel=1e-3)
        ]
    # The longest heavy line is the leg, the other the sample in the key.
    assert max(r.width for r in rects) * 25.4 / 72 * scale == pytest.approx(100, abs=0.2)


@pytest.mark.parametrize(("azimuth_deg", "way"), [(0, (0, -1)), (90, (1, 0)), (180, (0, 1)), (270, (-1, 0))])
def test_north_is_up_and_east_is_right(azimuth_deg, way):
    [(x1, y1, x2, y2)] = legs_of(drawn(chain([(azimuth_deg, 100)])))
    length = math.hypot(x2 - x1, y2 - y1)
    assert ((x2 - x1) / length, (y2 - y1) / length) == pytest.approx(way, abs=1e-3)


@pytest.mark.parametrize("reference", ["magnetic", "true", "grid"])
def test_the_north_arrow_names_the_reference_of_the_figure(reference):
    told = words(drawn(chain([(0, 100)], azimuth_reference=reference)))
    assert told[told.index("north") - 1] == reference


def everything():
    return loop(
        legs=tuple(FigureLeg(i, i + 1, i == 3, (("left", 150),) if i == 2 else ()) for i in range(6)),
        regions=(
            FigureRegion([(e - 30, n - 60) for e, n in OVAL], "95 % region"),
            FigureRegion([(e * 2, n * 2) for e, n in OVAL], "arrival", "arrival"),
            FigureRegion([(e + 300, n - 200) for e, n in OVAL], "leg 5: 31 %", "suspect"),
        ),
        rays=(FigureRay(2, 346, "Fire tower"), FigureRay(4, 120, "Mast")),
        way_back=FigureWayBack([(120, -80), (0, 0)], "back 304 deg, 144 paces"),
        alternatives=(FigureAlternative([(0, 0), (-400, 100)], 0.22),),
        arrow=((120.0, -80.0), (0.0, 0.0)),
        caption=("You are at Heron stile.", "Walk back."),
    )


def test_everything_but_the_words_below_lies_inside_the_frame():
    root = drawn(everything())
    left, top, right, bottom = frame_of(root)
    seen = 0
    for e in [*found(root, "polygon"), *found(root, "polyline")]:
        pairs = list(zip(*[iter(numbers(e.get("points")))] * 2, strict=True))
        if all(y > bottom for _, y in pairs):
            continue
        seen += 1
        assert all(left - 0.01 <= x <= right + 0.01 and top - 0.01 <= y <= bottom + 0.01 for x, y in pairs)
    for e in found(root, "line"):
        if float(e.get("y1")) < bottom:
            assert left <= float(e.get("x2")) <= right and top <= float(e.get("y2")) <= bottom
    assert seen >= 8


@pytest.mark.parametrize("side", ["right", "left"])
@pytest.mark.parametrize("azimuth_deg", [0, 70, 245])
def test_a_boxing_wider_than_its_leg_is_long_comes_inside_the_frame(azimuth_deg, side):
    root = drawn(chain([(azimuth_deg, 100)], legs=(FigureLeg(0, 1, boxings=((side, 170.0),)),)))
    left, top, right, bottom = frame_of(root)
    way = numbers(found(root, "polyline", stroke_width="0.65")[0].get("points"))
    assert all(left < x < right for x in way[::2]) and all(top < y < bottom for y in way[1::2])
    assert math.dist(way[2:4], way[4:6]) * paces_per_mm(root) == pytest.approx(
        170, abs=0.02 * paces_per_mm(root)
    )


def test_region_outlines_are_to_scale():
    root = drawn(everything())
    wide = []
    for e in found(root, "polygon", fill="none"):
        pairs = list(zip(*[iter(numbers(e.get("points")))] * 2, strict=True))
        if pairs[0][1] < frame_of(root)[3]:
            wide.append((max(x for x, _ in pairs) - min(x for x, _ in pairs)) * paces_per_mm(root))
    width = max(e for e, _ in OVAL) - min(e for e, _ in OVAL)
    assert wide == pytest.approx([width, 2 * width, width], abs=0.03 * paces_per_mm(root))


def test_a_ray_leaves_its_station_on_its_azimuth_and_ends_at_the_frame():
    root = drawn(everything())
    left, top, right, bottom = frame_of(root)
    rays = [e for e in found(root, "line", stroke_width="0.28", stroke="#111") if float(e.get("y1")) < bottom]
    assert len(rays) == 2
    for e, azimuth_deg in zip(rays, (346, 120), strict=True):
        x1, y1, x2, y2 = (float(e.get(k)) for k in ("x1", "y1", "x2", "y2"))
        assert math.degrees(math.atan2(x2 - x1, y1 - y2)) % 360 == pytest.approx(azimuth_deg, abs=0.05)
        assert min(abs(x2 - left), abs(x2 - right), abs(y2 - top), abs(y2 - bottom)) < 0.011


def test_the_way_back_is_dashed_and_named():
    root = drawn(everything())
    assert found(root, "polyline", stroke_dasharray="4 2.4")
    assert "back 304°, 144 paces" in words(root)


def test_the_way_back_shows_beside_a_leg_that_it_retraces():
    root = drawn(chain([(90, 100)], way_back=FigureWayBack([(100, 0), (0, 0)])))
    order = [e for e in root.iter() if e.get("stroke-width") in ("0.65", "1.4")]
    assert [e.get("stroke-width") for e in order][:2] == ["1.4", "0.65"]


def test_the_way_back_ends_at_the_rim_of_the_start_so_that_its_head_is_seen():
    root = drawn(chain([(90, 100)], way_back=FigureWayBack([(100, 0), (0, 0)])))
    *_, tip_x, tip_y = numbers(found(root, "polyline", stroke_dasharray="4 2.4")[0].get("points"))
    [(x, y, *_)] = legs_of(root)
    assert (tip_x - x, tip_y - y) == pytest.approx((2.5, 0), abs=0.02)


def test_all_that_was_asked_for_is_written():
    told = words(drawn(everything()))
    for said in (
        "Gate",
        "Split oak",
        "Heron stile",
        "Fire tower",
        "Mast",
        "95 % region",
        "22 %",
        "Walk back.",
        "3",
    ):
        assert said in told


def test_the_key_explains_only_what_the_figure_uses():
    assert {"obstacle, boxed", "way back", "region of a suspect", "misclosure"} <= set(
        words(drawn(everything()))
    )
    plain = words(drawn(loop()))
    assert "leg, counted" in plain
    assert not {"obstacle, boxed", "way back", "region of a suspect", "misclosure"} & set(plain)


@pytest.mark.parametrize("legs", [1, 6, 60, 300])
def test_labels_do_not_collide(legs):
    names = {0: "Gate"} | {i: f"Marker {i}" for i in range(5, legs, 9)}
    boxes = list(label_boxes(drawn(wander(legs, names=names))))
    assert boxes
    for (one, a), (other, b) in combinations(boxes, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, f"{one} collides with {other}"


def test_three_hundred_legs_are_drawn_and_every_named_station_is_told():
    names = {i: f"Marker {i}" for i in range(0, 301, 10)}
    root = drawn(wander(300, names=names))
    assert len(legs_of(root)) == 300
    told = " ".join(words(root))
    assert all(re.search(rf"\b{name}\b", told) for name in names.values())
    assert 0 < sum(w.isdigit() for w in words(root)) <= 45


def test_names_that_find_no_room_are_told_in_words_below():
    crowd = tuple(FigureStation(i, f"Marker number {i}", i * 1e-3, 0.0) for i in range(60))
    far = FigureStation(60, None, 500.0, 500.0)
    root = drawn(WalkFigure("Crowd", "pace", "grid", (*crowd, far)))
    told = " ".join(words(root))
    assert all(re.search(rf"\bMarker number {i}\b", told) for i in range(60))
    assert "No room to mark: " in told


def test_a_log_without_legs_shows_its_start_alone():
    root = drawn(WalkFigure("", "pace", "true", (FigureStation(0, "Gate", 5.0, 5.0),)))
    assert "Gate" in words(root) and legs_of(root) == []
    assert "end of the log" not in words(root)


# So far out a millionth is no longer told from nothing.
@pytest.mark.parametrize(
    ("size", "offset"),
    [(1e-6, 0.0), *((size, far) for size in (1e-3, 1.0, 1e4, 1e9) for far in (0.0, 4.5e6))],
)
def test_tiny_and_huge_walks_fill_the_frame(size, offset):
    stations = (FigureStation(0, "Gate", offset, offset), FigureStation(1, None, offset + size, offset))
    root = drawn(WalkFigure("Size", "metre", "grid", stations, (FigureLeg(0, 1),)))
    [leg] = legs_of(root)
    assert 80 < leg[2] - leg[0] < 150


def test_the_same_name_twice_is_told_apart_by_the_station_number():
    root = drawn(chain([(90, 100), (0, 100), (225, 130)], {0: "Gate", 3: "Gate"}))
    assert {"Gate", "Gate (3)"} <= set(words(root))


def test_names_with_odd_characters_and_from_right_to_left_stay_whole():
    names = {0: '<Gate> & "Fen"', 1: "گاوازنگ", 2: "שער ישן"}
    root = drawn(chain([(90, 100), (0, 100)], names))
    assert set(names.values()) <= set(words(root))
    for name in names.values():
        # Anchored in its middle, a name stands in its box whichever way it is read.
        [text] = [e for e in root.iter(SVG + "text") if e.text == name]
        assert text.get("text-anchor") == "middle"


def test_the_page_grows_by_key_and_caption_only():
    short, long = drawn(loop()), drawn(loop(caption=("One.", "Two.")))
    heights = [float(root.get("height").removesuffix("mm")) for root in (short, long)]
    assert heights[1] - heights[0] == pytest.approx(
        2 * 4.6 * svg.LINE_HEIGHT + 0.25 * 4.6 * svg.LINE_HEIGHT, abs=0.02
    )
    assert frame_of(short) == frame_of(long)
    assert drawn(loop(), page_mm=(120, 160)).get("width") == "120mm"


@pytest.mark.parametrize("page_mm", [(60, 180), (180, 60), (float("nan"), 180)])
def test_a_page_too_small_is_refused(page_mm):
    with pytest.raises(ValueComplaint, match="leaves no room for the drawing"):
        draw_walk_map(loop(), page_mm)


def test_a_figure_without_stations_is_refused():
    with pytest.raises(MissingComplaint, match="no station"):
        draw_walk_map(WalkFigure("", "pace", "true", ()))


def test_a_leg_to_a_station_that_is_not_there_is_refused():
    with pytest.raises(ValueComplaint, match="station 9 is drawn to or from"):
        draw_walk_map(chain([(0, 10)], legs=(FigureLeg(0, 9),)))


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 1e300])
def test_a_place_that_is_not_finite_is_refused(value):
    with pytest.raises(ValueComplaint, match="not a finite place"):
        draw_walk_map(chain([(0, 10)], regions=(FigureRegion([(0, 0), (1, value), (2, 2)]),)))
    with pytest.raises(ValueComplaint, match="is not an azimuth"):
        draw_walk_map(chain([(0, 10)], rays=(FigureRay(0, float("nan"), "Mast"),)))


def test_the_same_figure_gives_the_same_bytes():
    assert draw_walk_map(everything()) == draw_walk_map(everything())
