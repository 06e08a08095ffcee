"""pacewright sheet map: the demo log on its ground, the words of the way back, and what is refused."""

from __future__ import annotations

import pytest

from pacewright.files.bundled import DEMO_LOG, DEMO_WALKER, bundled
from support.command import run
from support.pdf_pages import MM_PER_PT, opened, words
from support.read_maps import read_maps, strokes_with

pytestmark = pytest.mark.slow

START = "11S 295840 4137150"
GAP = (
    "# title: Gap\n# azimuth: true degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n"
    "0,500,[at Oak]\n90,300,\n180,100,[at Oak]\n90,100,[at End]\n"
)
LEG_MM = 0.65


@pytest.fixture
def desk(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name, source in (
        ("walk.csv", DEMO_LOG),
        ("ines.toml", DEMO_WALKER),
        ("ground.tif", "demo_ground.tif"),
    ):
        (tmp_path / name).write_bytes(bundled(source))
    return tmp_path


def printed(desk, *options, log="walk.csv", start=START):
    said = run(
        *("sheet", "map", log, "--walker", "ines.toml", "--terrain", "ground.tif"),
        *("--start", start, "--force", *options),
    )
    made = (desk / "map.pdf").read_bytes() if said.code == 0 else b""
    return said, made


def crosses(stroke, box):
    """Whether any of a stroke lies in a box, by points along it."""
    x1, y1, x2, y2 = stroke
    left, top, right, bottom = box
    points = ((x1 + k / 500 * (x2 - x1), y1 + k / 500 * (y2 - y1)) for k in range(501))
    return any(left < x < right and top < y < bottom for x, y in points)


@pytest.mark.parametrize("paper", ["a4", "letter", "a5", "pocket", "pocket-letter"])
def test_the_sheet_says_the_way_back_in_the_words_of_back(desk, paper):
    lines = run("back", "walk.csv", "--walker", "ines.toml").out.splitlines()
    wanted = [line for line in lines if line.startswith(("You will end", "Look for it", "Not seen"))]
    said, made = printed(desk, "--paper", paper)
    assert (said.code, said.err, said.out) == (0, "", "Printed: map.pdf\n")
    assert len(wanted) == 3 and all(line in words(made) for line in wanted)
    assert len(read_maps(made)) == 1


@pytest.mark.parametrize("paper", ["a4", "a5", "pocket"])
def test_the_sheet_warns_of_a_mistake_where_back_does(desk, paper):
    (desk / "gap.csv").write_text(GAP, encoding="utf-8")
    lines = run("back", "gap.csv", "--walker", "ines.toml").out.splitlines()
    [warning] = [line for line in lines if line.startswith("Take care")]
    assert warning in words(printed(desk, "--paper", paper, log="gap.csv")[1])
    assert "Take care" not in words(printed(desk, "--paper", paper)[1])


def test_without_the_way_back_nothing_is_said_of_it(desk):
    told = words(printed(desk, "--no-back")[1])
    assert "Look for it from" not in told and "way back" not in told and "An aid, not a promise." in told


@pytest.mark.parametrize(
    ("paper", "scale"),
    [
        ("a4", None),
        ("letter", None),
        ("a5", None),
        ("a5", 15000),
        ("a5", 25000),
        ("a4", 15000),
        ("pocket", None),
    ],
)
def test_no_label_lies_on_a_leg(desk, paper, scale):
    _, made = printed(desk, "--paper", paper, *(("--scale", scale) if scale else ()))
    [one] = read_maps(made)
    page = opened(made)[one.page]
    legs = [s for s in strokes_with(page, LEG_MM) if one.holds((s[0], s[1], s[0], s[1]))]
    assert len(legs) >= 4
    seen = 0
    for label in ("Gate", "Split oak", "Heron post", "back 234 deg, 392 paces", "Fire tower"):
        for found in page.search_for(label):
            x0, y0, x1, y1 = (MM_PER_PT * side for side in found)
            high = y1 - y0
            # The letters, without what a line of text keeps free above and below them.
            box = (x0, y0 + 0.25 * high, x1, y1 - 0.25 * high)
            if not one.holds(box):
                continue
            seen += 1
            assert not any(crosses(leg, box) for leg in legs), label
    assert seen >= 4


def test_the_key_tells_every_kind_of_station(desk):
    told = words(printed(desk)[1])
    for part in ("start of the log", "end of the log", "station with a name", "station, numbered"):
        assert part in told


def test_a_map_at_a_scale_is_cut_into_pages_only_where_it_must(desk):
    cut = printed(desk, "--scale", "5000", "--paper", "a5")[1]
    assert "Map page 4, 1:5000" in words(cut) and len(read_maps(cut)) == 5
    assert len(read_maps(printed(desk, "--scale", "10000", "--paper", "a5")[1])) == 1


@pytest.mark.parametrize(
    ("options", "start", "says"),
    [
        (("--scale", "1"), START, "1:1 is no scale to walk by. Give 1000 to 100000"),
        (("--scale", "1e9"), START, "1:1e+09 is no scale to walk by"),
        (("--scale", "nan"), START, "1:nan is no scale to walk by"),
        (("--scale", "1000", "--paper", "pocket"), START, "this map would take"),
        (
            (),
            "11S 495840 4137150",
            "the terrain holds no height at any station: the log starts at 495840 m east",
        ),
        ((), "37.4 -119.3 300", "--start: "),
    ],
)
def test_what_cannot_be_printed_is_refused_in_a_sentence(desk, options, start, says):
    said, _ = printed(desk, *options, start=start)
    assert said.code == 2 and says in said.err and "Traceback" not in said.err
    assert not (desk / "map.pdf").exists()


def test_a_log_that_leaves_the_terrain_says_so(desk):
    said, made = printed(desk, start="11S 292100 4137150")
    assert said.code == 0 and "1 of 6 stations lie where the terrain holds no height." in words(made)


def test_three_hundred_legs_are_printed_on_every_paper(desk):
    rows = "".join(f"{37 * k % 360},{20 + k % 50},\n" for k in range(300))
    (desk / "many.csv").write_text(GAP.split("0,500")[0] + rows, encoding="utf-8")
    for paper in ("a4", "a5", "pocket"):
        said, made = printed(desk, "--paper", paper, log="many.csv")
        assert (said.code, said.err) == (0, "") and len(read_maps(made)) == 1
