"""Pages drawn from the world, slips among them: every command says the same of each.

The walks and their slips: `tests/support/field_walks.py` and `field_slips.py`, which share no code with the
tool.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from support.command import run
from support.field_slips import KINDS, spoiled_day
from support.field_walks import Outing, Page, Walked, draw_day, draw_plan, read_off_map

WALKER = "[pace]\nper_100_m = 62.5\n"
THINGS = {"Fire tower": (900.0, 700.0), "Grey crag": (300.0, -800.0)}


def drawn_page(rng: np.random.Generator) -> str:
    """A loop or an open walk of 5 to 14 legs, looks back on some, a known place, a slip in one of two."""
    legs = int(rng.integers(5, 15))
    names = {legs // 2: "Old ford"}
    sights = [(legs // 3, name) for name in THINGS] if rng.random() < 0.5 else []
    backs = {int(k) for k in rng.choice(np.arange(1, legs + 1), size=3, replace=False)}
    outing = Outing(draw_plan(rng, legs, str(rng.choice(["loop", "open"]))), names, backs, THINGS, sights)
    known = ["Old ford", *(THINGS if sights else ())]
    on_map = rng.random() < 0.6

    def written(walked: Walked) -> Page:
        return read_off_map(rng, walked, known) if on_map else walked.page

    kind = str(rng.choice(KINDS)) if rng.random() < 0.5 else None
    day = draw_day(rng)
    made = spoiled_day(rng, day, outing, kind, written) or spoiled_day(rng, day, outing, None, written)
    assert made is not None
    return made.page.text


@pytest.mark.parametrize("seed", range(12))
def test_commands_say_the_same_of_a_page_that_nobody_chose(seed, tmp_path):
    page, walker = tmp_path / "walk.csv", tmp_path / "walker.toml"
    page.write_text(drawn_page(np.random.default_rng([seed, 2026])), encoding="utf-8")
    walker.write_text(WALKER, encoding="utf-8")

    def asked(command, *more):
        return run(command, page, "--walker", walker, *more, "--json").json

    reckoned, on_map, back = asked("reckon"), asked("reckon", "--frame", "map"), asked("back")
    checked, adjusted = asked("check"), asked("adjust", "--frame", "map")
    # One warning, in all or in none: where a mistake is likelier than not.
    is_likely = checked["verdict"] != "none"
    for answer in (reckoned, on_map, adjusted):
        assert bool(answer["doubts"]) == is_likely
    if back["count"]:
        assert not back["doubts"] or is_likely
    # One place of every station, and the way back from the last.
    for one, other in zip(on_map["stations"], adjusted["stations"], strict=True):
        assert (one["east"], one["north"]) == pytest.approx((other["east"], other["north"]), abs=0.01)
    last, start = reckoned["stations"][back["from_index"]], reckoned["stations"][0]
    step = (start["east"] - last["east"], start["north"] - last["north"])
    assert back["count"] == pytest.approx(math.hypot(*step), abs=0.51)
    if back["map"] is not None:
        there = on_map["stations"][back["from_index"]]
        assert back["map"]["length_m"] == pytest.approx(math.hypot(there["east"], there["north"]), abs=0.01)
