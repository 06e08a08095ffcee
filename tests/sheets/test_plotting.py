"""Protractor, rulers and check line, measured on the strokes of the PDF."""

from __future__ import annotations

import itertools
import math

import pytest

from pacewright.core.pace.walker import Walker
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.paper import PAPER_NAMES, PAPERS
from pacewright.sheets.plotting import plotting_sheet
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import MM_PER_PT, opened, strokes_mm, words

INES = Walker(name="Ines Rowe", per_100_m=62.5)
WITHIN_MM = 0.2


def made(name="a4", walker=INES, scale=5000.0, unit="degrees"):
    return typeset([plotting_sheet(PAPERS[name], walker, scale, unit)], PAPERS[name])


def dial(pdf):
    """The middle of the protractor, and its ticks as (azimuth of the inner end, of the outer end, radii)."""
    for number, page in enumerate(opened(pdf)):
        circles = [d for d in page.get_drawings() if any(item[0] == "c" for item in d["items"])]
        if not circles:
            continue
        box = max((d["rect"] for d in circles), key=lambda r: r.width)
        x, y = MM_PER_PT * (box.x0 + box.x1) / 2, MM_PER_PT * (box.y0 + box.y1) / 2
        radius = MM_PER_PT * box.width / 2
        ticks = [
            s
            for s in strokes_mm(pdf, number)
            if abs(math.hypot(s[2] - x, s[3] - y) - radius) < 0.05
            and math.hypot(s[0] - x, s[1] - y) > radius * 0.85
        ]
        return (x, y), radius, ticks
    raise AssertionError("there is no protractor")


@pytest.mark.parametrize(("name", "step"), [("a4", 1), ("letter", 1), ("a5", 1), ("pocket", 2)])
def test_every_tick_of_the_protractor_points_where_it_says(name, step):
    (x, y), radius, ticks = dial(made(name))
    # From a quarter of a degree before north, so that no rounding puts the first tick last.
    at = sorted((math.degrees(math.atan2(s[2] - x, y - s[3])) + 0.25) % 360 - 0.25 for s in ticks)
    assert len(at) == 360 // step
    for azimuth, wanted in zip(at, range(0, 360, step), strict=True):
        # Both ends within a fifth of a millimetre of the true line.
        assert math.radians(abs((azimuth - wanted + 180) % 360 - 180)) * radius < WITHIN_MM
    assert radius == pytest.approx({"a5": 51.4, "pocket": 27.9}.get(name, 62.0), abs=0.1)


@pytest.mark.parametrize(("unit", "full", "step"), [("mils", 6400, 20), ("gon", 400, 1)])
def test_a_protractor_in_other_units(unit, full, step):
    (x, y), radius, ticks = dial(made(unit=unit))
    at = sorted((math.atan2(s[2] - x, y - s[3]) + 0.004) % (2 * math.pi) - 0.004 for s in ticks)
    assert len(at) == full // step
    for angle, wanted in zip(at, range(0, full, step), strict=True):
        off = (angle - 2 * math.pi * wanted / full + math.pi) % (2 * math.pi) - math.pi
        assert abs(off) * radius < WITHIN_MM


def test_inside_every_azimuth_stands_its_back_azimuth():
    pdf = made()
    (x, y), radius, _ = dial(pdf)
    rings = {0.865: {}, 0.735: {}}
    for x1, y1, x2, y2, word, *_ in opened(pdf)[0].get_text("words"):
        east, north = MM_PER_PT * (x1 + x2) / 2 - x, y - MM_PER_PT * (y1 + y2) / 2
        away = math.hypot(east, north) / radius
        for ring, found in rings.items():
            if abs(away - ring) < 0.035 and word.isdecimal():
                found[round(math.degrees(math.atan2(east, north)) / 10) * 10 % 360] = int(word)
    assert rings[0.865] == {azimuth: azimuth for azimuth in range(0, 360, 10)}
    assert rings[0.735] == {azimuth: (azimuth + 180) % 360 for azimuth in range(0, 360, 10)}


def rulers(pdf):
    """Every ruler from the top: its height, its ticks, and the numbers under them with their middles."""
    rows: dict[float, list[float]] = {}
    for x1, y1, x2, y2 in strokes_mm(pdf):
        if abs(x1 - x2) < 1e-6 and any(abs(abs(y2 - y1) - high) < 0.02 for high in (2.0, 3.0, 4.0)):
            rows.setdefault(round(min(y1, y2), 1), []).append(x1)
    placed = [[MM_PER_PT * part for part in w[:4]] + [w[4]] for w in opened(pdf)[0].get_text("words")]
    found = []
    for top, ticks in sorted(rows.items()):
        under = {
            int(word): (x1 + x2) / 2
            for x1, y1, x2, y2, word in placed
            if top + 3.5 < (y1 + y2) / 2 < top + 8.0 and x1 < max(ticks) + 5.0 and word.isdecimal()
        }
        found.append((sorted(ticks), under))
    return found


@pytest.mark.parametrize("name", PAPER_NAMES)
@pytest.mark.parametrize("scale", [1000.0, 5000.0, 25_000.0])
def test_rulers_are_to_scale_from_end_to_end(name, scale):
    *ruled, (check, _) = rulers(made(name, scale=scale))
    sizes_mm = (10 / 50, 1000 / scale, 1000 / scale * 1.6)
    assert len(ruled) == len(sizes_mm)
    for (ticks, numbers), mm_per_unit in zip(ruled, sizes_mm, strict=True):
        assert len(numbers) >= 3
        for number, middle in numbers.items():
            true = ticks[0] + number * mm_per_unit
            assert min(abs(tick - true) for tick in ticks) < WITHIN_MM
            assert number == 0 or abs(middle - true) < 0.5
    wanted = 100.0 if PAPERS[name].room_mm[0] > 110 else 50.0
    assert len(check) == 2
    assert check[1] - check[0] == pytest.approx(wanted, abs=0.02)
    assert f"this line measures {wanted:g} mm" in words(made(name, scale=scale))


def test_without_a_pace_count_there_is_no_ruler_in_paces_of_the_map():
    told = words(made(walker=Walker()))
    assert "own paces, 10 mm = 50 paces" in told and "metres at 1:5000" in told and "to 100 m)" not in told


@pytest.mark.parametrize("scale", [0.0, -5.0, 1e-300, 1e300, float("nan"), float("inf"), 499.0, 250_001.0])
def test_an_absurd_scale_is_refused(scale):
    with pytest.raises(ValueComplaint, match="is not a scale to plot a walk at"):
        made(scale=scale)


@pytest.mark.parametrize("scale", [500.0, 250_000.0])
@pytest.mark.parametrize("per_100_m", [30.0, 140.0])
def test_the_ends_of_the_scales_make_a_sheet(scale, per_100_m):
    assert "Print at 100 %" in words(made(walker=Walker(per_100_m=per_100_m), scale=scale))


def test_squared_paper_is_five_millimetres_apart():
    upright = sorted(
        {round(s[0], 2) for s in strokes_mm(made(), 1) if abs(s[0] - s[2]) < 1e-6 and abs(s[1] - s[3]) > 100}
    )
    gaps = {round(b - a, 1) for a, b in itertools.pairwise(upright)}
    assert gaps == {5.0}
