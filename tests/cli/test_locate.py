"""pacewright locate, as a caller sees it: keys, files, complaints."""

from __future__ import annotations

import json

import numpy as np
import pytest

from support.command import run
from support.made_land_walks import hilly_land, walk_on
from support.pdf_pages import words

rasterio = pytest.importorskip("rasterio")

LAND = hilly_land(140, 0.16, seed=4)
WALK = walk_on(LAND, 9, {"trend", "side", "lie"}, seed=21)
WEST, NORTH = 500_000.0, 4_000_000.0


def write(path, heights, crs="EPSG:32616", transform=None, nodata=None):
    from rasterio.transform import from_origin

    rows, columns = heights.shape
    transform = transform or from_origin(WEST, NORTH, LAND.cell_m, LAND.cell_m)
    profile = {
        "driver": "GTiff",
        "width": columns,
        "height": rows,
        "count": 1,
        "dtype": "float32",
        "nodata": nodata,
    }
    with rasterio.open(path, "w", crs=crs, transform=transform, **profile) as made:
        made.write(heights.astype("float32"), 1)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("land")
    write(made / "land.tif", LAND.height_m)
    (made / "walk.csv").write_text(WALK.text, encoding="utf-8")
    return made


@pytest.fixture(scope="module")
def told(folder):
    said = run("locate", folder / "walk.csv", "--terrain", folder / "land.tif", "--json",
               "--posterior", folder / "belief.tif", "--out", folder / "places.geojson")  # fmt: skip
    assert said.err == ""
    return said


def test_the_keys_are_there_and_the_place_is_found(told):
    keys = told.json
    assert {"candidates", "region_km2", "holds", "can_tell", "advice", "grid_epsg"} <= keys.keys()
    assert keys["grid_epsg"] == 32616
    best = keys["candidates"][0]
    truth = WALK.stations_m + np.array([WEST, NORTH])
    assert np.hypot(best["now"]["east"] - truth[-1, 0], best["now"]["north"] - truth[-1, 1]) < 150.0
    assert np.hypot(best["start"]["east"] - truth[0, 0], best["start"]["north"] - truth[0, 1]) < 200.0
    assert 0.0 < best["probability"] <= 1.0
    assert np.linalg.eigvalsh(best["covariance"]).min() > 0
    assert 0.95 <= keys["holds"] <= 1.0
    assert told.code == (0 if keys["can_tell"] else 1)


def test_places_on_the_earth_are_those_of_the_grid(told):
    from pyproj import Transformer

    now = told.json["candidates"][0]["now"]
    east, north = Transformer.from_crs("EPSG:4326", "EPSG:32616", always_xy=True).transform(
        now["lon"], now["lat"]
    )
    assert (east, north) == (pytest.approx(now["east"], abs=0.01), pytest.approx(now["north"], abs=0.01))


def test_the_belief_is_on_the_terrain_s_own_cells_and_sums_to_one(told, folder):
    with rasterio.open(folder / "land.tif") as land, rasterio.open(folder / "belief.tif") as belief:
        assert (belief.width, belief.height, belief.transform) == (land.width, land.height, land.transform)
        assert belief.crs == land.crs
        bands = belief.read()
    assert bands.sum(axis=(1, 2)) == pytest.approx([1.0, 1.0], abs=1e-4)
    row, column = (int(k) for k in np.unravel_index(bands[1].argmax(), bands[1].shape))
    best = told.json["candidates"][0]["now"]
    east, north = WEST + (column + 0.5) * 30.0, NORTH - (row + 0.5) * 30.0
    assert np.hypot(east - best["east"], north - best["north"]) < 120.0


def test_places_and_figures_go_out_as_geojson(told, folder):
    held = json.loads((folder / "places.geojson").read_text(encoding="utf-8"))
    kinds = {one["properties"]["what"] for one in held["features"]}
    assert kinds == {"now", "start", "figure"}


def test_the_answer_comes_first_and_the_caution_last(folder):
    lines = run("locate", folder / "walk.csv", "--terrain", folder / "land.tif").out.splitlines()
    assert lines[0].startswith(("You are most likely at 16S", "Can't tell"))
    sentences = lines[: lines.index("")]
    assert sentences[-1].startswith("Caution: a place found so is a guess")


