"""Rasters of every kind become terrain in true metres, or one clear sentence."""

from __future__ import annotations

import builtins
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pyproj
import pytest

rasterio = pytest.importorskip("rasterio")

from rasterio.shutil import copy  # noqa: E402
from rasterio.transform import Affine, from_origin  # noqa: E402

from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, ValueComplaint  # noqa: E402
from pacewright.files import elevation  # noqa: E402
from pacewright.files.elevation import demo_ground, read_terrain  # noqa: E402
from pacewright.files.elevation_grid import at  # noqa: E402
from pacewright.ground.terrain import height_at  # noqa: E402

HILL = 500 + 100 * np.exp(-(np.add.outer((np.arange(60) - 30.0) ** 2, (np.arange(80) - 40.0) ** 2) / 300))


def write(path, heights=HILL, crs="EPSG:32611", transform=None, unit=None, **settings):
    heights = np.atleast_3d(np.asarray(heights).T).T
    settings = {"dtype": "float32", "driver": "GTiff"} | settings
    place = from_origin(300_000, 4_100_000, 30, 30) if transform is None else transform
    count, height, width = heights.shape
    with rasterio.open(
        path, "w", height=height, width=width, count=count, crs=crs, transform=place, **settings
    ) as file:
        file.write(heights.astype(settings["dtype"]))
        if unit:
            file.units = [unit] * count
    return str(path)


def refused(path, kind, **more):
    with pytest.raises(kind) as complaint:
        read_terrain(path, **more)
    assert complaint.value.where.file == path
    return str(complaint.value)


def test_a_grid_in_metres_comes_in_as_it_is(tmp_path):
    terrain = read_terrain(write(tmp_path / "hill.tif"))
    assert terrain.elevation_m == pytest.approx(HILL, abs=1e-3)
    assert terrain.bounds == (300_000, 4_100_000 - 1800, 300_000 + 2400, 4_100_000)
    assert (terrain.crs, terrain.remarks) == ("EPSG:32611", ())


@pytest.mark.parametrize(
    "settings",
    [
        {"driver": "AAIGrid"},
        {"compress": "deflate", "tiled": True, "blockxsize": 16, "blockysize": 16, "predictor": 3},
        {"dtype": "int16", "nodata": -32768},
    ],
)
def test_other_formats_and_ways_of_storing_hold_the_same_land(tmp_path, settings):
    heights = np.round(HILL - 480)
    path = tmp_path / "hill.any"
    if settings.get("driver") == "AAIGrid":
        copy(write(tmp_path / "as.tif", heights), str(path), driver="AAIGrid")
    else:
        write(path, heights, **settings)
    assert read_terrain(str(path)).elevation_m == pytest.approx(heights, abs=1e-3)


def test_no_data_is_a_hole(tmp_path):
    heights = HILL.copy()
    heights[10:20, 10:20] = -9999
    terrain = read_terrain(write(tmp_path / "hole.tif", heights, nodata=-9999))
    assert np.isnan(terrain.elevation_m[10:20, 10:20]).all()
    assert np.isnan(terrain.elevation_m).sum() == 100
    assert terrain.remarks == ()


def test_no_data_that_the_file_does_not_declare_is_a_hole_too_and_that_is_said(tmp_path):
    heights = HILL.copy()
    heights[3, 4] = -9999
    heights[5, 6] = 3e38
    terrain = read_terrain(write(tmp_path / "odd.tif", heights))
    assert np.isnan(terrain.elevation_m[[3, 5], [4, 6]]).all()
    assert terrain.remarks == (
        "2 heights below -500 m or above 9000 m cannot be land and were taken as holes.",
    )


def test_nothing_but_holes_is_refused(tmp_path):
    said = refused(write(tmp_path / "none.tif", np.full((9, 9), -9999), nodata=-9999), MissingComplaint)
    assert "no height is known in this piece of land" in said


