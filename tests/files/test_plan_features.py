"""The user's own lines, points and areas for a plan: GeoJSON, GeoPackage, GPX; by RFC 7946 and GPX 1.1."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from pyproj import Transformer

from pacewright.exceptions import Complaint
from pacewright.files.plan_features import read_features
from pacewright.files.prior_area import AreaAsked, bounds_of

CRS = "EPSG:32611"
PLACES = [(299000.0, 4141000.0), (299500.0, 4141200.0), (299400.0, 4141900.0)]


def degrees(place: tuple[float, float]) -> list[float]:
    return list(Transformer.from_crs(CRS, "EPSG:4326", always_xy=True).transform(*place))


def feature(what: str, coordinates: object, /, **told: str) -> dict[str, object]:
    return {"type": "Feature", "properties": told, "geometry": {"type": what, "coordinates": coordinates}}


def written(folder: Path) -> Path:
    line = [degrees(place) for place in PLACES]
    held = [
        feature("LineString", line, kind="Wall", name="Long wall"),
        feature("MultiLineString", [line, line[:2]]),
        feature("Point", line[0], name="Split oak"),
        feature("Polygon", [[*line, line[0]]], kind="bog"),
    ]
    file = folder / "mine.geojson"
    file.write_text(json.dumps({"type": "FeatureCollection", "features": held}), encoding="utf-8")
    return file


def test_geojson_gives_lines_points_and_areas_to_keep_off(tmp_path: Path) -> None:
    read = read_features(str(written(tmp_path)), CRS)
    assert [(one.kind, one.name) for one in read.lines] == [
        ("wall", "Long wall"),
        ("track", ""),
        ("track", ""),
    ]
    np.testing.assert_allclose(read.lines[0].points_m, PLACES, atol=0.01)
    assert read.points[0].name == "Split oak"
    assert read.points[0].place_m == pytest.approx(PLACES[0], abs=0.01)
    assert read.barred[0][0] == "bog"


def test_a_geopackage_gives_the_same(tmp_path: Path) -> None:
    pyogrio = pytest.importorskip("pyogrio")
    from pyogrio.raw import read, write

    source = written(tmp_path)
    meta, _, shapes, columns = read(str(source))
    target = tmp_path / "mine.gpkg"
    lines = np.array([k for k, one in enumerate(shapes) if one[1] == 2])
    write(
        str(target), shapes[lines], [column[lines] for column in columns], meta["fields"],
        geometry_type="LineString", crs="EPSG:4326", driver="GPKG",
    )  # fmt: skip
    got = read_features(str(target), CRS)
    assert pyogrio.list_layers(str(target)).shape[0] == 1
    assert [(one.kind, one.name) for one in got.lines] == [("wall", "Long wall")]
    np.testing.assert_allclose(got.lines[0].points_m, PLACES, atol=0.01)


def test_gpx_gives_tracks_and_waypoints(tmp_path: Path) -> None:
    def at(name: str, place: tuple[float, float], inside: str = "") -> str:
        longitude, latitude = degrees(place)
        return f'<{name} lat="{latitude:.8f}" lon="{longitude:.8f}">{inside}</{name}>'

    points = "".join(at("trkpt", place) for place in PLACES)
    body = f"{at('wpt', PLACES[0], '<name>Heron post</name>')}<trk><trkseg>{points}</trkseg></trk>"
    file = tmp_path / "mine.gpx"
    file.write_text(
        f'<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1">{body}</gpx>', encoding="utf-8"
    )
    read = read_features(str(file), CRS)
    assert read.points[0].name == "Heron post"
    np.testing.assert_allclose(read.lines[0].points_m, PLACES, atol=0.01)


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("a.geojson", "{", "this is no GeoJSON"),
        ("a.geojson", '{"type": "FeatureCollection", "features": []}', "holds no lines, points or areas"),
        ("a.geojson", '{"type": "LineString", "coordinates": ["x", "y"]}', "has no places in degrees"),
        ("a.gpx", "<gpx", "not a whole XML file"),
        ("a.gpx", "<!DOCTYPE gpx><gpx/>", "declares a document type"),
        ("a.geojson", '{"type": "FeatureCollection", "features": null}', "this is no GeoJSON"),
        ("a.geojson", "[" * 100_000, "this is no GeoJSON"),
        ("a.gpkg", "<OGRVRTDataSource/>", "cannot be read as shapes"),
    ],
)
def test_what_cannot_be_read_is_said(tmp_path: Path, name: str, content: str, says: str) -> None:
    file = tmp_path / name
    file.write_text(content, encoding="utf-8")
    with pytest.raises(Complaint, match=says):
        read_features(str(file), CRS)


def test_a_document_type_is_refused_in_other_letters_too(tmp_path: Path) -> None:
    file = tmp_path / "wide.gpx"
    file.write_text('<!DOCTYPE gpx [<!ENTITY a "b">]><gpx><wpt lat="1" lon="2"/></gpx>', encoding="utf-16")
    with pytest.raises(Complaint, match=r"wide.gpx, line 1: this file declares a document type"):
        read_features(str(file), CRS)


def test_an_area_to_begin_in_is_read_as_a_plan_reads_it(tmp_path: Path) -> None:
    asked = AreaAsked(inside=(str(written(tmp_path)),))
    low_east, low_north, high_east, high_north = bounds_of(asked, CRS) or (0.0,) * 4
    assert (low_east, low_north, high_east, high_north) == pytest.approx(
        (299000.0, 4141000.0, 299500.0, 4141900.0), abs=0.01
    )
    empty = tmp_path / "none.geojson"
    empty.write_text('{"type": "FeatureCollection", "features": null}', encoding="utf-8")
    with pytest.raises(Complaint, match="this is no GeoJSON"):
        bounds_of(AreaAsked(inside=(str(empty),)), CRS)
