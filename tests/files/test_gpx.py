"""A placed log as GPX 1.1: the order its schema asks for, read back by GDAL and by the tool."""

from __future__ import annotations

import io
from xml.etree import ElementTree

import numpy as np
from pyogrio.raw import read

from pacewright.files.gpx import GPX_NAMESPACE, write_gpx
from pacewright.files.gpx_track import read_track_from
from support.placed import small_walk

ORDER = {
    # GPX 1.1 schema (2004), sequences of gpxType, wptType, trkType (from memory).
    "gpx": ["metadata", "wpt", "rte", "trk", "extensions"],
    "wpt": ["ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym", "type"],
    "trk": ["name", "cmt", "desc", "src", "link", "number", "type", "extensions", "trkseg"],
    "trkseg": ["trkpt", "extensions"],
    "metadata": ["name", "desc", "author", "copyright", "link", "time", "keywords", "bounds"],
}


def tree(title="Fen & <ford>"):
    return ElementTree.fromstring(write_gpx(title, small_walk()[1], 0.95))


def local(element):
    space, _, name = element.tag.rpartition("}")
    assert space == "{" + GPX_NAMESPACE
    return name


def test_elements_stand_in_the_order_of_the_schema():
    for element in tree().iter():
        order = ORDER.get(local(element))
        if order:
            places = [order.index(local(child)) for child in element]
            assert places == sorted(places)
        else:
            assert len(element) == 0


def test_the_root_names_version_and_creator():
    root = tree()
    assert (root.get("version"), root.get("creator")) == ("1.1", "pacewright")


def test_text_that_xml_cannot_hold_does_no_harm():
    name = f"{{{GPX_NAMESPACE}}}metadata/{{{GPX_NAMESPACE}}}name"
    assert tree().find(name).text == "Fen & <ford>"
    assert tree("a\x00b\x1bc\ud800d\ufffe]]>").find(name).text == "abcd]]>"


def test_every_name_stands_once_with_how_sure_it_is():
    points = tree().findall(f"{{{GPX_NAMESPACE}}}wpt")
    texts = [[child.text for child in point] for point in points]
    assert [name for name, _ in texts] == ["Gate", "Split oak", "=Heron"]
    assert texts[0][1].startswith("station 0; 95 times in 100 within ")


def test_gdal_reads_waypoints_and_the_track(tmp_path):
    path = tmp_path / "walk.gpx"
    _, placed = small_walk()
    path.write_bytes(write_gpx("walk", placed, 0.95))
    meta, _, _, fields = read(path, layer="waypoints")
    assert dict(zip(meta["fields"], fields, strict=True))["name"].tolist() == ["Gate", "Split oak", "=Heron"]
    assert len(read(path, layer="track_points")[2]) == 4


def test_the_tool_reads_its_own_track_back():
    _, placed = small_walk()
    track = read_track_from(io.BytesIO(write_gpx("walk", placed, 0.95)))
    np.testing.assert_allclose(track.latitude_deg, placed.latitude_deg, atol=5.1e-8)
    np.testing.assert_allclose(track.longitude_deg, placed.longitude_deg, atol=5.1e-8)
    assert not track.has_times
