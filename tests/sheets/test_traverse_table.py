"""The traverse table against sine and cosine, a printed example, and the program itself."""

from __future__ import annotations

import itertools
import math
import random
import re
from decimal import Decimal

import pytest

from pacewright.answers.way import way_back
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.way.reckoning import reckon
from pacewright.exceptions import ValueComplaint
from pacewright.files.known_places import open_estimate
from pacewright.sheets.paper import PAPER_NAMES, PAPERS
from pacewright.sheets.traverse_sheet import traverse_sheet
from pacewright.sheets.traverse_table import part, table_bound, worked_leg, worked_way
from pacewright.sheets.typesetting import typeset
from support.authorities import read_authority
from support.logs import log_of
from support.pdf_pages import MM_PER_PT, opened, strokes_mm, words

WALK = log_of((305, 240), (38, 185, "[at Split oak]"), (52, 330), (97, 70), (164, 260, "[at Heron post]"))
CIRCLE = {"degrees": 360, "mils": 6400, "gon": 400}


def printed(name="a4", unit=None, log=WALK):
    return typeset([traverse_sheet(open_estimate(log, Walker()), PAPERS[name], unit)], PAPERS[name])


def test_half_a_pace_is_worked_as_a_whole_one():
    assert worked_way(log_of((90, "182.5"), (0, "183.5"))).east == Decimal("183.0")


@pytest.mark.parametrize("units", range(1, 10))
def test_a_part_is_the_cosine_or_the_sine(units):
    """Against math.sin and math.cos, to half the last digit printed."""
    for azimuth in range(91):
        for to_north, exact in (
            (True, math.cos(math.radians(azimuth))),
            (False, math.sin(math.radians(azimuth))),
        ):
            assert abs(float(part(azimuth, units, to_north=to_north)) - units * exact) <= 0.0005 + 1e-12


def test_the_navy_example_comes_out_digit_for_digit():
    """NAVEDTRA 14069, latitude of 725 ft on N15°30'E by traverse table."""
    values = {row["quantity"]: row["printed"] for row in read_authority("traverse_navy.csv")}
    seven_hundred = part(15.5, 7, to_north=True) * 100
    twenty_five = part(15.5, 2, to_north=True) * 10 + part(15.5, 5, to_north=True)
    assert f"{seven_hundred:.2f}" == values["table_latitude_700"]
    assert f"{twenty_five:.2f}" == values["table_latitude_25"]
    assert f"{seven_hundred + twenty_five:.2f}" == values["table_latitude"]


