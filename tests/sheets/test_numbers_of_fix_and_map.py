"""Every number on the fix worksheet and the map sheet of a log is the command's; none is left over."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from support.command import run
from support.numbered_page import LOGS, TIMES, Page, asked, write_log

SEEN = (("Tall mast", 38), ("Mill", 121), ("Tall mast", 350))
"""Things seen from the last station, as read."""
GATE = ("37.4521", "-119.2984", "--date", "2026-05-14")
CELL_M = 15


def write_land(path):
    """A made-up land of round hills about the walk, on the grid of UTM zone 11 (EPSG:32611)."""
    import rasterio

    down, right = np.mgrid[:400, :400]
    heights = (600 + 40 * np.sin(right / 23) + 30 * np.cos(down / 17)).astype("float32")
    placed = rasterio.Affine(CELL_M, 0, 294_000, 0, -CELL_M, 4_151_000)
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=400,
        height=400,
        count=1,
        dtype="float32",
        crs=32611,
        transform=placed,
    ) as file:
        file.write(heights, 1)
    return float(heights.min()), float(heights.max())


@pytest.fixture(params=LOGS)
def log(request, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_log(tmp_path, request.param)
    return request.param


def norths():
    return run("north", *GATE, "--json").json


@pytest.mark.parametrize("paper", ["a4", "pocket"])
def test_fix_worksheet(log, paper):
    with Path("log.csv").open("a", encoding="utf-8") as page:
        page.writelines(f"{azimuth},,[see {name}]\n" for name, azimuth in SEEN)
    sheet, to_grid_deg = Page("fix", paper), norths()["grid_magnetic_deg"]
    for name, azimuth in SEEN:
        on_grid = round(azimuth + to_grid_deg) % 360
        sheet.take(f"{name} {azimuth} {on_grid} {(on_grid + 180) % 360}")
    sheet.take(f"add {to_grid_deg:.1f} deg")
    sheet.take(norths()["grid"])
    sheet.take("less than 30 or more than 150 degrees")  # common practice
    sheet.foot()
    assert sheet.numbers() == []


def test_map_sheet(log):
    low_m, high_m = write_land("land.tif")
    legs, unit = LOGS[log]
    sheet, back, told = Page("map", more=("--terrain", "land.tif")), asked("back", "--json").json, norths()
    sheet.foot()
    sheet.way_back_told(unit)
    sheet.take(f"back {back['azimuth_deg']:.0f}°, {back['count'] * TIMES[unit]} {unit}")
    sheet.take(f"True north is {-told['convergence_deg']:.1f}° east of grid north")
    sheet.take(f"Magnetic north is {told['grid_magnetic_deg']:.1f}° east of grid north (2026-05-14)")
    sheet.take(f"A compass reads {told['grid_magnetic_deg']:.1f}° less than the grid azimuth")
    sheet.take("Grid EPSG:32611")
    sheet.take(f"cells of {CELL_M} m")
    sheet.take("holds its true place 95 times in 100")
    lines, crosses = map(int, sheet.take_pattern(r"lines (\d+) m, crosses (\d+) m apart").groups())
    assert lines % crosses == 0
    # A millimetre of a map at 1:N is N / 1000 metres.
    scale = int(sheet.take_pattern(r"1:([\d ]+\d)")[1].replace(" ", ""))
    sheet.take(f"1 mm is {scale / 1000:g} m")
    sheet.take_pattern(r"(?<!\d)0 [125]0* metres")
    contour, index = sheet.take_pattern(r"every (\d+) m index contour, (\d+) m").groups()
    assert int(index) % int(contour) == 0
    stations = asked("reckon", "--json").json["placed"]["stations"]
    for axis, name in (("E", "east_m"), ("N", "north_m")):
        at_m = [one["position"][name] for one in stations]
        while written := re.search(rf"(?<!\d)(\d? ?\d{{3}} \d{{3}}) {axis}", sheet.left):
            metres = int(written[1].replace(" ", ""))
            assert metres % lines == 0 and min(at_m) - 1000 < metres < max(at_m) + 1000
            sheet.take(written[0])
    # Stations without a name are numbered; a name met again has its number behind it.
    sheet.take("Gate (6)")
    for number, (*_, at, _) in enumerate(legs, start=1):
        if not at:
            sheet.take_pattern(rf"(?<=\s){number}(?= )")
    heights = {int(one) for one in sheet.numbers()}
    assert heights
    assert {one for one in heights if one % int(index) or not low_m <= one <= high_m} == set()
