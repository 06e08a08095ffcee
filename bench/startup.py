"""How long `pacewright --help` takes, as a ratio to a Python that does nothing, measured in turns."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

SOURCE = Path(__file__).parents[1] / "src"
TURNS = 15


def seconds(*arguments: str) -> float:
    """The wall time of one Python process."""
    began = time.perf_counter()
    subprocess.run(
        [sys.executable, *arguments],
        env={**os.environ, "PYTHONPATH": str(SOURCE)},
        stdout=subprocess.DEVNULL,
        check=True,
    )
    return time.perf_counter() - began


def main() -> None:
    """Print the medians and their ratio; the two are run in turns, so that both meet the same load."""
    seconds("-m", "pacewright", "--help")
    pairs = [(seconds("-c", "pass"), seconds("-m", "pacewright", "--help")) for _ in range(TURNS)]
    nothing, told = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(f"python -c pass     {nothing * 1000:7.1f} ms")
    print(f"pacewright --help  {told * 1000:7.1f} ms")
    print(f"ratio              {told / nothing:7.2f}")


if __name__ == "__main__":
    main()