def test_the_same_land_in_degrees_gives_the_same_place(told, folder):
    from rasterio.warp import Resampling, calculate_default_transform, reproject

    with rasterio.open(folder / "land.tif") as land:
        new, wide, high = calculate_default_transform(
            land.crs, "EPSG:4326", land.width, land.height, *land.bounds
        )
        made = np.full((high, wide), -9999.0, dtype=np.float32)
        reproject(rasterio.band(land, 1), made, dst_transform=new, dst_crs="EPSG:4326", dst_nodata=-9999.0,
                  resampling=Resampling.bilinear)  # fmt: skip
    write(folder / "degrees.tif", made, "EPSG:4326", new, -9999.0)
    said = run("locate", folder / "walk.csv", "--terrain", folder / "degrees.tif", "--json",
               "--posterior", folder / "degrees_belief.tif")  # fmt: skip
    keys = said.json
    first, second = told.json["candidates"][0]["now"], keys["candidates"][0]["now"]
    assert keys["grid_epsg"] == 32616
    assert np.hypot(first["east"] - second["east"], first["north"] - second["north"]) < 60.0
    with rasterio.open(folder / "degrees_belief.tif") as belief:
        assert belief.crs.to_epsg() == 4326 and (belief.width, belief.height) == (wide, high)
        assert belief.read().sum(axis=(1, 2)) == pytest.approx([1.0, 1.0], abs=1e-4)


def test_land_in_degrees_on_both_sides_of_a_zone_s_edge_is_one_land(tmp_path):
    """Zones 16 and 17 meet at 84 degrees west; the land lies astride, in the zone of its middle."""
    from pyproj import Transformer
    from rasterio.transform import from_origin
    from rasterio.warp import Resampling, calculate_default_transform, reproject

    high = LAND.height_m.shape[0] * LAND.cell_m
    east, north = Transformer.from_crs("EPSG:4326", "EPSG:32616", always_xy=True).transform(-84.0, 36.0)
    west, top = east - high / 2.0, north + high / 2.0
    on_grid = from_origin(west, top, LAND.cell_m, LAND.cell_m)
    rows, columns = LAND.height_m.shape
    bounds = (west, top - high, west + high, top)
    new, wide, tall = calculate_default_transform("EPSG:32616", "EPSG:4326", columns, rows, *bounds)
    made = np.full((tall, wide), -9999.0, dtype=np.float32)
    reproject(LAND.height_m, made, src_transform=on_grid, src_crs="EPSG:32616", dst_transform=new,
              dst_crs="EPSG:4326", dst_nodata=-9999.0, resampling=Resampling.bilinear)  # fmt: skip
    write(tmp_path / "astride.tif", made, "EPSG:4326", new, -9999.0)
    assert new.c < -84.0 < new.c + wide * new.a
    (tmp_path / "walk.csv").write_text(WALK.text, encoding="utf-8")
    keys = run("locate", tmp_path / "walk.csv", "--terrain", tmp_path / "astride.tif", "--json").json
    assert keys["grid_epsg"] in (32616, 32617)
    truth = WALK.stations_m[-1] + np.array([west, top])
    now = keys["candidates"][0]["now"]
    found = Transformer.from_crs("EPSG:4326", "EPSG:32616", always_xy=True).transform(now["lon"], now["lat"])
    # The azimuths are taken by the grid that was chosen, whose north may lie 3.5 degrees off that of zone 16.
    assert np.hypot(*(found - truth)) < 200.0


def test_an_area_that_excludes_the_place_excludes_it(folder, told):
    now = told.json["candidates"][0]["start"]
    said = run("locate", folder / "walk.csv", "--terrain", folder / "land.tif", "--json",
               "--near", f"{now['lat']:.5f} {now['lon']:.5f}", "--within-km", "0.6")  # fmt: skip
    found = said.json["candidates"][0]["start"]
    assert np.hypot(found["east"] - now["east"], found["north"] - now["north"]) < 600.0
    corners = [
        [now["lon"] + dx, now["lat"] + dy]
        for dx, dy in ((-0.01, -0.01), (0.01, -0.01), (0.01, 0.01), (-0.01, 0.01))
    ]
    area = {"type": "Polygon", "coordinates": [[*corners, corners[0]]]}
    (folder / "not.geojson").write_text(json.dumps(area), encoding="utf-8")
    said = run("locate", folder / "walk.csv", "--terrain", folder / "land.tif", "--json", "--not-in",
               folder / "not.geojson")  # fmt: skip
    for one in said.json["candidates"]:
        assert np.hypot(one["start"]["east"] - now["east"], one["start"]["north"] - now["north"]) > 600.0


