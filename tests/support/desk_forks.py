"""A desk that can be killed and is open again at once: a process loads all, and forks the one that serves.

    python desk_forks.py FOLDER PORT

Each line on standard input opens the desk in a new process; its number is printed, then `open`, and when it
has ended, `ended`. What serves is what `pacewright desk` runs; only the loading of libraries is done before.
"""

from __future__ import annotations

import importlib
import os
import signal
import socket
import subprocess
import sys
from pathlib import Path

SOURCE = Path(__file__).parents[2] / "src"


class Forks:
    """A desk at one address that is opened and killed again and again."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.port = folder, free_port()
        self.process = subprocess.Popen(
            [sys.executable, __file__, str(folder), str(self.port)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            encoding="utf-8",
            env={**os.environ, "PYTHONPATH": str(SOURCE), "PACEWRIGHT_DATABASE": ""},
        )
        self._expect("loaded")
        self.serving = 0
        self.link = ""

    def open(self) -> None:
        """Open the desk and wait until it holds its port."""
        assert self.process.stdin is not None
        self.process.stdin.write("open\n")
        self.process.stdin.flush()
        # The two processes speak at once, in either order.
        said = [self._line(), self._line()]
        self.serving = next(int(line) for line in said if line.isdecimal())
        self.link = next(line.removeprefix("open ") for line in said if not line.isdecimal())

    def kill(self) -> None:
        """End the process that serves at once."""
        os.kill(self.serving, signal.SIGKILL)
        self._expect("ended")
        self.serving = 0

    def close(self) -> None:
        """End both."""
        assert self.process.stdin is not None
        if self.serving:
            os.kill(self.serving, signal.SIGKILL)
        self.process.stdin.close()
        self.process.wait(timeout=20)
        assert self.process.stdout is not None
        self.process.stdout.close()

    def _line(self) -> str:
        assert self.process.stdout is not None
        return self.process.stdout.readline().strip()

    def _expect(self, word: str) -> None:
        assert self._line() == word


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def load(folder: Path) -> None:
    """Load what the desk needs, and leave no connection behind that a fork would share."""
    from django.db import connections
    from django.template.loader import get_template
    from django.urls import get_resolver

    from pacewright.desk.serving.serve import set_up

    set_up(folder)
    assert get_resolver().url_patterns
    for module in ("pacewright.drawing.walk_of", "pacewright.wording.way_answer"):
        importlib.import_module(module)

    for name in ("home", "notebook", "answer"):
        get_template(f"desk/{name}.html")
    connections.close_all()


def serve(folder: Path, port: int) -> None:
    """Open the desk as the command does, and serve until the process is killed."""
    from pacewright.desk.serving.serve import DeskAsked, open_desk

    desk = open_desk(DeskAsked(folder, port))
    print(f"open {desk.link}", flush=True)
    desk.server.run()


def main() -> None:
    """Open a desk for every line."""
    folder, port = Path(sys.argv[1]), int(sys.argv[2])
    load(folder)
    print("loaded", flush=True)
    while sys.stdin.readline():
        child = os.fork()
        if not child:
            serve(folder, port)
        print(child, flush=True)
        os.waitpid(child, 0)
        print("ended", flush=True)


if __name__ == "__main__":
    main()
