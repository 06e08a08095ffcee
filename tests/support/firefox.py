"""The system's Firefox, driven by its own remote protocol: open a file, run a script, look at what it gives.

The driver of the other browser tests drives builds of its own only. Marionette protocol 3: messages are
`length:json`, commands `[0, id, name, parameters]` (Firefox source documentation, Remote Protocols).
"""

from __future__ import annotations

import json
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any


class Firefox:
    """One session of a running Firefox."""

    def __init__(self, port: int) -> None:
        self._socket = _connected(port)
        self._read()
        self._number = 0
        self.ask("WebDriver:NewSession", {})

    def ask(self, name: str, parameters: dict[str, Any]) -> Any:
        """The answer to one command."""
        self._number += 1
        said = json.dumps([0, self._number, name, parameters]).encode("utf-8")
        self._socket.sendall(str(len(said)).encode("ascii") + b":" + said)
        _, _, wrong, answer = self._read()
        assert wrong is None, wrong
        return answer

    def open(self, address: str) -> None:
        """Go to an address."""
        self.ask("WebDriver:Navigate", {"url": address})

    def run(self, script: str, *given: Any) -> Any:
        """What a script returns."""
        asked = {"script": script, "args": list(given), "newSandbox": False, "sandbox": None}
        return self.ask("WebDriver:ExecuteScript", asked)["value"]

    def _read(self) -> Any:
        length = b""
        while (letter := self._socket.recv(1)) != b":":
            length += letter
        text = b""
        while len(text) < int(length):
            text += self._socket.recv(int(length) - len(text))
        return json.loads(text)


def _connected(port: int) -> socket.socket:
    until = time.monotonic() + 60
    while True:
        try:
            return socket.create_connection(("127.0.0.1", port), timeout=300)
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.2)


@contextmanager
def open_firefox() -> Iterator[Firefox | None]:
    """A Firefox with a fresh profile, closed at the end; None where none is installed."""
    path = shutil.which("firefox-esr") or shutil.which("firefox")
    if path is None:
        yield None
        return
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        Path(folder, "user.js").write_text(f'user_pref("marionette.port", {port});\n', encoding="utf-8")
        running = subprocess.Popen(
            [path, "--headless", "--marionette", "--no-remote", "--profile", folder],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            yield Firefox(port)
        finally:
            running.terminate()
            running.wait(timeout=30)
