"""A class as pictures."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from pacewright.drawing.class_charts import draw_habits, draw_target, habits_parts, target_parts
from pacewright.drawing.render import svg_to_png
from support.taught_class import NAMES, taught_class

SVG = "{http://www.w3.org/2000/svg}"


def words(svg: str) -> list[str]:
    return [t.text or "" for t in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def texts(svg: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(svg).iter(f"{SVG}text"))


def width_mm(svg: str) -> float:
    return float((ElementTree.fromstring(svg).get("viewBox") or "").split()[2])


def test_every_walk_is_a_mark_as_far_from_the_stake_as_its_multiple() -> None:
    report = taught_class()
    svg = draw_target(report)
    circles = list(ElementTree.fromstring(svg).iter(f"{SVG}circle"))
    rings = [c for c in circles if c.get("fill") == "none" and c.get("stroke-dasharray")]
    center = (float(rings[0].get("cx", 0)), float(rings[0].get("cy", 0)))
    outer = max(float(c.get("r", 0)) for c in rings)
    marks = [c for c in circles if c.get("fill") in ("#111", "#fff")][:-2]
    assert len(marks) == len(report.fit.grades)
    for mark, one in zip(marks, report.fit.grades, strict=True):
        assert one.miss is not None
        off = float(mark.get("cx", 0)) - center[0], center[1] - float(mark.get("cy", 0))
        r = outer * min(one.miss.multiple, 4.0) / 4.0
        assert off[0] == pytest.approx(r * one.miss.east_m / one.miss.length_m, abs=0.02)
        assert off[1] == pytest.approx(r * one.miss.north_m / one.miss.length_m, abs=0.02)


def test_walks_with_a_slip_are_crossed_and_stand_on_the_rim_with_their_multiple() -> None:
    report = taught_class()
    far = [one for one in report.fit.grades if one.miss is not None and one.miss.multiple > 4.0]
    assert far
    said = words(draw_target(report))
    assert sum("times)" in word for word in said) == len(far)
    assert all(any(word.endswith(name) for word in said) for name in NAMES)


def test_a_figure_that_shows_is_a_solid_mark_and_the_rest_are_hollow() -> None:
    report = taught_class()
    svg = draw_habits(report)
    marks = [p.get("fill") for p in ElementTree.fromstring(svg).iter(f"{SVG}polygon")][:-2]
    shows = [figure.shows for one in report.fit.learners for figure in (one.bias_deg, one.scale_pct)]
    assert marks.count("#111") == sum(shows)
    assert len(marks) == len(shows)
    assert [name for name in words(svg) if name in NAMES] == [row.learner for row in report.rows]


def test_a_page_has_title_key_and_names_beside_the_pictures() -> None:
    report = taught_class()
    target, (bias, pace) = target_parts(report), habits_parts(report)
    assert [said for _, said in target.key][1] == "a walk that probably held a slip"
    assert all(name in target.sentences[0] for name in NAMES)
    for part in (target, bias, pace):
        drawn = words(part.picture)
        assert not any(said in drawn for _, said in [*target.key, *pace.key])
        # 3.6 mm of at most 136 mm are 10 px where a phone is 390 px wide: as small as is read with ease.
        assert min(float(t.get("font-size", 0)) for t in texts(part.picture)) >= 3.6
        assert width_mm(part.picture) <= 136.0
    assert [name for name in words(bias.picture) if name in NAMES] == [row.learner for row in report.rows]
    fills = [p.get("fill") for p in ElementTree.fromstring(pace.picture).iter(f"{SVG}polygon")]
    assert fills.count("#111") == sum(one.scale_pct.shows for one in report.fit.learners)


def test_the_pictures_are_the_same_bytes_every_time_and_can_be_rendered() -> None:
    report = taught_class()
    for draw in (draw_target, draw_habits):
        assert draw(report) == draw(report)
        assert svg_to_png(draw(report), 40).startswith(b"\x89PNG")


def test_sixty_learners_fit_on_the_target() -> None:
    report = taught_class()
    many = tuple(
        replace(row, learner=f"{row.learner} {k}", rank=replace(row.rank, learner=f"{row.learner} {k}"))
        for k in range(10)
        for row in report.rows
    )
    grades = tuple(
        replace(one, handed=replace(one.handed, learner=f"{one.handed.learner} {k}"))
        for k in range(10)
        for one in report.fit.grades
    )
    svg = draw_target(replace(report, rows=many, fit=replace(report.fit, grades=grades)))
    assert sum(word.endswith(" 9") for word in words(svg)) == len(NAMES)
