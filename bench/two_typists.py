"""Two browsers type on one log by chance for minutes: offline spells, undo, reloads, a desk that is killed.

Prints what was done, how many changes were acknowledged, and what was lost: acknowledged changes that the
desk does not have, places where the two pages or the desk differ at the end, texts that went over one that
was never seen. `--other firefox` sets a Firefox against the Chromium.
`PYTHONPATH=src:tests .venv/bin/python bench/two_typists.py --minutes 10 --seed 1`
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import django

from support.chromium import open_chromium
from support.desk_forks import Forks
from support.desk_server import DeskVisitor
from support.firefox import open_firefox
from support.firefox_page import FirefoxPage, Wire
from support.notebook_page import CELLS, SIX, begin, saved
from support.two_typists import Match


def main() -> None:
    """Let them type, and print."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--minutes", type=float, default=10.0)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--other", choices=("chromium", "firefox"), default="chromium")
    given = asked.parse_args()
    with ExitStack() as at_end:
        folder = Path(at_end.enter_context(tempfile.TemporaryDirectory())) / "desk"
        forks = Forks(folder)
        at_end.callback(forks.close)
        forks.open()
        visitor = DeskVisitor(forks.port)
        visitor.come_in(forks.link)
        one = in_chromium(at_end, forks, visitor)
        one.goto("/")
        begin(one).rows(SIX)
        saved(one)
        if given.other == "firefox":
            other, wire = in_firefox(at_end, forks)
        else:
            other, wire = in_chromium(at_end, forks, visitor), None
        other.goto(urlsplit(one.url).path)
        measure(forks, visitor, [one, other], wire, given)


def in_chromium(at_end: ExitStack, forks: Forks, visitor: DeskVisitor) -> Any:
    """A page of a Chromium of its own, let in at the desk."""
    browser = at_end.enter_context(open_chromium())
    if browser is None:
        raise SystemExit("no Chromium is installed")
    base = f"http://127.0.0.1:{forks.port}"
    context = browser.new_context(base_url=base, viewport={"width": 1440, "height": 900})
    context.add_cookies(
        [{"name": name, "value": value, "url": base} for name, value in visitor.cookies.items()]
    )
    return context.new_page()


def in_firefox(at_end: ExitStack, forks: Forks) -> tuple[FirefoxPage, Wire]:
    """A page of a Firefox, let in at the desk by its link, with a wire between the two."""
    firefox = at_end.enter_context(open_firefox())
    if firefox is None:
        raise SystemExit("no Firefox is installed")
    wire = Wire(forks.port)
    at_end.callback(wire.close)
    # A link lets one browser in; a desk that opens again has another.
    forks.kill()
    forks.open()
    page = FirefoxPage(firefox, wire)
    page.goto(forks.link.partition(str(forks.port))[2])
    page.locator("main form button").click()
    page.wait_for_selector("nav")
    return page, wire


def measure(
    forks: Forks, visitor: DeskVisitor, pages: list[Any], wire: Wire | None, given: argparse.Namespace
) -> None:
    """Let two browsers type on one log of a desk, and print how they end."""
    match = Match(forks, pages, given.seed)
    if wire is not None:
        wire.heard.append(match.typists[1].hear)
    end = time.monotonic() + 60 * given.minutes
    while time.monotonic() < end:
        match.turn()
    match.end(most_s=120.0)
    visitor.close()
    log = pages[0].get_attribute("#page", "data-changes")
    told = visitor.post_json(log, {"changes": []}).json
    first, second = (one.state() for one in match.typists)
    rows = [([row[name] for name in CELLS], row["struck"]) for row in told["rows"]]
    edits = match.edits.look()
    acknowledged = set().union(*(one.acknowledged for one in match.typists))
    print(f"chromium against {given.other}, seed {given.seed}, {given.minutes} minutes")
    print(f"desk killed {match.kills} times: {match.did()}")
    print(f"{len(acknowledged)} changes acknowledged, {len(acknowledged - {key for key, _ in edits})} lost")
    print(f"the two pages are {'alike' if first == second else f'NOT alike: {first} {second}'}")
    is_as_kept = [(row["cells"], row["struck"]) for row in first["rows"]] == rows
    print(f"the desk has {'the same' if is_as_kept else f'OTHER rows: {rows}'}, {len(rows)} rows")
    print(f"written over what was never seen: {unseen(forks.folder, match, edits) or 'nothing'}")


def unseen(folder: Path, match: Match, edits: list[tuple[str, dict[str, Any]]]) -> list[str]:
    """What went over a text that was never seen."""
    os.environ |= {"DJANGO_SETTINGS_MODULE": "pacewright.desk.settings", "PACEWRIGHT_DATA": str(folder)}
    django.setup()
    # Loaded now: what a change does to a page is known where the desk is set up.
    from support.unseen import unseen_overwritten

    return unseen_overwritten(match.typists, edits)[0]


if __name__ == "__main__":
    main()
