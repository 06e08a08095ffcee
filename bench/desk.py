"""How long a row takes to be saved at a desk: 60 people who type at once, beside 60 lines that hang.

Prints the median and the 99th of a hundred in ms, how many rows were lost, and ratios: beside lines that
hang against alone, a log of 60 legs against one of 6. What a row costs is what the browser waits for.
"""

from __future__ import annotations

import http.client
import json
import math
import os
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse
from contextlib import ExitStack
from pathlib import Path
from typing import Any

SOURCE = Path(__file__).parents[1] / "src"
PEOPLE = 60
STALLED = 60
SECONDS = 8
TURNS = 30


class Line:
    """One browser: cookies, the pass of forms, one connection that stays open."""

    def __init__(self, port: int, cookies: dict[str, str]) -> None:
        self.cookies = dict(cookies)
        self.seen = ""
        """The mark of the page that it has: only what differs travels."""
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)

    def ask(self, method: str, path: str, body: str | None = None, kind: str = "") -> tuple[Any, str]:
        """The answer's head and its text."""
        cookie = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        passed = next((value for name, value in self.cookies.items() if "form" in name), "")
        headers = {"Cookie": cookie, "Content-Type": kind, "X-CSRFToken": passed}
        self.connection.request(method, path, body, headers)
        answer = self.connection.getresponse()
        text = answer.read().decode("utf-8")
        for line in answer.headers.get_all("Set-Cookie") or []:
            name, _, value = line.partition(";")[0].partition("=")
            self.cookies[name] = value
        return answer, text

    def send_form(self, page: str, path: str, **fields: str) -> str:
        """Send a form of a page, and give the address that it leads to."""
        found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', self.ask("GET", page)[1])
        assert found
        body = urllib.parse.urlencode({**fields, "csrfmiddlewaretoken": found[1]})
        answer, _ = self.ask("POST", path, body, "application/x-www-form-urlencoded")
        return str(answer.headers["Location"])

    def put(self, log: str, number: int) -> float:
        """Save one row, and give how long it took in ms."""
        change = {"key": f"key-number-{number}", "kind": "put", "id": f"r{number}", "notes": ""}
        cells = {"azimuth": str(37 * number % 360), "count": str(50 + number % 90)}
        sent = json.dumps({"changes": [{**change, **cells}], "goal": None, "seen": self.seen})
        began = time.perf_counter()
        answer, text = self.ask("POST", f"{log}/changes", sent, "application/json")
        took = time.perf_counter() - began
        assert answer.status == 200, text
        self.seen = json.loads(text)["mark"]
        return took * 1000

    def rows(self, log: str) -> int:
        """How many rows the desk keeps of a log."""
        _, told = self.ask("POST", f"{log}/changes", '{"changes": []}', "application/json")
        return len(json.loads(told)["rows"])


def open_desk(folder: str) -> tuple[subprocess.Popen[str], str, int]:
    """Start a desk, and give its process, the path of its link and its port."""
    desk = subprocess.Popen(
        [sys.executable, "-m", "pacewright", "desk", "--data", folder, "--port", "0", "--no-browser"],
        env={**os.environ, "PYTHONPATH": str(SOURCE), "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        encoding="utf-8",
    )
    assert desk.stdout is not None
    for line in desk.stdout:
        found = re.search(r"http://127\.0\.0\.1:(\d+)(/open/\S+)", line)
        if found:
            return desk, found[2], int(found[1])
    raise SystemExit("the desk did not open")


def stall(port: int, path: str) -> socket.socket:
    """Open a line that promises a body and never sends the rest of it."""
    line = socket.create_connection(("127.0.0.1", port))
    head = f"POST {path}/changes HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 5000\r\n\r\nhalf"
    line.sendall(head.encode("ascii"))
    return line


def type_at_once(owner: Line, port: int) -> list[float]:
    """The ms of every row while all people save one a second, each in their own log; print the lost."""
    logs = [owner.send_form("/", "/logs/new", what="empty") for _ in range(PEOPLE)]
    took: list[float] = []

    def work(at: int) -> None:
        line, began = Line(port, owner.cookies), time.perf_counter() + at / PEOPLE
        for number in range(SECONDS):
            time.sleep(max(0.0, began + number - time.perf_counter()))
            took.append(line.put(logs[at], number))

    threads = [threading.Thread(target=work, args=(at,)) for at in range(PEOPLE)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    lost = PEOPLE * SECONDS - sum(owner.rows(log) for log in logs)
    print(f"    {len(took)} rows acknowledged, {lost} lost")
    return took


def told(name: str, took: list[float]) -> float:
    """Print the median and the 99th of a hundred; give the latter."""
    ordered = sorted(took)
    high = ordered[math.ceil(0.99 * len(ordered)) - 1]
    print(f"{name:44} p50 {statistics.median(took):7.1f} ms   p99 {high:7.1f} ms")
    return high


def one_by_one(owner: Line, legs: int) -> list[float]:
    """How long the last row of a log takes, saved again and again with nobody else about."""
    log = owner.send_form("/", "/logs/new", what="empty")
    for number in range(legs):
        owner.put(log, number)
    cells = {"kind": "put", "id": f"r{legs - 1}", "azimuth": "71", "notes": ""}
    took = []
    for turn in range(TURNS):
        sent = json.dumps({"changes": [{"key": f"again-{turn:04d}", "count": str(turn + 9), **cells}]})
        began = time.perf_counter()
        owner.ask("POST", f"{log}/changes", sent, "application/json")
        took.append((time.perf_counter() - began) * 1000)
    return took


def main() -> None:
    """Measure and print."""
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "not known"
    print(f"{os.cpu_count()} processors, load of the machine before {load}")
    with tempfile.TemporaryDirectory() as folder, ExitStack() as lines:
        desk, link, port = open_desk(folder)
        try:
            owner = Line(port, {})
            owner.send_form(link, link)
            few, many = one_by_one(owner, 6), one_by_one(owner, 60)
            told("a row of a log of 6 legs, alone", few)
            told("a row of a log of 60 legs, alone", many)
            print(f"ratio of the medians {statistics.median(many) / statistics.median(few):.2f}")
            alone = told(f"{PEOPLE} people, one row a second", type_at_once(owner, port))
            log = owner.send_form("/", "/logs/new", what="empty")
            for _ in range(STALLED):
                lines.enter_context(stall(port, log))
            beside = told(f"the same beside {STALLED} lines that hang", type_at_once(owner, port))
            print(f"ratio of the p99 {beside / alone:.2f}")
        finally:
            desk.terminate()
            desk.wait()


if __name__ == "__main__":
    main()
