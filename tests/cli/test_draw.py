"""pacewright draw: a picture in the kind its name ends in, never over another."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from support.command import run

HEAD = "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\n"
PAGE = HEAD + "azimuth,count,notes\nN,100,[at Oak]\nE,100,\n"


@pytest.fixture
def walk(tmp_path):
    path = tmp_path / "walk.csv"
    path.write_text(PAGE, encoding="utf-8")
    return path


@pytest.mark.parametrize(("suffix", "begins"), [(".svg", b"<svg"), (".png", b"\x89PNG"), (".pdf", b"%PDF")])
def test_the_drawing_is_of_the_kind_its_name_ends_in(walk, tmp_path, suffix, begins):
    out = tmp_path / f"figure{suffix}"
    said = run("draw", walk, "--out", out)
    assert (said.code, said.out, said.err) == (0, f"Drawn: {out}\n", "")
    assert out.read_bytes().lstrip().startswith(begins)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("draw", "--scale", "10000"), "--scale goes with --terrain"),
        (("back", "--wrong-side", "5"), "--wrong-side is a side of a line: add --line."),
    ],
)
def test_an_option_that_another_must_go_with_is_not_passed_over(walk, options, says):
    said = run(*options, walk)
    assert (said.code, said.out) == (2, "") and says in said.err


def test_without_a_name_it_stands_beside_the_log(walk):
    assert run("draw", walk, "--json").keys == {"file": str(walk), "drawing": str(walk.with_suffix(".svg"))}
    assert walk.with_suffix(".svg").exists() and walk.read_text() == PAGE


def test_a_second_drawing_is_refused_unless_forced(walk):
    run("draw", walk)
    said = run("draw", walk)
    assert (said.code, said.out) == (2, "")
    assert said.err == (
        f"{walk.with_suffix('.svg')}: a file of this name is already there. "
        "Give another name, or --force to write over it.\n"
    )
    assert run("draw", walk, "--force").code == 0


def test_a_log_whose_own_name_ends_like_a_drawing_is_not_drawn_over(tmp_path):
    path = tmp_path / "walk.svg"
    path.write_text(PAGE, encoding="utf-8")
    assert run("draw", path).code == 2
    assert path.read_text() == PAGE


def test_the_drawing_goes_to_standard_output_whole(walk):
    said = run("draw", walk, "--out", "-")
    assert (said.code, said.err) == (0, "")
    assert ET.fromstring(said.raw).tag.endswith("svg")


def test_one_bad_log_among_several_stops_none(walk, tmp_path):
    said = run("draw", tmp_path / "none.csv", walk, "--json")
    assert said.code == 2
    assert ["complaint" in one for one in said.objects] == [True, False]
    assert walk.with_suffix(".svg").exists()


@pytest.mark.parametrize("file", ["", ".", "/"])
def test_a_name_that_is_no_file_is_one_sentence(file):
    said = run("draw", file)
    assert (said.code, said.out) == (2, "")
    assert said.err.endswith(
        "this file cannot be read (Is a directory). Check the name and that you may read it.\n"
    )


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--out", "figure.txt"], "a drawing cannot be written as '.txt'"),
        (["--out", "figure"], "the name of the drawing has no suffix"),
        (["--out", "no/such/folder.svg"], "this file cannot be written (No such file or directory)"),
        (["--to", "Fen"], "the log has no station called Fen"),
        (["--out", "-", "--json"], "both want standard output"),
    ],
)
def test_what_cannot_be_drawn_is_said(walk, options, says, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    said = run("draw", walk, *options)
    told = said.objects[0]["complaint"] if said.out else said.err
    assert said.code == 2 and says in told
    assert [path.name for path in tmp_path.iterdir()] == ["walk.csv"]


def test_names_and_notes_that_are_markup_or_control_letters_still_make_a_whole_drawing(tmp_path):
    path = tmp_path / "walk.csv"
    path.write_text(PAGE.replace("Oak", "</svg><b>&\x01\ufffe שער") + "S,9,<&>\x1b\n", encoding="utf-8")
    said = run("draw", path, "--out", "-")
    assert (said.code, said.err) == (0, "")
    ET.fromstring(said.raw)


def test_a_picture_of_the_way_back_warns_of_a_mistake(tmp_path):
    path = tmp_path / "gap.csv"
    path.write_text(
        HEAD + "azimuth,count,notes\n0,900,[at Oak]\n90,700,\n180,500,[at Oak]\n90,200,\n", encoding="utf-8"
    )
    assert run("draw", path).code == 0
    assert "Take care" in path.with_suffix(".svg").read_text(encoding="utf-8")
    assert "Take care" in run("back", path).out


def test_a_picture_of_a_walk_in_order_warns_of_none(walk):
    run("draw", walk)
    assert "Take care" not in walk.with_suffix(".svg").read_text(encoding="utf-8")


def test_a_map_sheet_says_once_what_became_of_its_raster_and_what_a_region_holds(walk, tmp_path):
    import numpy as np
    import rasterio

    raster, out = tmp_path / "degrees.tif", tmp_path / "sheet.svg"
    rows, columns = np.indices((60, 60))
    placed = rasterio.Affine(0.0003, 0, -119.31, 0, -0.0003, 37.37)
    with rasterio.open(
        raster, "w", driver="GTiff", width=60, height=60, count=1, dtype="float32", crs=4326, transform=placed
    ) as file:
        file.write((1000 + rows + 2.0 * columns).astype("float32"), 1)
    text = walk.read_text().replace("# start", "# date: 2026-05-14\n# start")
    walk.write_text(text, encoding="utf-8")
    walker = tmp_path / "walker.toml"
    walker.write_text("[pace]\nper_100_m = 62.5\n", encoding="utf-8")
    said = run(
        "draw", walk, "--walker", walker, "--terrain", raster, "--start", "37.361 -119.301", "--out", out
    )
    assert (said.code, said.err) == (0, "")
    lines = [part.text or "" for part in ET.fromstring(out.read_text()).iter() if part.tag.endswith("text")]
    assert sum("raster was in degrees" in line for line in lines) == 1
    assert any("holds its true place 95 times in 100" in line for line in lines)