@pytest.mark.parametrize(("unit", "step"), [("degrees", 1), ("mils", 20), ("gon", 1)])
def test_the_printed_table_holds_every_row(unit, step):
    told = words(printed(unit=unit))
    half, full = CIRCLE[unit] // 2, CIRCLE[unit]
    for row in range(0, full // 4 + 1, step):
        angle = 2 * math.pi * row / full
        start = re.search(rf"(?<!\S){row} {half - row} {half + row} {(full - row) % full} \S+ N ", told)
        cells = told[start.end() :].split()[:19]
        assert cells[9] == "E"
        norths, easts = ([float(cell) for cell in side] for side in (cells[:9], cells[10:]))
        for units, north, east in zip(range(1, 10), norths, easts, strict=True):
            assert abs(north - units * math.cos(angle)) <= 0.0005 + 1e-9
            assert abs(east - units * math.sin(angle)) <= 0.0005 + 1e-9


@pytest.mark.parametrize("name", ["a4", "letter", "a5"])
@pytest.mark.parametrize("unit", CIRCLE)
def test_the_pages_are_evenly_filled(name, unit):
    document = opened(printed(name, unit))
    rows = []
    for page in list(document)[1:-1]:
        placed = [word for word in page.get_text("words") if word[4] == "N"]
        assert [word[1] for word in placed] == sorted(word[1] for word in placed)
        rows.append(len(placed))
        # The last row ends in the lowest sixth of the page, above the foot.
        assert 0.83 < max(word[3] for word in placed) / page.rect.height < 0.97
    assert sum(rows) == CIRCLE[unit] // 4 // {"degrees": 1, "mils": 20, "gon": 1}[unit] + 1
    assert max(rows) - min(rows) <= len(rows) - 1


@pytest.mark.parametrize("name", ["a4", "letter", "a5"])
@pytest.mark.parametrize("unit", CIRCLE)
def test_no_line_of_the_table_touches_the_next(name, unit):
    for page in list(opened(printed(name, unit)))[1:-1]:
        lines = sorted({round(word[3], 1) for word in page.get_text("words") if word[4] in ("N", "E")})
        (size,) = {
            round(span["size"], 1)
            for block in page.get_text("dict")["blocks"]
            for line in block.get("lines", ())
            for span in line["spans"]
            if re.match(r"N\W+\d", span["text"])
        }
        assert min(b - a for a, b in itertools.pairwise(lines)) >= 0.95 * size
        edge = page.rect.width - PAPERS[name].margin_mm / MM_PER_PT
        assert max(word[2] for word in page.get_text("words")) < edge


@pytest.mark.parametrize("name", ["a4", "letter", "a5"])
@pytest.mark.parametrize("unit", CIRCLE)
def test_every_part_stands_between_the_rules_of_its_column(name, unit):
    made = printed(name, unit)
    upright = [s for s in strokes_mm(made, 1) if abs(s[0] - s[2]) < 1e-6 and abs(s[1] - s[3]) > 100]
    at = sorted({round(s[0], 2) for s in upright})
    assert len(at) >= 9
    parts = [word for word in opened(made)[1].get_text("words") if re.fullmatch(r"\d\.\d{3}", word[4])]
    assert len(parts) > 100
    for word in parts:
        left, right = MM_PER_PT * word[0], MM_PER_PT * word[2]
        assert not any(left < x < right for x in at)


@pytest.mark.parametrize("name", ["pocket", "pocket-letter"])
def test_the_table_of_a_card_gives_the_parts_of_one(name):
    told = words(printed(name))
    for azimuth in range(91):
        angle = math.radians(azimuth)
        four = f"{azimuth} {180 - azimuth} {180 + azimuth} {(360 - azimuth) % 360}"
        assert f"{four} {math.cos(angle):.4f} {math.sin(angle):.4f}" in told


@pytest.mark.parametrize("azimuth", [0, 15, 90, 133, 180, 200, 270, 359])
def test_a_worked_leg_has_the_signs_of_its_quarter(azimuth):
    leg = worked_leg(azimuth, 1000)
    assert float(leg.north) == pytest.approx(1000 * math.cos(math.radians(azimuth)), abs=0.5)
    assert float(leg.east) == pytest.approx(1000 * math.sin(math.radians(azimuth)), abs=0.5)


@pytest.mark.parametrize(("unit", "step"), [("degrees", 1), ("mils", 20), ("gon", 1)])
@pytest.mark.parametrize("seed", range(5))
def test_a_log_worked_with_the_table_agrees_with_the_program(unit, step, seed):
    """Within the table's rounding: half a unit of its last digit for every digit of every count."""
    chance = random.Random(seed)
    rows = [(step * chance.randrange(CIRCLE[unit] // step), chance.randrange(1, 2000)) for _ in range(20)]
    log = log_of(*rows, azimuth=f"magnetic {unit}")
    worked, place = worked_way(log), reckon(log).place
    bound = sum((table_bound(count) for _, count in rows), Decimal(0)) + Decimal("0.05")
    assert abs(worked.north - Decimal(place[-1][1])) <= bound
    assert abs(worked.east - Decimal(place[-1][0])) <= bound


@pytest.mark.parametrize("seed", range(20))
def test_the_way_back_by_pencil_is_that_of_the_program(seed):
    """To the nearest row of the table, half a degree and a little, and to a part in two hundred."""
    chance = random.Random(seed)
    rows = [(chance.randrange(360), chance.randrange(50, 900)) for _ in range(6)]
    log = log_of(*rows)
    worked, way = worked_way(log), way_back(log)
    assert abs((worked.back_azimuth - way.azimuth_deg + 180) % 360 - 180) <= 0.75 + 40 / way.distance
    assert float(worked.back_distance) == pytest.approx(way.distance, rel=0.002, abs=1.5)


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_the_example_on_the_page_is_the_log_of_the_page(name):
    told, way = words(printed(name)), way_back(WALK)
    is_card = name.startswith("pocket")
    assert is_card or ("228.1" in told and "318.5" in told)
    assert f"= {way.count} paces." in told
    assert f"the row of {way.azimuth_deg:.0f};" in told
    # A card prints the parts of one, to be multiplied; a page those of every digit, to be added.
    by_one = "Leg 1, 305: north 240 x 0.5736 = +137.7; east 240 x 0.8192 = -196.6."
    by_digits = "Leg 1, 305: north 1.147 x 100 + 2.294 x 10 = +137.6; east 1.638 x 100 + 3.277 x 10 = -196.6."
    assert (by_one if is_card else by_digits) in told
    assert ("Multiply the count" if is_card else "Take the count apart") in told
    assert ("Take the count apart" in told) != is_card


def test_a_long_log_says_how_many_legs_are_not_shown():
    told = words(printed(log=log_of(*((10, 100),) * 300)))
    assert "more legs: 288" in told


def test_a_log_that_ends_where_it_began_is_refused():
    with pytest.raises(ValueComplaint, match="ends where it began"):
        printed(log=log_of((0, 100), (180, 100)))


def test_a_table_in_another_unit_than_the_log_leaves_the_example_out():
    assert "Worked" not in words(printed(unit="mils"))


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_a_log_of_many_legs_fits_every_paper(name):
    log = log_of(*(((37 * i) % 360, 187 + i) for i in range(120)))
    assert "more legs" in words(printed(name, log=log))


BRUSHY = Walker(per_100_m=62.5, classes=(PaceClass("brush", None, None, 80.0, 0.1),))


@pytest.mark.parametrize("count", ["paces", "steps"])
def test_the_working_knows_ground_and_steps(count):
    """80 in brush are 62.5 on ordinary ground; two steps are a pace: the sum is that of `reckon`."""
    log = log_of((90, 400, "[ground brush]"), (0, 300), count=count)
    worked, place = worked_way(log, BRUSHY), reckon(log, BRUSHY).place
    assert float(worked.east) == pytest.approx(place[-1][0], abs=0.55)
    assert float(worked.north) == pytest.approx(place[-1][1], abs=0.55)
    told = words(typeset([traverse_sheet(open_estimate(log, BRUSHY), PAPERS["a4"])], PAPERS["a4"]))
    assert "first brought to paces on ordinary ground" in told
    assert f"90 400 {worked.legs[0].count} " in told
    assert "first brought" not in words(printed())


def test_the_sheet_says_how_far_its_sum_is_from_every_other_answer():
    """A square of which the last leg is 60 too long, met again at its start, and a leg beyond."""
    log = log_of((0, 600), (90, 600), (180, 600), (270, 640, "[at Gate]"), (0, 300))
    told, way = words(printed(log=log)), way_back(log)
    assert "The legs as written end 40 paces from where every other answer has" in told
    assert f"gives the way back as {way.azimuth_deg:.0f} deg, {way.count} paces: walk by that." in told
    assert "The legs as written end where every other answer has the end." in words(printed())
