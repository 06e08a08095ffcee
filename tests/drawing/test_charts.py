"""The chart of pace trials."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree

import pytest

from pacewright.core.pace.pace_trials import PaceRun
from pacewright.core.pace.pacing import fit_pace_table
from pacewright.drawing.charts import draw_pace_trials
from pacewright.drawing.render import svg_to_png

SVG = "{http://www.w3.org/2000/svg}"


def runs_of(counts, ground="heath", slope="level"):
    return [PaceRun(ground, slope, None, 100, count, line=i + 2) for i, count in enumerate(counts)]


def dots(svg):
    """Centres of the filled dots of the chart itself; the last one is the key's."""
    found = [c for c in ElementTree.fromstring(svg).iter(f"{SVG}circle") if c.get("fill") == "#555"]
    return [(float(c.get("cx")), float(c.get("cy"))) for c in found][:-1]


def words(svg):
    return [t.text for t in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def test_every_run_is_a_dot_and_none_hides_another():
    placed = dots(draw_pace_trials(fit_pace_table(runs_of([62, 63, 62, 62, 64, 63]))))
    assert len(placed) == len(set(placed)) == 6


def test_dots_stand_in_the_order_of_the_counts():
    placed = sorted(dots(draw_pace_trials(fit_pace_table(runs_of([60, 62, 66])))))
    gaps = [b[0] - a[0] for a, b in pairwise(placed)]
    assert gaps[1] == pytest.approx(2 * gaps[0], abs=0.03)


def test_an_outlying_run_is_marked_and_named_by_its_line():
    svg = draw_pace_trials(fit_pace_table(runs_of([62, 63, 62, 61.5, 63.5, 52, 62.5])))
    assert len(dots(svg)) == 6
    assert "line 7" in words(svg)
    assert any("a miscount?" in w for w in words(svg))


def test_the_key_tells_only_of_marks_that_are_there():
    svg = draw_pace_trials(fit_pace_table(runs_of([62, 63, 62])))
    assert not any("miscount" in w or "leans" in w for w in words(svg))
    svg = draw_pace_trials(fit_pace_table([*runs_of([62, 63, 62]), *runs_of([70], "brush")]))
    assert any("drawn toward the other classes" in w for w in words(svg))


@pytest.mark.parametrize(
    "runs",
    [
        runs_of([62]),
        runs_of([62, 62, 62]),
        runs_of([10, 1000, 500]),
        runs_of([62, 90]),
        runs_of([62, 63], "<a very long name of a ground with & and no end to it at all>"),
        [run for i in range(30) for run in runs_of([60 + i], f"ground {i}")],
    ],
    ids=["one run", "equal runs", "wild runs", "two runs", "long name", "thirty classes"],
)
def test_any_table_can_be_drawn_inside_its_page(runs):
    svg = draw_pace_trials(fit_pace_table(runs), "Trials <& more>")
    root = ElementTree.fromstring(svg)
    _, _, width, height = map(float, root.get("viewBox").split())
    for mark in root.iter(f"{SVG}line"):
        assert 0 <= float(mark.get("x1")) <= width
        assert 0 <= float(mark.get("x2")) <= width
        assert 0 <= float(mark.get("y2")) <= height
    assert len(dots(svg)) >= len(runs)
    for x, y in dots(svg):
        assert 0 < x < width
        assert 0 < y < height


def test_the_chart_can_be_turned_into_a_picture():
    assert svg_to_png(draw_pace_trials(fit_pace_table(runs_of([62, 63, 62]))), ppi=40).startswith(b"\x89PNG")
