"""A desk that runs in a process of its own, and a visitor who talks to it as a browser does."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import subprocess
import sys
import time
import urllib.parse
from pathlib import Path
from typing import Any

HUNG_UP_AFTER_S = 60
"""The server hangs up on a line that was silent for two minutes."""
SOURCE = Path(__file__).parents[2] / "src"


class DeskServer:
    """A running desk: `base` is its address, `folder` its data folder; `link` lets one browser in."""

    def __init__(
        self, folder: Path, *, port: int = 0, network: bool = False, https: bool = False, database: str = ""
    ) -> None:
        self.folder = folder
        arguments = ["desk", "--data", str(folder), "--port", str(port), "--no-browser"]
        arguments += [*(["--network"] if network else []), *(["--https"] if https else [])]
        environment = {
            **{name: value for name, value in os.environ.items() if not name.startswith("PACEWRIGHT_")},
            "PYTHONPATH": str(SOURCE),
            "PYTHONUNBUFFERED": "1",
            "PACEWRIGHT_DATABASE": database,
        }
        self.process = subprocess.Popen(
            [sys.executable, "-m", "pacewright", *arguments],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            env=environment,
        )
        self.said = ""
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.said += line
            if "Ctrl+C" in line:
                break
        found = re.search(r"(http://127\.0\.0\.1:(\d+))/open/\S+", self.said)
        assert found, self.said
        self.first_link, self.base, self.port = found[0], found[1], int(found[2])
        self._owner: DeskVisitor | None = None

    @property
    def owner(self) -> DeskVisitor:
        """The owner, let in by the first link."""
        if self._owner is None:
            self._owner = DeskVisitor(self.port)
            self._owner.come_in(self.first_link)
        return self._owner

    @property
    def link(self) -> str:
        """A fresh link that lets one browser in as owner, once."""
        page = self.owner.post_form("/devices", {"do": "link"}).body
        found = re.search(r"http://[^<\s]+/open/[\w-]+", page)
        assert found, page
        return found[0]

    def kill(self) -> None:
        """End the process at once, as a power cut would."""
        self.process.send_signal(signal.SIGKILL)
        self._gather()

    def close(self) -> None:
        """End the process as the system does."""
        if self.process.poll() is None:
            self.process.terminate()
        self._gather()

    def _gather(self) -> None:
        self.process.wait(timeout=20)
        if self.process.stdout is not None:
            self.process.stdout.close()


class Answered:
    """What the desk answered: status, headers and text."""

    def __init__(self, found: http.client.HTTPResponse) -> None:
        self.status, self.headers = found.status, found.headers
        self.body = found.read().decode("utf-8", "replace")

    @property
    def json(self) -> Any:
        """The answer read as JSON."""
        return json.loads(self.body)


class DeskVisitor:
    """Cookies and the pass of forms, over one connection that is opened again when it breaks."""

    def __init__(self, port: int, timeout_s: float = 20.0) -> None:
        self.port, self.timeout_s = port, timeout_s
        self.cookies: dict[str, str] = {}
        self._line: http.client.HTTPConnection | None = None
        self._used = 0.0

    @property
    def pass_of_forms(self) -> str:
        """The cookie that a form must match; every desk has its own."""
        return next(value for name, value in self.cookies.items() if name.startswith("pacewright_form"))

    def come_in(self, link: str) -> None:
        """Follow a link that works once."""
        done = self.post_form(urllib.parse.urlsplit(link).path, {})
        assert done.status == 302, done.body

    def get(self, path: str) -> Answered:
        """Ask for a page."""
        return self._ask("GET", path, None, {})

    def post_form(self, path: str, fields: dict[str, str]) -> Answered:
        """Send a form as a page without scripts does; its pass is fetched from the page first."""
        found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', self.get(path).body)
        assert found, f"no form at {path}"
        return self.send_form(path, {**fields, "csrfmiddlewaretoken": found[1]})

    def send_form(self, path: str, fields: dict[str, str]) -> Answered:
        """Send a form that stands on another page, with its pass."""
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        return self._ask("POST", path, urllib.parse.urlencode(fields).encode("ascii"), kind)

    def post_json(self, path: str, sent: Any) -> Answered:
        """Send JSON as the notebook's script does; the pass is the one of the cookie."""
        headers = {"Content-Type": "application/json", "X-CSRFToken": self.pass_of_forms}
        return self._ask("POST", path, json.dumps(sent).encode("utf-8"), headers)

    def new_log(self) -> str:
        """Begin an empty log and give its address."""
        found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', self.get("/").body)
        assert found
        done = self.send_form("/logs/new", {"what": "empty", "csrfmiddlewaretoken": found[1]})
        assert done.status == 302, done.body
        return str(done.headers["Location"])

    def twin(self) -> DeskVisitor:
        """Another line with the same cookies, for another thread."""
        made = DeskVisitor(self.port, self.timeout_s)
        made.cookies = dict(self.cookies)
        return made

    def close(self) -> None:
        """Hang up."""
        if self._line is not None:
            self._line.close()
            self._line = None

    def _ask(self, method: str, path: str, body: bytes | None, headers: dict[str, str]) -> Answered:
        if time.monotonic() > self._used + HUNG_UP_AFTER_S:
            self.close()
        self._used = time.monotonic()
        if self._line is None:
            self._line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=self.timeout_s)
        cookie = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        try:
            self._line.request(method, path, body, {**headers, **({"Cookie": cookie} if cookie else {})})
            found = self._line.getresponse()
            answered = Answered(found)
        except (OSError, http.client.HTTPException):
            self.close()
            raise
        for line in answered.headers.get_all("Set-Cookie") or []:
            name, _, value = line.partition(";")[0].partition("=")
            self.cookies[name] = value
        return answered