def test_degrees_are_put_on_the_utm_zone_of_their_middle_and_that_is_said(tmp_path):
    place = from_origin(-119.3, 37.45, 1 / 3600, 1 / 3600)
    terrain = read_terrain(write(tmp_path / "degrees.tif", crs="EPSG:4326", transform=place))
    assert terrain.crs == "EPSG:32611"
    assert terrain.remarks == (
        "This raster was in degrees (EPSG:4326); it was put on the UTM grid EPSG:32611 of its middle.",
    )
    # The top of the hill, the middle of cell (30, 40), lies where PROJ says.
    to_grid = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:32611", always_xy=True)
    east, north = to_grid.transform(-119.3 + 40.5 / 3600, 37.45 - 30.5 / 3600)
    assert float(height_at(terrain, east, north)) == pytest.approx(600, abs=0.5)
    assert np.nanmax(terrain.elevation_m) == pytest.approx(600, abs=0.5)
    assert 20 < terrain.cell_east_m < 32


def test_a_southern_file_in_degrees_gets_a_southern_zone(tmp_path):
    place = from_origin(175.3, -37.45, 1 / 3600, 1 / 3600)
    terrain = read_terrain(write(tmp_path / "south.tif", crs="EPSG:4326", transform=place))
    assert terrain.crs == "EPSG:32760"


def test_a_projection_that_stretches_is_put_on_utm_and_the_stretch_is_said(tmp_path):
    # Web Mercator's metres are 1/cos(latitude) too long: 0.79 m on the ground at 37.5 degrees.
    to_web = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:3857", always_xy=True)
    x, y = to_web.transform(-119.3, 37.5)
    terrain = read_terrain(write(tmp_path / "web.tif", crs="EPSG:3857", transform=from_origin(x, y, 30, 30)))
    assert terrain.crs == "EPSG:32611"
    assert "A unit on the grid of this raster is 0.79 m on the ground (EPSG:3857)" in terrain.remarks[0]
    assert terrain.cell_east_m == pytest.approx(30 * math.cos(math.radians(37.5)), rel=0.01)
    west, _, east, _ = terrain.bounds
    assert east - west == pytest.approx(80 * 30 * math.cos(math.radians(37.5)), rel=0.05)


def test_a_grid_in_feet_is_put_on_metres(tmp_path):
    # EPSG:2227: California zone 3, US survey feet (1200/3937 m).
    to_feet = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:2227", always_xy=True)
    x, y = to_feet.transform(-119.5, 37.5)
    terrain = read_terrain(
        write(tmp_path / "feet.tif", crs="EPSG:2227", transform=from_origin(x, y, 100, 100))
    )
    assert "is 0.30 m on the ground" in terrain.remarks[0]
    assert terrain.cell_east_m == pytest.approx(100 * 1200 / 3937, rel=0.01)


def test_turned_rows_and_rows_from_south_to_north_are_set_right(tmp_path):
    cosine, sine = 30 * math.cos(0.35), 30 * math.sin(0.35)
    turned = Affine(cosine, sine, 300_000, sine, -cosine, 4_100_000)
    flipped = Affine(30, 0, 300_000, 0, 30, 4_098_200)
    for name, place in (("turned", turned), ("flipped", flipped)):
        terrain = read_terrain(write(tmp_path / f"{name}.tif", transform=place))
        assert "rows of this raster do not run east" in terrain.remarks[0]
        assert float(height_at(terrain, *at(place, 40.5, 30.5))) == pytest.approx(600, abs=1)


@pytest.mark.parametrize(
    ("unit", "metres"), [("ft", 0.3048), ("US survey foot", 1200 / 3937), ("metre", 1.0)]
)
def test_heights_in_feet_become_metres_and_that_is_said(tmp_path, unit, metres):
    terrain = read_terrain(write(tmp_path / "feet.tif", unit=unit))
    assert terrain.elevation_m == pytest.approx(HILL * metres, rel=1e-6)
    assert terrain.remarks == (() if metres == 1 else (f"Heights were in {unit} and are now in metres.",))


def test_feet_that_only_the_coordinate_system_states_are_seen(tmp_path):
    # EPSG:6360: NAVD88 height in US survey feet.
    terrain = read_terrain(write(tmp_path / "compound.tif", crs="EPSG:32611+6360"))
    assert terrain.elevation_m == pytest.approx(HILL * 1200 / 3937, rel=1e-6)


def test_an_unknown_unit_is_refused(tmp_path):
    assert "'furlong'" in refused(write(tmp_path / "odd.tif", unit="furlong"), ValueComplaint)


