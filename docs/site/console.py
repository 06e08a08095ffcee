"""The commands in a page, run in an empty folder: what each prints, and the page with that written in.

A fenced block that begins with ```console holds lines `$ pacewright ...`, each with what it prints below;
three dots stand for lines left out. A block such as ```csv trials.csv is a file that the commands find. The
files of `pacewright demo --into .` are there from the start.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final
from unittest import mock

from pacewright.cli.main import main
from pacewright.files.bundled import bundled

WIDTH: Final = "80"
DOTS: Final = "..."
DEMO_FILES: Final = ("cinder_fen.csv", "ines_rowe.toml", "pace_trials.csv")
_BLOCK: Final = re.compile(r"^```(\w+)(?: (\S+))?\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True)
class Asked:
    """A command of a page, what the page says that it prints, and what it printed."""

    line: str
    shown: tuple[str, ...]
    said: tuple[str, ...]

    @property
    def agrees(self) -> bool:
        """True where what is shown is what was printed, dots standing for any lines."""
        parts = [re.escape("".join(f"{one}\n" for one in part)) for part in _split_at_dots(self.shown)]
        return re.fullmatch("(?:.*\n)*".join(parts), "".join(f"{one}\n" for one in self.said)) is not None


def run_page(text: str) -> list[Asked]:
    """Every command of a page, run in turn in one folder that is empty but for the files of the page."""
    asked: list[Asked] = []
    with TemporaryDirectory() as folder, _standing_in(Path(folder)):
        for name in DEMO_FILES:
            Path(name).write_bytes(bundled(name))
        for kind, name, body in _BLOCK.findall(text):
            if name:
                Path(name).write_text(body, encoding="utf-8")
            elif kind == "console":
                asked += [Asked(line, shown, _printed(line)) for line, shown in commands_in(body)]
    return asked


def commands_in(body: str) -> list[tuple[str, tuple[str, ...]]]:
    """The commands of a block, each with the lines shown below it."""
    found: list[tuple[str, list[str]]] = []
    for line in body.splitlines():
        if line.startswith("$ "):
            found.append((line[2:], []))
        elif found:
            found[-1][1].append(line)
    return [(line, tuple(shown)) for line, shown in found]


def _printed(line: str) -> tuple[str, ...]:
    words = shlex.split(line)
    assert words[0] == "pacewright", line
    out = io.TextIOWrapper(io.BytesIO(), "utf-8", newline="", write_through=True)
    with (
        mock.patch.object(sys, "argv", words),
        mock.patch.multiple(sys, stdout=out, stderr=out),
        mock.patch.dict(os.environ, {"COLUMNS": WIDTH}),
        contextlib.suppress(SystemExit),
    ):
        main()
    text = out.buffer.getvalue().decode("utf-8")  # type: ignore[attr-defined]
    return tuple(one.rstrip() for one in text.rstrip("\n").split("\n"))


def written_anew(text: str) -> str:
    """The page with what its commands print now; what dots left out stays left out where it can."""
    asked = iter(run_page(text))

    def block(found: re.Match[str]) -> str:
        if found[1] != "console":
            return found[0]
        lines = []
        for line, shown in commands_in(found[3]):
            told = next(asked)
            lines += [f"$ {line}", *(shown if told.agrees else _cut_like(shown, told.said))]
        return "```console\n" + "\n".join(lines) + "\n```"

    return _BLOCK.sub(block, text)


def _cut_like(shown: tuple[str, ...], said: tuple[str, ...]) -> tuple[str, ...]:
    """As many lines from the top as stood above the first dots, and from the end as below the last."""
    if DOTS not in shown:
        return said
    above, below = shown.index(DOTS), shown[::-1].index(DOTS)
    return (*said[:above], DOTS, *said[len(said) - below :])


def _split_at_dots(lines: tuple[str, ...]) -> list[list[str]]:
    parts: list[list[str]] = [[]]
    for line in lines:
        if line == DOTS:
            parts.append([])
        else:
            parts[-1].append(line)
    return parts


@contextlib.contextmanager
def _standing_in(folder: Path) -> Iterator[None]:
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


if __name__ == "__main__":
    for name in sys.argv[1:]:
        page = Path(name).resolve()
        anew = written_anew(page.read_text(encoding="utf-8"))
        page.write_text(anew, encoding="utf-8")
