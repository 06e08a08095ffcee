"""Two browsers type on one log by chance for minutes: offline spells, undo, reloads, a desk that is killed.

Prints what was done, how many changes were acknowledged, and what was lost: acknowledged changes that the
desk does not have, places where the two pages or the desk differ at the end, texts that went over one that
was never seen.
`PYTHONPATH=src:tests .venv/bin/python bench/two_typists.py --minutes 10 --seed 1`
"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path
from typing import Any

from support.chromium import open_chromium
from support.desk_forks import Forks
from support.desk_server import DeskVisitor
from support.notebook_page import CELLS, SIX, begin, saved
from support.two_typists import Match, edits_of, unseen_overwritten


def main() -> None:
    """Let them type, and print."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--minutes", type=float, default=10.0)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder, open_chromium() as one, open_chromium() as other:
        if one is None or other is None:
            raise SystemExit("no Chromium is installed")
        forks = Forks(Path(folder) / "desk")
        try:
            forks.open()
            measure(forks, Path(folder) / "desk", [one, other], given)
        finally:
            forks.close()


def measure(forks: Forks, folder: Path, browsers: list[Any], given: argparse.Namespace) -> None:
    """Let two browsers type on one log of a desk, and print how they end."""
    visitor = DeskVisitor(forks.port)
    visitor.come_in(forks.link)
    base = f"http://127.0.0.1:{forks.port}"
    pages = []
    for browser in browsers:
        context = browser.new_context(base_url=base, viewport={"width": 1440, "height": 900})
        context.add_cookies(
            [{"name": name, "value": value, "url": base} for name, value in visitor.cookies.items()]
        )
        pages.append(context.new_page())
    pages[0].goto("/")
    begin(pages[0]).rows(SIX)
    saved(pages[0])
    pages[1].goto(pages[0].url)
    match = Match(forks, pages, given.seed)
    end = time.monotonic() + 60 * given.minutes
    while time.monotonic() < end:
        match.turn()
    match.end(most_s=120.0)
    visitor.close()
    log = pages[0].get_attribute("#page", "data-changes")
    told = visitor.post_json(log, {"changes": []}).json
    first, second = (one.state() for one in match.typists)
    rows = [([row[name] for name in CELLS], row["struck"]) for row in told["rows"]]
    edits = edits_of(folder)
    acknowledged = set().union(*(one.acknowledged for one in match.typists))
    print(f"seed {given.seed}, {given.minutes} minutes, desk killed {match.kills} times: {match.did()}")
    print(f"{len(acknowledged)} changes acknowledged, {len(acknowledged - {key for key, _ in edits})} lost")
    print(f"the two pages are {'alike' if first == second else f'NOT alike: {first} {second}'}")
    is_as_kept = [(row["cells"], row["struck"]) for row in first["rows"]] == rows
    print(f"the desk has {'the same' if is_as_kept else f'OTHER rows: {rows}'}, {len(rows)} rows")
    print(f"written over what was never seen: {unseen_overwritten(match, edits) or 'nothing'}")


if __name__ == "__main__":
    main()