def test_remarks_from_other_land_are_said_to_disagree(folder, tmp_path):
    plane = np.add.outer(np.arange(140) * 6.0, np.arange(140) * 0.0) + 300.0
    write(tmp_path / "plane.tif", plane)
    said = run("locate", folder / "walk.csv", "--terrain", tmp_path / "plane.tif")
    assert said.code == 1
    assert said.out.startswith("Log and map disagree")


def test_a_log_without_remarks_is_refused_with_what_to_write(folder, tmp_path):
    (tmp_path / "bare.csv").write_text(
        "# azimuth: grid degrees\nazimuth,count,notes\n40,100,\n", encoding="utf-8"
    )
    said = run("locate", tmp_path / "bare.csv", "--terrain", folder / "land.tif")
    assert said.code == 2
    assert (
        "this log says nothing of the ground, so that it would fit anywhere. Write what you saw" in said.err
    )


def test_within_goes_with_near(folder):
    said = run("locate", folder / "walk.csv", "--terrain", folder / "land.tif", "--within-km", "3")
    assert said.code == 2 and "--within-km goes with --near" in said.err


def test_the_place_is_drawn_on_the_map_to_scale(folder):
    said = run("locate", folder / "walk.csv", "--terrain", folder / "land.tif", "--draw",
               folder / "place.svg", "--scale", "25000", "--keep", folder / "kept")  # fmt: skip
    assert said.err == ""
    drawn = (folder / "place.svg").read_text(encoding="utf-8")
    assert (
        "1:25 000" in drawn and "start?" in drawn and "a place found so is a guess" in " ".join(drawn.split())
    )
    assert list((folder / "kept").glob("*.npz"))
    again = run("locate", folder / "walk.csv", "--terrain", folder / "land.tif", "--keep", folder / "kept")
    assert again.out == said.out


def test_the_likely_places_are_printed_each_with_its_map(folder, told):
    asked = ("locate", folder / "walk.csv", "--terrain", folder / "land.tif", "--sheet")
    said = run(*asked, folder / "where.pdf")
    assert said.err == ""
    printed = words((folder / "where.pdf").read_bytes())
    best = told.json["candidates"][0]
    assert best["now"]["mgrs"].replace(" ", "")[:5] in printed.replace(" ", "")
    assert "a place found so is a guess" in printed and "start?" in printed and "Place 1" in printed
    card = run(*asked, folder / "card.pdf", "--paper", "pocket")
    assert card.code == 2 and "has no room on a card" in card.err


def test_cells_that_are_wider_than_high_give_the_same_place(folder, told, tmp_path):
    """Rasters of satellites are posted closer one way than the other; the land stays the same."""
    from rasterio.transform import from_origin
    from scipy import ndimage

    rows, columns = LAND.height_m.shape
    wide, high = 18.0, 24.0
    down = (np.arange(int(rows * LAND.cell_m / high)) + 0.5) * high / LAND.cell_m - 0.5
    across = (np.arange(int(columns * LAND.cell_m / wide)) + 0.5) * wide / LAND.cell_m - 0.5
    at = np.meshgrid(down, across, indexing="ij")
    heights = ndimage.map_coordinates(LAND.height_m, at, order=1, mode="nearest")
    write(tmp_path / "oblong.tif", heights, transform=from_origin(WEST, NORTH, wide, high))
    keys = run("locate", folder / "walk.csv", "--terrain", tmp_path / "oblong.tif", "--json",
               "--posterior", tmp_path / "oblong_belief.tif").json  # fmt: skip
    now, before = keys["candidates"][0]["now"], told.json["candidates"][0]["now"]
    assert np.hypot(now["east"] - before["east"], now["north"] - before["north"]) < 60.0
    with rasterio.open(tmp_path / "oblong_belief.tif") as belief:
        assert belief.shape == heights.shape and belief.res == (wide, high)
        assert belief.read(2).sum() == pytest.approx(1.0, abs=1e-3)


def test_a_virtual_raster_of_two_resolutions_is_refused_with_what_to_do(folder, tmp_path):
    """One file is one land: what names other files is read by nobody here."""
    (tmp_path / "both.vrt").write_text(
        '<VRTDataset rasterXSize="2" rasterYSize="1"><VRTRasterBand dataType="Float32" band="1">'
        f"<SimpleSource><SourceFilename>{folder / 'land.tif'}</SourceFilename></SimpleSource>"
        "</VRTRasterBand></VRTDataset>",
        encoding="utf-8",
    )
    said = run("locate", folder / "walk.csv", "--terrain", tmp_path / "both.vrt")
    assert said.code == 2 and "Traceback" not in said.err
    assert "both.vrt" in said.err and "Give heights as GeoTIFF" in said.err
