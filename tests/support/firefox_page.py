"""A Firefox as the two typists handle a page: the few things of a page that they use, and a wire to cut.

Keys are pressed as the W3C WebDriver standard has them (actions of a key source, code points of keys).
"""

from __future__ import annotations

import contextlib
import gzip
import http.client
import json
import threading
import time
from collections.abc import Callable
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from support.firefox import Firefox

KEYS = {
    "Control": "\ue009",
    "Shift": "\ue008",
    "Alt": "\ue00a",
    "Tab": "\ue004",
    "Enter": "\ue007",
    "Delete": "\ue017",
    "ArrowUp": "\ue013",
    "ArrowDown": "\ue015",
}
"""Code points of keys (W3C WebDriver, keyboard actions)."""
_FOUND = """const [steps, given] = arguments;
let all = [document];
for (const step of steps) {
  if (typeof step === 'string') all = all.flatMap((one) => [...one.querySelectorAll(step)]);
  else all = [all.at(step)].filter(Boolean);
}
const one = all[0];
"""


class Wire:
    """What lies between a browser and the desk: it can be cut, and it hears what the desk acknowledges."""

    def __init__(self, port: int) -> None:
        self.is_cut = False
        self.heard: list[Callable[[dict[str, Any], dict[str, Any]], None]] = []
        wire = self

        class Passed(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_GET(self) -> None:
                sent = self.rfile.read(int(self.headers.get("Content-Length") or 0))
                self.close_connection = True
                if wire.is_cut:
                    return
                line = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
                with contextlib.suppress(OSError, http.client.HTTPException), contextlib.closing(line):
                    line.request(self.command, self.path, sent or None, dict(self.headers.items()))
                    answer = line.getresponse()
                    body = answer.read()
                    if not wire.is_cut:
                        self._pass_on(answer, body)
                        wire._hear(self.command, self.path, answer, sent, body)

            do_POST = do_GET  # noqa: N815

            def _pass_on(self, answer: http.client.HTTPResponse, body: bytes) -> None:
                self.send_response_only(answer.status)
                own = {"connection", "transfer-encoding", "content-length", "keep-alive"}
                for name, value in answer.getheaders():
                    if name.lower() not in own:
                        self.send_header(name, value)
                self.send_header("Connection", "close")
                if answer.status not in (204, 304):
                    self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, *_: Any) -> None:
                """Say nothing."""

        self._server = ThreadingHTTPServer(("127.0.0.1", 0), Passed)
        self._server.daemon_threads = True
        self.port = int(self._server.server_address[1])
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    def close(self) -> None:
        """End it."""
        self._server.shutdown()
        self._server.server_close()

    def _hear(self, method: str, path: str, answer: Any, sent: bytes, body: bytes) -> None:
        if method == "POST" and path.endswith("/changes") and answer.status == 200:
            is_packed = answer.getheader("Content-Encoding") == "gzip"
            told = json.loads(gzip.decompress(body) if is_packed else body)
            for one in self.heard:
                one(json.loads(sent), told)


class FoundThere:
    """An element of the page, looked for anew each time."""

    def __init__(self, page: FirefoxPage, steps: list[str | int]) -> None:
        self._page, self._steps = page, steps

    def _run(self, script: str, given: Any = None) -> Any:
        return self._page.firefox.run(_FOUND + script, self._steps, given)

    def locator(self, css: str) -> FoundThere:
        return FoundThere(self._page, [*self._steps, css])

    def nth(self, at: int) -> FoundThere:
        return FoundThere(self._page, [*self._steps, at])

    @property
    def last(self) -> FoundThere:
        return self.nth(-1)

    def count(self) -> int:
        # While a page goes and the next one comes a script may give nothing.
        return int(self._run("return all.length") or 0)

    def focus(self) -> None:
        self._run("one.focus()")

    def click(self, timeout: float = 0) -> None:
        self._run("one.click()")

    def evaluate(self, function: str) -> Any:
        return self._run(f"return ({function})(one)")

    def get_attribute(self, name: str) -> Any:
        return self._run("return one.getAttribute(given)", name)

    def input_value(self) -> str:
        return str(self._run("return one.value"))

    def inner_text(self) -> str:
        return str(self._run("return one.innerText"))


class FirefoxPage:
    """The one page of a Firefox; it is the keyboard, and the context that can go offline, as well."""

    def __init__(self, firefox: Firefox, wire: Wire) -> None:
        self.firefox, self.wire = firefox, wire
        self.keyboard = self.context = self
        self._at_start: list[str] = []
        self.is_lost = False

    def goto(self, path: str) -> None:
        self.firefox.open(f"http://127.0.0.1:{self.wire.port}{path}")

    def on(self, _event: str, _heard: Any) -> None:
        """What the desk acknowledges is heard on the wire."""

    def add_init_script(self, script: str) -> None:
        self._at_start.append(script)

    def set_offline(self, is_offline: bool) -> None:
        self.wire.is_cut = is_offline

    def reload(self) -> None:
        """Load the page anew; where the browser shows a page of its own, it is lost until another try."""
        try:
            self.firefox.ask("WebDriver:Refresh", {})
        except AssertionError as failed:
            self.is_lost = "error page" in str(failed)
            if not self.is_lost:
                raise
            return
        self.is_lost = False
        for script in self._at_start:
            self.firefox.run(script)

    def wait_for_selector(self, css: str) -> None:
        until = time.monotonic() + 30
        while not self.locator(css).count():
            assert time.monotonic() < until, f"{css} never came"
            time.sleep(0.05)

    def wait_for_timeout(self, most_ms: float) -> None:
        time.sleep(most_ms / 1000)

    def evaluate(self, expression: str, argument: Any = None) -> Any:
        script = f"const made = ({expression.rstrip().rstrip(';')});\n"
        return self.firefox.run(
            script + "return typeof made === 'function' ? made(arguments[0]) : made", argument
        )

    def locator(self, css: str) -> FoundThere:
        return FoundThere(self, [css])

    def input_value(self, css: str) -> str:
        return self.locator(css).input_value()

    def fill(self, css: str, text: str) -> None:
        self.locator(css)._run(
            "one.focus(); one.value = given; one.dispatchEvent(new Event('input', { bubbles: true }))", text
        )

    def press(self, keys: str) -> None:
        names = [KEYS.get(name, name) for name in keys.split("+")]
        downs = [{"type": "keyDown", "value": name} for name in names]
        ups = [{"type": "keyUp", "value": name} for name in reversed(names)]
        self._act([*downs, *ups])

    def type(self, text: str) -> None:
        self._act([{"type": kind, "value": one} for one in text for kind in ("keyDown", "keyUp")])

    def _act(self, actions: list[dict[str, str]]) -> None:
        asked = {"actions": [{"type": "key", "id": "keyboard", "actions": actions}]}
        self.firefox.ask("WebDriver:PerformActions", asked)
