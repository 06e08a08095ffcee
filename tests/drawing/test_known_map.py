"""Known places of a heading, drawn: where they lie, how sure they are, none left out."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import pytest

from pacewright.core.log.log_heading import parse_heading
from pacewright.drawing.known_map import draw_known
from pacewright.exceptions import Complaint

NS = "{http://www.w3.org/2000/svg}"


def heading(*known: str):
    return parse_heading([(k, "known", text) for k, text in enumerate(known, 1)])


def labels(svg: str) -> list[str]:
    return ["".join(one.itertext()) for one in ElementTree.fromstring(svg).iter(f"{NS}text")]


def ring_sizes_mm(svg: str) -> list[float]:
    """How wide each ring is, widest first."""
    found = []
    for one in ElementTree.fromstring(svg).iter(f"{NS}polygon"):
        easts = [float(point.split(",")[0]) for point in one.get("points", "").split()]
        found.append(max(easts) - min(easts))
    return sorted(found, reverse=True)


def test_places_from_the_start_and_places_of_the_map_have_a_drawing_each() -> None:
    from_start, on_map = draw_known(
        heading("Fire tower = local 120 300 +-10 m", "Barn = local 0 50", "Dam = 37.46 -119.31")
    )
    assert {"start", "Fire tower", "Barn"} <= set(labels(from_start))
    assert "Dam" in labels(on_map) and "Barn" not in labels(on_map)
    assert draw_known(heading()) == []


def test_a_ring_grows_with_how_unsure_its_place_is() -> None:
    # The radius that holds 95 in 100 of a round normal scatter is sqrt(-2 ln 0.05) = 2.448 standard
    # deviations (Rayleigh distribution, a handbook result); the ratio of two rings is that of their sds.
    (drawn,) = draw_known(heading("Near = local 400 0 +-20 m", "Far = local -400 0 +-60 m"))
    wide, narrow = ring_sizes_mm(drawn)[:2]
    assert wide / narrow == pytest.approx(3.0, rel=0.02)
    scale = next(re.search(r"([\d.]+) metres apart", text) for text in labels(drawn) if "apart" in text)
    assert wide * float(scale[1]) / 10.0 == pytest.approx(2 * 60.0 * math.sqrt(-2 * math.log(0.05)), rel=0.02)


def test_a_place_that_cannot_be_read_is_complained_of() -> None:
    with pytest.raises(Complaint):
        draw_known(heading("Dam = 97.46 -119.31"))
