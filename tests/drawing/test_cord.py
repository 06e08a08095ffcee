"""The drawn cord shows the count that it stands at."""

from __future__ import annotations

import itertools
import re
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pacewright.core.pace.tally import Tally, tally_of_count
from pacewright.drawing.cord import draw_cord
from pacewright.exceptions import ValueComplaint

SVG = "{http://www.w3.org/2000/svg}"


def beads(drawn):
    """(top, bottom, moved) of every bead from the loop down."""
    rects = ElementTree.fromstring(drawn).iter(f"{SVG}rect")
    found = [
        (float(e.get("y")), float(e.get("y")) + float(e.get("height")), e.get("class") == "moved")
        for e in rects
        if e.get("class") in ("moved", "still")
    ]
    return sorted(found)


def texts(drawn):
    return [e.text for e in ElementTree.fromstring(drawn).iter(f"{SVG}text")]


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 1_000_000))
def test_moved_beads_add_up_to_the_count(count):
    # Nine lower beads of a hundred and four upper of a thousand: common practice.
    drawn = draw_cord(tally_of_count(count))
    cord = beads(drawn)
    assert len(cord) == 13
    thousands, hundreds = sum(b[2] for b in cord[:4]), sum(b[2] for b in cord[4:])
    full = int(
        next((re.match(r"[\d ]+", t)[0].replace(" ", "") for t in texts(drawn) if "full cord" in t), "0")
    )
    head = next(float(t.split(" ")[0]) for t in texts(drawn) if "since the last bead" in t)
    assert 5000 * full + 1000 * thousands + 100 * hundreds + head == count


@pytest.mark.parametrize("count", range(0, 5000, 100))
def test_moved_beads_hang_clearly_apart_from_the_others(count):
    cord = beads(draw_cord(tally_of_count(count)))
    for section in (cord[:4], cord[4:]):
        assert [moved for *_, moved in section] == sorted(moved for *_, moved in section)
        for (_, bottom, one), (top, _, two) in itertools.pairwise(section):
            gap = top - bottom
            assert gap > 10 if one != two else 0 < gap < 1
    assert cord[4][0] - cord[3][1] > 4


@pytest.mark.parametrize(("count", "notches"), [(0, 0), (4999, 0), (5000, 1), (12345, 2), (75_000, 15)])
def test_every_full_cord_is_a_notch(count, notches):
    sticks = [
        e
        for e in ElementTree.fromstring(draw_cord(tally_of_count(count))).iter()
        if e.get("class") == "stick"
    ]
    assert len(sticks) == (notches > 0)
    if sticks:
        corners = [float(p.split(",")[0]) for p in sticks[0].get("points").split()]
        left, right = min(corners), max(corners)
        assert sum(left < x < right for x in corners) == notches


def test_more_full_cords_than_the_stick_holds_are_told_in_figures():
    assert "+185" in texts(draw_cord(tally_of_count(1_000_000)))


def test_beads_of_a_hundred_metres_keep_metres_and_paces_apart():
    # 700 paces at 62.5 paces to 100 m: 11 beads and 12.5 paces.
    drawn = draw_cord(tally_of_count(700, 62.5), bead_unit="metre")
    assert "1 100 metres + 12.5 paces" in texts(drawn)


def test_the_caption_is_drawn_escaped():
    assert "Leg <6> & on" in texts(draw_cord(tally_of_count(140), "Leg <6> & on"))


def test_one_pace_is_singular():
    assert "1 pace" in texts(draw_cord(Tally(0, 0, 1)))


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 1_000_000), st.sampled_from(["pace", "metre"]))
def test_no_line_runs_off_the_page(count, bead_unit):
    root = ElementTree.fromstring(draw_cord(tally_of_count(count), "A caption " * 9, bead_unit=bead_unit))
    width = float(root.get("width").removesuffix("mm"))
    from_left = [e for e in root.iter(f"{SVG}text") if e.get("text-anchor") is None]
    assert from_left
    for e in from_left:
        # 0.602: advance of the even-pitched family, in heights of the type.
        assert float(e.get("x")) + 0.602 * len(e.text) * float(e.get("font-size")) < width


@pytest.mark.parametrize(
    ("tally", "what"),
    [
        (Tally(-1, 0, 0), "-1 thousands"),
        (Tally(0, 10, 0), "10 hundreds"),
        (Tally(0, 0, float("nan")), "nan paces"),
        (Tally(0, 0, -2), "-2 paces"),
    ],
)
def test_what_cannot_stand_on_a_cord_is_refused(tally, what):
    with pytest.raises(ValueComplaint, match=f"{what} cannot be shown on a cord"):
        draw_cord(tally)
