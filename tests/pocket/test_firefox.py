"""The pocket page in the system's Firefox, from a file: rows typed, kept, reckoned as on the laptop."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pacewright.core.pace.walker import Walker
from pacewright.pocket.carried import carry
from pacewright.pocket.page_text import engine_text, page_text
from support.firefox import open_firefox
from support.pocket_logs import draw_page
from support.pocket_oracle import csv_of, differences, expected, walker_figures

pytestmark = pytest.mark.slow
DRIVER = Path(__file__).parents[1] / "support" / "pocket_driver.js"
PAGES = 300
TYPE = """
const [azimuth, count, notes] = arguments;
for (const [id, text] of [["azimuth", azimuth], ["count", count], ["notes", notes]]) {
  const box = document.getElementById(id);
  box.value = text;
  box.dispatchEvent(new Event("input"));
}
document.getElementById("write").click();
return document.getElementById("now").innerText;
"""


@pytest.fixture(scope="module")
def firefox() -> Iterator[Any]:
    """A Firefox for the file."""
    with open_firefox() as opened:
        if opened is None:
            pytest.skip("no Firefox is installed")
        yield opened


def test_rows_are_typed_and_come_back_in_firefox(firefox: Any, tmp_path: Path) -> None:
    file = tmp_path / "pocket.html"
    file.write_text(page_text(carry(Walker(per_100_m=62.5))), encoding="utf-8")
    firefox.open(file.as_uri())
    firefox.run(TYPE, "305", "240", "")
    # By hand: east -82.7, north 283.4; 163.7 degrees and 295 paces.
    assert firefox.run(TYPE, "38", "185", "[at Split oak]").split()[:4] == ["164", "deg", "295", "paces"]
    firefox.ask("WebDriver:Refresh", {})
    assert firefox.run("return document.querySelectorAll('ol.rows li').length") == 2
    said = firefox.run("return document.getElementById('kept').innerText")
    assert said.startswith("Kept")


def test_the_engine_agrees_with_the_laptop_in_firefox(firefox: Any, tmp_path: Path) -> None:
    file = tmp_path / "engine.html"
    script = engine_text() + DRIVER.read_text(encoding="utf-8")
    file.write_text(f"<meta charset=utf-8><script>{script}\nwindow.drive = drive;</script>", encoding="utf-8")
    firefox.open(file.as_uri())
    rng = np.random.default_rng(7)
    pages = [draw_page(rng) for _ in range(PAGES)]
    handed = [
        {"heading": one.heading, "rows": one.rows, "walker": walker_figures(one.walker), "asked": one.asked}
        for one in pages
    ]
    said = firefox.run("return arguments[0].map((one) => drive(one))", handed)
    for page, theirs in zip(pages, said, strict=True):
        assert not differences(expected(page), theirs), csv_of(page)