def test_scale_and_offset_of_a_band_are_applied(tmp_path):
    path = write(tmp_path / "scaled.tif", np.round((HILL - 100) * 10), dtype="int16")
    with rasterio.open(path, "r+") as file:
        file.scales, file.offsets = [0.1], [100.0]
    assert read_terrain(path).elevation_m == pytest.approx(HILL, abs=0.06)


def test_a_raster_without_a_coordinate_system_is_refused(tmp_path):
    said = refused(write(tmp_path / "nowhere.tif", crs=None), MissingComplaint)
    assert "no coordinate reference system" in said
    assert "such as EPSG:32611" in said


@pytest.mark.filterwarnings("ignore")
def test_a_raster_whose_cells_have_no_place_is_refused(tmp_path):
    assert "cells have no place" in refused(
        write(tmp_path / "plain.tif", transform=Affine.identity()), MissingComplaint
    )


def test_a_picture_is_not_taken_for_heights(tmp_path):
    path = write(tmp_path / "photo.tif", np.stack([HILL % 255] * 3), dtype="uint8", photometric="RGB")
    assert "is a picture or holds 3 bands" in refused(path, FormatComplaint)


def test_degrees_too_wide_for_one_zone_are_refused(tmp_path):
    path = write(tmp_path / "wide.tif", crs="EPSG:4326", transform=from_origin(0, 60, 1, 1))
    assert "80 degrees wide" in refused(path, ValueComplaint)


def test_degrees_at_a_pole_are_refused(tmp_path):
    path = write(tmp_path / "pole.tif", crs="EPSG:4326", transform=from_origin(10, 90, 0.01, 0.01))
    assert "80 degrees south and 84 north" in refused(path, ValueComplaint)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("empty.tif", b""),
        ("words.tif", b"height,12\n"),
        ("list.vrt", b'<VRTDataset rasterXSize="9" rasterYSize="9"></VRTDataset>'),
        ("wms.xml", b"<GDAL_WMS><Service name='TMS'></Service></GDAL_WMS>"),
        ("half.tif", b"II*\x00\x08\x00\x00\x00"),
    ],
)
def test_what_is_no_raster_is_refused(tmp_path, name, content):
    path = tmp_path / name
    path.write_bytes(content)
    refused(str(path), FormatComplaint)


def test_a_file_that_is_not_there_and_a_folder_are_refused(tmp_path):
    assert "cannot be read" in refused(str(tmp_path / "none.tif"), FormatComplaint)
    assert "cannot be read" in refused(str(tmp_path), FormatComplaint)


@pytest.mark.parametrize("compress", ["none", "deflate"])
def test_a_truncated_file_is_refused_wherever_it_was_cut(tmp_path, compress):
    chance = np.random.default_rng(3)
    whole = Path(
        write(tmp_path / "whole.tif", HILL + chance.normal(size=HILL.shape), compress=compress)
    ).read_bytes()
    for share in np.linspace(0.02, 0.98, 25):
        cut = tmp_path / "cut.tif"
        cut.write_bytes(whole[: int(share * len(whole))])
        said = refused(str(cut), Complaint)
        assert "cut short" in said or "coordinate" in said


def test_a_piece_of_a_file_is_read_alone(tmp_path):
    path = write(tmp_path / "hill.tif")
    terrain = read_terrain(path, (300_600, 4_099_000, 301_200, 4_099_500))
    assert terrain.bounds == (300_600, 4_098_980, 301_200, 4_099_520)
    whole = read_terrain(path)
    at = (np.array([300_700.0, 301_111.0]), np.array([4_099_100.0, 4_099_333.0]))
    assert height_at(terrain, *at) == pytest.approx(height_at(whole, *at))


def test_a_piece_of_a_file_in_degrees_is_asked_for_in_metres(tmp_path):
    place = from_origin(-119.3, 37.45, 1 / 3600, 1 / 3600)
    path = write(tmp_path / "degrees.tif", crs="EPSG:4326", transform=place)
    whole = read_terrain(path)
    west, south, east, north = whole.bounds
    bounds = (west + 600, south + 600, east - 600, north - 600)
    piece = read_terrain(path, bounds)
    at = np.array([west + 900.0, west + 1000.0]), np.array([south + 800.0, south + 900.0])
    assert height_at(piece, *at) == pytest.approx(height_at(whole, *at), abs=0.5)
    assert piece.elevation_m.size < whole.elevation_m.size


