"""From a row written to the answer shown, on the pocket page at 60 rows, the processor slowed six times.

Prints medians and the least of one run: `python bench/pocket.py`. Where others use the machine, the browser's
throttle stretches their share as well; so the processor's own time for a row is told beside it.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path
from typing import Any

HOUSE = Path(__file__).parents[1]
sys.path[:0] = [str(HOUSE / "src"), str(HOUSE / "tests")]

from pacewright.core.pace.walker import Walker  # noqa: E402
from pacewright.pocket.carried import carry  # noqa: E402
from pacewright.pocket.page_text import page_text  # noqa: E402
from support.chromium import open_chromium  # noqa: E402

ROWS, SLOWER, TIMES = 60, 6, 30
MEASURE = """(times) => {
  const told = { script: [], layout: [] };
  for (let k = 0; k < times; k += 1) {
    for (const [id, text] of [["azimuth", String((k * 37) % 360)], ["count", String(100 + k)]]) {
      const box = document.getElementById(id);
      box.value = text;
      box.dispatchEvent(new Event("input"));
    }
    const before = performance.now();
    document.getElementById("write").click();
    const after = performance.now();
    document.body.getBoundingClientRect();
    told.script.push(after - before);
    told.layout.push(performance.now() - after);
    document.querySelector("ol.rows li:last-child button").click();
    window.confirm = () => true;
    document.querySelector("#changing button:nth-child(2)").click();
  }
  return told;
}"""


WRITE_ONLY = """(times) => {
  for (let k = 0; k < times; k += 1) {
    document.querySelector("ol.rows li:last-child button").click();
    const box = document.getElementById("count");
    box.value = String(100 + k);
    box.dispatchEvent(new Event("input"));
    document.getElementById("write").click();
    document.body.getBoundingClientRect();
  }
}"""


def processor_ms(view: Any) -> float:
    """What a row written costs the page's thread: reckoned, said, laid out, its garbage too."""
    session = view.context.new_cdp_session(view)
    session.send("Performance.enable", {"timeDomain": "threadTicks"})

    def spent() -> float:
        told = session.send("Performance.getMetrics")["metrics"]
        return float(next(one["value"] for one in told if one["name"] == "TaskDuration")) * 1000

    runs = []
    for _ in range(5):
        before = spent()
        view.evaluate(WRITE_ONLY, 100)
        runs.append((spent() - before) / 100)
    return statistics.median(runs)


def main() -> None:
    """Measure and print."""
    rows = "".join(f"{(k * 47) % 360},{120 + k},[at Post {k}]\n" for k in range(ROWS - 1))
    page = page_text(carry(Walker(per_100_m=62.5), [f"# start: Gate\nazimuth,count,notes\n{rows}"]))
    file = Path(tempfile.mkdtemp()) / "pocket.html"
    file.write_text(page, encoding="utf-8")
    with open_chromium() as browser:
        if browser is None:
            print("no Chromium is installed")
            return
        view = browser.new_page(viewport={"width": 360, "height": 740})
        view.goto(file.as_uri())
        view.evaluate(MEASURE, 5)
        cost_ms = processor_ms(view)
        print(f"{ROWS} rows: {cost_ms:.2f} ms of the processor a row, {SLOWER * cost_ms:.1f} ms slowed")
        for slower in (1, SLOWER):
            view.context.new_cdp_session(view).send("Emulation.setCPUThrottlingRate", {"rate": slower})
            told = view.evaluate(MEASURE, TIMES)
            said = [
                f"{statistics.median(told[key]):.1f} ms (least {min(told[key]):.1f}) to {what}"
                for key, what in (("script", "reckon and say"), ("layout", "lay out"))
            ]
            says = ", ".join(said)
            print(f"{ROWS} rows, {slower} times slower: {says}")


if __name__ == "__main__":
    main()
