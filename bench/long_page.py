"""What one change of a page costs, at 10 rows and at 300: bytes that travel, key to answer, key events.

Prints bytes of the answer to one change as they travel (compressed) and as they are; the median ms from a
key to the answer that rests on it; the longest key event with the processor slowed six times (Event Timing of
the browser); how long the adjusted page and the search take until they show something, and a row meanwhile.
It needs a Chromium and `PYTHONPATH=src:tests .venv/bin/python bench/long_page.py`
"""

from __future__ import annotations

import gzip
import random
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from support.chromium import open_chromium
from support.desk_server import DeskServer
from support.notebook_page import until

SIZES = (10, 300)
TURNS = 8
SLOWED = 6
WATCH = """() => {
  window.longest_ms = 0;
  new PerformanceObserver((list) => {
    for (const one of list.getEntries()) {
      if (one.name.startsWith('key') || one.name === 'input') {
        window.longest_ms = Math.max(window.longest_ms, one.processingEnd - one.processingStart);
      }
    }
  }).observe({ type: 'event', durationThreshold: 16 });
}"""


def made_log(server: DeskServer, many: int) -> str:
    """Keep a log of so many rows, and give its path."""
    draw = random.Random(many)
    log = server.owner.new_log()
    rows = [
        {
            "id": f"r{at}",
            "azimuth": str((at * 37 + draw.randrange(20)) % 360),
            "count": str(draw.randrange(40, 99)),
            "notes": f"[at P{at}]" if at % 10 == 9 else "",
        }
        for at in range(many)
    ]
    sent = {"changes": [{"key": f"all-{many}-rows", "kind": "paste", "rows": rows, "after": ""}]}
    assert server.owner.post_json(f"{log}/changes", sent).status == 200
    return log


def travelling(page: Any) -> list[tuple[int, int]]:
    """Bytes as they travel and as they are, of every answer to changes that comes from now on."""
    found: list[tuple[int, int]] = []

    def hear(request: Any) -> None:
        if request.method == "POST" and request.url.endswith("/changes"):
            try:
                body = request.response().body()
            except Exception:
                # The page was closed meanwhile.
                return
            found.append((len(gzip.compress(body, 6)), len(body)))

    page.on("requestfinished", hear)
    return found


def measure(page: Any, server: DeskServer, many: int) -> float:
    """Print what a change of a log of so many rows costs; give the median ms from key to answer."""
    log = made_log(server, many)
    page.goto(server.base + log)
    until(
        page,
        "() => document.querySelector('#answer .short') && !document.querySelector('.stale')",
        most_s=120,
    )
    cell = page.get_by_label("Count of row 3", exact=True)
    cell.fill("50")
    settle(page)
    heard = travelling(page)
    took = []
    for turn in range(TURNS):
        cell.focus()
        page.keyboard.press("Control+a")
        began = time.perf_counter()
        page.keyboard.type(str(60 + turn))
        settle(page)
        took.append((time.perf_counter() - began) * 1000)
    page.wait_for_timeout(300)
    with_answer = [one for one in heard if one[1] > 2_000] or heard
    small, large = (statistics.median(kind) for kind in zip(*with_answer, strict=True))
    print(
        f"{many:4} rows: one change brings {small / 1000:.1f} kB compressed, {large / 1000:.1f} kB as it is"
    )
    middle = statistics.median(took)
    print(f"{many:4} rows: key to answer {middle:.0f} ms (the pause before sending among it)")
    return middle


def settle(page: Any) -> None:
    """Wait until the answer rests on all that is typed."""
    asked = "() => document.getElementById('saved').textContent.startsWith('Saved.')"
    until(page, f"{asked} && !document.querySelector('.stale')", most_s=60)


def key_events(page: Any, many: int) -> None:
    """Print the longest key event, with the processor slowed."""
    line = page.context.new_cdp_session(page)
    page.evaluate(WATCH)
    line.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    page.get_by_label("Count of row 5", exact=True).focus()
    for letter in "12345678":
        page.keyboard.press("Backspace" if letter in "36" else letter)
        page.wait_for_timeout(120)
    page.keyboard.press("Tab")
    page.keyboard.type("dry")
    page.keyboard.press("Enter")
    page.wait_for_timeout(3000)
    line.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    longest = page.evaluate("window.longest_ms")
    print(f"{many:4} rows: longest key event {longest:.0f} ms, slowed {SLOWED} times (aimed at: under 100)")


def pages_show(server: DeskServer, log: str) -> None:
    """Print how long pages of a long log take until they answer at all, and what typing takes meanwhile."""
    for page in ("adjusted", "closing"):
        began = time.perf_counter()
        answered = server.owner.get(f"{log}/{page}")
        took = time.perf_counter() - began
        put = {"key": f"meanwhile-{page}", "kind": "put", "id": "r9", "only": ["count"], "count": "77"}
        began = time.perf_counter()
        assert server.owner.post_json(f"{log}/changes", {"changes": [put], "quiet": True}).status == 200
        meanwhile = (time.perf_counter() - began) * 1000
        print(
            f" 300 rows: {page} shows in {took:.2f} s ({answered.status}), a row meanwhile {meanwhile:.0f} ms"
        )


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder, open_chromium() as browser:
        if browser is None:
            raise SystemExit("no Chromium is installed")
        server = DeskServer(Path(folder) / "desk")
        try:
            context = browser.new_context(base_url=server.base, viewport={"width": 1440, "height": 900})
            cookies = server.owner.cookies.items()
            context.add_cookies(
                [{"name": name, "value": value, "url": server.base} for name, value in cookies]
            )
            took = []
            for many in SIZES:
                page = context.new_page()
                took.append(measure(page, server, many))
                key_events(page, many)
                page.close()
            print(f"ratio of key to answer {took[1] / took[0]:.2f} (aimed at: 2.5)")
            pages_show(server, made_log(server, 300))
        finally:
            server.close()


if __name__ == "__main__":
    main()
