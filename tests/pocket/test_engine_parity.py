"""The engine on the phone says what the laptop says, in a real browser.

Nothing here says that either is right: the laptop's is held to published values by the tests of `core`.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pacewright.core.pace.walker import Walker
from support.authorities import AUTHORITIES, close_to_printed, read_authority
from support.pocket_logs import IN_OTHER_WORDS, MadePage, draw_page
from support.pocket_oracle import csv_of, differences, expected, walker_figures

PAGES, AT_ONCE = 1000, 250
TRAVERSES = (
    "traverse_purdue",
    "traverse_compass_rule_lesson",
    "traverse_mahun_adjustment",
    "traverse_mahun_bearing",
)
DEMO = Path(__file__).parents[2] / "src" / "pacewright" / "data" / "cinder_fen.csv"
ASKED = {"from_station": 1, "to": 0, "probability": 0.95}


def handed(page: MadePage, text: str | None = None) -> dict[str, Any]:
    return {
        "heading": page.heading,
        "rows": page.rows,
        "walker": walker_figures(page.walker),
        "asked": page.asked,
        "text": text,
    }


def disagreements(engine: Any, pages: list[MadePage], texts: list[str] | None = None) -> list[str]:
    found = []
    for k, (page, theirs) in enumerate(zip(pages, engine([handed(one) for one in pages]), strict=True)):
        mine = expected(page, texts[k] if texts else None)
        found += [f"{one} in {csv_of(page)!r}" for one in differences(mine, theirs)]
    return found


def test_the_phone_agrees_with_the_laptop_on_made_pages(browser: Any, engine: Any) -> None:
    rng = np.random.default_rng(20260514)
    answers: Counter[str] = Counter()
    for _ in range(PAGES // AT_ONCE):
        pages = [draw_page(rng) for _ in range(AT_ONCE)]
        said = engine([handed(one) for one in pages])
        for page, theirs in zip(pages, said, strict=True):
            mine = expected(page)
            assert not differences(mine, theirs), csv_of(page)
            answers["refused" if mine["file"] else "told" if mine.get("way", 0) is None else "no way"] += 1
    # The pages are worth the name: most are answered, many refused, some understood and without a way.
    assert answers["told"] > PAGES / 2
    assert answers["refused"] > PAGES / 5
    assert answers["no way"] > PAGES / 500


def test_the_phone_agrees_with_the_laptop_on_the_log_that_ships(browser: Any, engine: Any) -> None:
    text = DEMO.read_text(encoding="utf-8")
    asked = {**ASKED, "from_station": 5, "line_deg": 90.0, "sighting_distance": 20.0, "with_retrace": True}
    page = MadePage((), (), Walker(per_100_m=62.5), asked)
    (theirs,) = engine([handed(page, text)])
    mine = expected(page, text)
    assert mine["way"] is None
    assert not differences(mine, theirs)


@pytest.mark.parametrize("name", TRAVERSES)
def test_the_phone_has_the_printed_latitudes_and_departures(browser: Any, engine: Any, name: str) -> None:
    rows = read_authority(f"{name}.csv")
    pencil = tuple((row["azimuth"], row["length"], "") for row in rows)
    page = MadePage(("azimuth: true degrees", "count: metres", "start: A"), pencil, Walker(), ASKED)
    (theirs,) = engine([handed(page)])
    assert not differences(expected(page), theirs)
    places = theirs["places"]
    for row, before, after in zip(rows, places, places[1:], strict=False):
        assert close_to_printed(after[1] - before[1], row["latitude"]), row["leg"]
        assert close_to_printed(after[0] - before[0], row["departure"]), row["leg"]


@pytest.mark.parametrize("name", sorted(file.name for file in AUTHORITIES.glob("*.csv")))
def test_every_azimuth_that_was_printed_is_read_alike(browser: Any, engine: Any, name: str) -> None:
    cells = sorted({cell for row in read_authority(name) for cell in row.values() if cell and len(cell) < 80})
    pencil = tuple((cell, cell, "") for cell in cells)
    pages = [
        MadePage((f"azimuth: magnetic {unit}",), pencil, Walker(), ASKED)
        for unit in ("degrees", "mils", "gon")
    ]
    assert not disagreements(engine, pages)


def test_a_remark_in_other_words_is_answered_with_the_one_meant(browser: Any, engine: Any) -> None:
    pages = [
        MadePage((f"azimuth: magnetic {unit}",), (("105", "240", f"[{text}]"),), Walker(), ASKED)
        for unit in ("degrees", "mils")
        for text in IN_OTHER_WORDS
    ]
    meant = [page for page in pages if "if that is meant" in str(expected(page)["rows"])]
    assert len(pages) / 2 < len(meant) < len(pages)
    assert not disagreements(engine, pages)


def test_the_expanding_square_is_that_of_the_search_manual(browser: Any, engine: Any) -> None:
    rows = read_authority("expanding_square_iamsar.csv")
    page = MadePage(("start: Gate",), (("360", "400", ""),), Walker(), {**ASKED, "sighting_distance": 10.0})
    (theirs,) = engine([handed(page)])
    legs = theirs["search"]
    assert len(legs) >= 4
    for row, (azimuth_deg, length, total, _) in zip(rows, legs, strict=False):
        assert length == pytest.approx(15.0 * float(row["length_in_spacings"]))
        assert total == pytest.approx(15.0 * float(row["total_in_spacings"]))
        assert (azimuth_deg - legs[0][0]) % 360 == pytest.approx(float(row["turned_deg"]) % 360)