def test_land_that_the_file_does_not_reach_is_refused(tmp_path):
    assert "does not reach" in refused(
        write(tmp_path / "hill.tif"), MissingComplaint, bounds=(0, 0, 500, 500)
    )


def test_a_large_file_is_read_in_coarser_cells_and_that_is_said(tmp_path):
    path = write(tmp_path / "hill.tif")
    terrain = read_terrain(path, most_cells=1300)
    assert terrain.elevation_m.shape == (30, 40)
    assert terrain.cell_east_m == 60
    assert terrain.elevation_m[0, 0] == pytest.approx(HILL[:2, :2].mean(), abs=1e-3)
    assert "a mean over 2 by 2 of its cells" in terrain.remarks[0]


def test_an_undeclared_hole_does_not_spoil_a_mean(tmp_path):
    heights = np.full((60, 80), 300.0)
    heights[0, 0] = -9999
    assert np.nanmin(read_terrain(write(tmp_path / "odd.tif", heights), most_cells=1300).elevation_m) == 300


def test_a_file_of_a_million_million_cells_is_refused_without_reading_it(tmp_path):
    path = tmp_path / "vast.tif"
    with rasterio.open(
        path, "w", driver="GTiff", height=10**6, width=10**6, count=1, dtype="uint8", crs="EPSG:32611",
        transform=from_origin(300_000, 4_100_000, 1, 1), SPARSE_OK=True, tiled=True, blockxsize=4096,
        blockysize=4096, BIGTIFF="YES",
    ):  # fmt: skip
        pass
    assert "more than can be read in one go" in refused(str(path), ValueComplaint)


def test_a_file_stored_in_one_vast_piece_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(elevation, "_MOST_BLOCK_BYTES", 1000)
    path = write(tmp_path / "strip.tif", blockysize=60)
    assert "stored in pieces too large" in refused(path, ValueComplaint)


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the peak is told by Linux alone")
def test_a_hundred_million_cells_are_read_in_bounded_memory(tmp_path):
    path = tmp_path / "large.tif"
    with rasterio.open(
        path, "w", driver="GTiff", height=10_000, width=10_000, count=1, dtype="int16", crs="EPSG:32611",
        transform=from_origin(300_000, 4_100_000, 1, 1), SPARSE_OK=True, tiled=True, compress="deflate",
    ) as file:  # fmt: skip
        file.write(np.full((512, 512), 7, dtype=np.int16), 1, window=rasterio.windows.Window(0, 0, 512, 512))
    # In a process of its own, so that only this reading counts; read whole it would be 800 MB of doubles.
    # Not ru_maxrss: a process begun by a large one inherits the peak of that one.
    told = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys; from pacewright.files.elevation import read_terrain\n"
            "t = read_terrain(sys.argv[1], most_cells=4_000_000)\n"
            "(peak,) = (line for line in open('/proc/self/status') if line.startswith('VmHWM'))\n"
            "print(t.cell_east_m, int(peak.split()[1]) // 1024)",
            str(path),
        ],
        capture_output=True,
        encoding="utf-8",
        check=True,
    ).stdout.split()
    assert float(told[0]) == 5.0
    assert int(told[1]) < 500


def test_without_the_raster_reader_the_way_to_install_it_is_said(tmp_path, monkeypatch):
    path = write(tmp_path / "hill.tif")
    whole_import = builtins.__import__

    def without(name, *rest, **more):
        if name.split(".")[0] == "rasterio":
            raise ImportError(name)
        return whole_import(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    assert 'pip install "pacewright[terrain]"' in refused(path, MissingComplaint)


def test_the_land_of_the_demo_is_what_its_note_says():
    terrain = demo_ground()
    assert terrain.elevation_m.shape == (467, 467)
    assert (terrain.elevation_m.min(), terrain.elevation_m.max()) == (991, 2403)
    assert (terrain.crs, terrain.cell_east_m, terrain.remarks) == ("EPSG:32611", 30.0, ())
    assert (round(terrain.west_m, 3), round(terrain.north_m, 3)) == (292061.394, 4148694.261)
    note = Path(elevation.__file__).parents[1] / "data" / "README.md"
    for fact in (
        "467 by 467",
        "292061.394",
        "4148694.261",
        "991 to 2403 m",
        "EPSG:32611",
        "CC0 1.0",
        "invented",
    ):
        assert fact in note.read_text(encoding="utf-8")
