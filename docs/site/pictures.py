"""The pictures of the site: drawings by the commands, screenshots of the desk and of the page for a phone."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

from console import DEMO_FILES

from pacewright.files.bundled import bundled

WALK: Final = ("cinder_fen.csv", "--walker", "ines_rowe.toml")
LOOP: Final = "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n" + (
    "10,300,\n95,250,\n190,200,\n275,277,[at Gate]\n"
)
DRAWN: Final[dict[str, tuple[str, ...]]] = {
    "walk.svg": ("draw", *WALK, "--out"),
    "loop.svg": ("check", "loop.csv", "--walker", "ines_rowe.toml", "--draw"),
    "trials.svg": ("calibrate", "pace_trials.csv", "--draw"),
    "norths.svg": ("north", "37.4521", "-119.2984", "--date", "2026-05-14", "--draw"),
    "way-back.pdf": ("sheet", "way-back", *WALK, "--out"),
    "pocket.html": ("pocket", *WALK, "--out"),
}
SHOTS: Final = ("desk.png", "phone.png", "way-back.png")
SWITCHES: Final = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run")
SWITCHES_OFF: Final = ("--disable-background-networking", "--disable-component-update", "--disable-sync")


def picture_names() -> set[str]:
    """The pictures that a page may show."""
    return {name for name in DRAWN if name.endswith(".svg")} | set(SHOTS)


def make_pictures(out: Path) -> None:
    """Make every picture of the site in a folder."""
    out.mkdir(parents=True)
    with TemporaryDirectory() as folder:
        here = Path(folder)
        for name in DEMO_FILES:
            (here / name).write_bytes(bundled(name))
        (here / "loop.csv").write_text(LOOP, encoding="utf-8")
        for name, words in DRAWN.items():
            done = subprocess.run([*_pacewright(), *words, name], cwd=here, env=_environment(), check=False)
            # A finding, such as a loop that does not close, is exit code 1.
            assert done.returncode in (0, 1), words
        for name in DRAWN:
            if name.endswith(".svg"):
                shutil.copy(here / name, out / name)
        _print_page(here / "way-back.pdf", out / "way-back.png")
        with _browser() as browser:
            _phone(browser, here / "pocket.html", out / "phone.png")
            with _desk(here / "desk") as link:
                _desk_page(browser, link, out / "desk.png")


def _print_page(pdf: Path, png: Path) -> None:
    import pymupdf

    with pymupdf.open(pdf) as document:
        document[0].get_pixmap(dpi=90).save(png)


def _phone(browser: Any, page_file: Path, png: Path) -> None:
    page = browser.new_page(viewport={"width": 390, "height": 800})
    page.goto(page_file.as_uri())
    page.wait_for_load_state("load")
    page.screenshot(path=png)
    page.close()


def _desk_page(browser: Any, link: str, png: Path) -> None:
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(link)
    page.get_by_role("button", name="Open the desk").click()
    page.get_by_role("button", name="Show a finished example").click()
    page.wait_for_selector("#page .row")
    page.wait_for_load_state("load")
    page.locator("main svg").first.wait_for()
    page.screenshot(path=png)
    page.close()


@contextmanager
def _browser() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    path = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
    if path is None:
        raise SystemExit("The screenshots of the site need Chromium: see .ci/packages.txt.")
    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=path, args=[*SWITCHES, *SWITCHES_OFF])
        yield opened
        opened.close()


@contextmanager
def _desk(folder: Path) -> Iterator[str]:
    """A desk of its own, by the link that opens it once."""
    words = ["desk", "--data", str(folder), "--port", "0", "--no-browser"]
    desk = subprocess.Popen(
        [*_pacewright(), *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        env=_environment(),
    )
    assert desk.stdout is not None
    try:
        said = ""
        for line in desk.stdout:
            said += line
            if "Ctrl+C" in line:
                break
        found = re.search(r"http://127\.0\.0\.1:\d+/open/\S+", said)
        assert found, said
        yield found[0]
    finally:
        desk.terminate()
        desk.wait(timeout=20)


def _pacewright() -> list[str]:
    return [sys.executable, "-m", "pacewright"]


def _environment() -> dict[str, str]:
    here = str(Path(__file__).parents[2] / "src")
    return {**os.environ, "PYTHONPATH": here, "PYTHONUNBUFFERED": "1"}
