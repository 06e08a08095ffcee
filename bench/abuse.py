"""How a desk bears abuse: people type while a guest, slow lines and bombs do their worst, and it is killed.

Prints how long a row takes to be saved, alone and beside the abuse, as median and 99th of a hundred in ms,
their ratio, and how late the machine wakes the bench itself: on a busy one nothing is quicker than that. Then
the most memory of all processes together, its mean in each quarter, and how many acknowledged rows were lost.
Linux only: memory is read from /proc, and every person comes from an address of their own. `--minutes` is
how long the abuse lasts (a soak is the default), `--kills` how often the desk is ended as by a power cut.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import multiprocessing
import os
import random
import re
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import zipfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from abuse_watch import Watch
from desk import SOURCE, Line, told

ALONE_S = 15.0
PAGE_ROWS = 60
"""A page that is full: a long day of legs."""
SLOW_LINES = 60
HANDS = 8
"""So many requests of the abusing guest are always on their way."""
AIMED_P99_MS = 250.0
AIMED_MB = 1500.0


class Desk:
    """A desk that can be killed and begins again at its port, with its data."""

    def __init__(self, folder: str) -> None:
        self.folder, self.port = folder, 0
        self.link, self.code = self._start()

    def _start(self) -> tuple[str, str]:
        arguments = ["desk", "--data", self.folder, "--port", str(self.port), "--no-browser", "--network"]
        self.process = subprocess.Popen(
            [sys.executable, "-m", "pacewright", *arguments],
            env={**os.environ, "PYTHONPATH": str(SOURCE), "PYTHONUNBUFFERED": "1"},
            stdout=subprocess.PIPE,
            encoding="utf-8",
        )
        said = ""
        assert self.process.stdout is not None
        for line in self.process.stdout:
            said += line
            if "Ctrl+C" in line:
                break
        link = re.search(r"http://127\.0\.0\.1:(\d+)(/open/\S+)", said)
        code = re.search(r"join code (\w+)", said)
        assert link and code, said
        self.port = int(link[1])
        return link[2], code[1]

    def kill(self) -> None:
        """End it at once, and begin again."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        self._start()

    def close(self) -> None:
        """End it."""
        self.process.terminate()
        self.process.wait()

    def worked_s(self) -> float:
        """How long the desk itself has worked, without its workers."""
        times = Path(f"/proc/{self.process.pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(times[11]) + int(times[12])) / os.sysconf("SC_CLK_TCK")


def connection_from(line: Line, person: int) -> None:
    """Have a line come from an address that is a person's own."""
    line.connection.source_address = (f"127.0.{1 + person // 200}.{1 + person % 200}", 0)


@dataclass
class Typist:
    """A guest who types a row a second, each sent until it is acknowledged, under one key.

    When a page is full the next one is begun: nobody walks a thousand legs in twenty minutes.
    """

    desk: Desk
    person: int
    took: list[float] = field(default_factory=list)
    acknowledged: int = 0
    logs: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.line = Line(self.desk.port, {})
        connection_from(self.line, self.person)
        self.line.send_form("/join", "/join", code=self.desk.code, name=f"Learner {self.person}")
        self.logs.append(self.line.send_form("/", "/logs/new", what="empty"))

    def work(self, until: float) -> None:
        """Type until then."""
        began = time.monotonic() + random.random()
        for turn in range(100_000):
            time.sleep(max(0.0, began + turn - time.monotonic()))
            if time.monotonic() > until:
                return
            self._row()

    def _row(self) -> None:
        number = self.acknowledged
        is_first = True
        while True:
            try:
                if len(self.logs) * PAGE_ROWS <= number:
                    self.logs.append(self.line.send_form("/", "/logs/new", what="empty"))
                took = self.line.put(self.logs[-1], number)
            except (OSError, AssertionError, ValueError, Exception):
                # Killed meanwhile, or asked to come again: the same row again, under the same key.
                self.line.connection.close()
                is_first = False
                time.sleep(0.3)
                continue
            self.acknowledged += 1
            if is_first:
                self.took.append(took)
            return

    def lost(self) -> int:
        """How many acknowledged rows the desk does not have."""
        return self.acknowledged - sum(map(self.line.rows, self.logs))


@dataclass
class Abuse:
    """All that is done to the desk at once, with how often each was done."""

    desk: Desk
    until: float
    done: dict[str, int] = field(default_factory=dict)
    lock: Any = field(default_factory=threading.Lock)

    def count(self, what: str) -> None:
        """Count one."""
        with self.lock:
            self.done[what] = self.done.get(what, 0) + 1

    def begin(self) -> list[threading.Thread]:
        """Begin everything; give the threads."""
        guest = Line(self.desk.port, {})
        connection_from(guest, 190)
        guest.send_form("/join", "/join", code=self.desk.code, name="A guest in a hurry")
        logs = [_long_log(guest, rows) for rows in (120, 500, 1500)]
        paths = [f"{log}{page}" for log in logs for page in HEAVY]
        jobs = [(self._abandon, guest.cookies, paths)] * HANDS + [(self._poll, guest.cookies, paths)]
        jobs += [(self._trickle, guest.cookies, [logs[0]])] * SLOW_LINES
        jobs += [(self._bomb, guest.cookies, [logs[2]])]
        threads = [threading.Thread(target=work, args=rest, daemon=True) for work, *rest in jobs]
        for thread in threads:
            thread.start()
        return threads

    def _is_on(self) -> bool:
        return time.monotonic() < self.until

    def _abandon(self, cookies: dict[str, str], paths: list[str]) -> None:
        """Ask for heavy pages, and go before they come."""
        while self._is_on():
            with (
                contextlib.suppress(OSError),
                _line_to(self.desk) as line,
            ):
                line.sendall(_head("GET", random.choice(paths), cookies))
                time.sleep(random.choice((0.0, 0.05, 1.0)))
                self.count("heavy pages abandoned")

    def _poll(self, cookies: dict[str, str], paths: list[str]) -> None:
        """Ask for heavy pages as a browser does, again and again."""
        line = Line(self.desk.port, cookies)
        while self._is_on():
            try:
                answer, text = line.ask("GET", random.choice(paths))
                self.count(f"heavy pages answered {answer.status}{' in full' if '<svg' in text else ''}")
            except Exception:
                line.connection.close()
                time.sleep(0.3)

    def _trickle(self, cookies: dict[str, str], paths: list[str]) -> None:
        """Send a request letter by letter and never to its end."""
        request = _head("POST", f"{paths[0]}/changes", cookies, "Content-Length: 5000\r\n") + b"x" * 4000
        while self._is_on():
            with contextlib.suppress(ConnectionRefusedError), _line_to(self.desk) as line:
                with contextlib.suppress(OSError):
                    self._letters(line, request)
                self.count("slow lines hung up on")
            time.sleep(0.5)

    def _letters(self, line: socket.socket, request: bytes) -> None:
        for letter in request:
            line.sendall(bytes([letter]))
            time.sleep(0.2)

    def _bomb(self, cookies: dict[str, str], paths: list[str]) -> None:
        """Send what is small and becomes large."""
        line = Line(self.desk.port, cookies)
        # Made once: to make it takes more of the machine than to send it.
        nothing, bomb = {"kind": "remove", "ids": []}, _form_of("file", "backup.zip", _zip_bomb())
        for turn in range(100_000):
            if not self._is_on():
                return
            changes = [{"key": f"bomb-{os.getpid()}-{turn}-{k}", **nothing} for k in range(60)]
            sent = (
                (json.dumps({"changes": changes}), "application/json"),
                ("[" * 200_000, "application/json"),
                bomb,
            )
            for body, kind in sent:
                try:
                    path = "/books/backup/restore" if "multipart" in kind else f"{paths[0]}/changes"
                    line.ask("POST", path, body, kind)
                    self.count("bombs")
                except Exception:
                    line.connection.close()
                    time.sleep(0.3)


HEAVY = ("/closing?two=1", "", "/adjusted", "/map", "/sheets/debrief", "/files/png", "/way?retrace=1")


def _line_to(desk: Desk) -> socket.socket:
    return socket.create_connection(("127.0.0.1", desk.port), 5)


def _head(method: str, path: str, cookies: dict[str, str], more: str = "") -> bytes:
    cookie = "; ".join(f"{name}={value}" for name, value in cookies.items())
    return f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: {cookie}\r\n{more}\r\n".encode("ascii")


def _long_log(guest: Line, rows: int) -> str:
    """Keep a log of so many rows that does not close, and give its address."""
    draw = random.Random(rows)
    log = guest.send_form("/", "/logs/new", what="empty")
    typed = [
        {
            "id": f"r{k}",
            "azimuth": f"{(k * 360 / rows + draw.gauss(0, 2.5)) % 360:.0f}",
            "count": str(60 + k % 7 + (100 if k == rows // 2 else 0)),
            "notes": "[at Start]" if k == rows - 1 else f"[at P{k}]" if k % 10 == 0 else "",
        }
        for k in range(rows)
    ]
    body = json.dumps({"changes": [{"key": f"all-{rows}-rows", "kind": "paste", "rows": typed}]})
    guest.ask("POST", f"{log}/changes", body, "application/json")
    return log


def _zip_bomb() -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as zipped:
        zipped.writestr("manifest.json", b"[" + b"{}," * 3_000_000 + b"{}]")
    return held.getvalue()


def _form_of(name: str, file: str, data: bytes) -> tuple[Any, str]:
    edge = "edge-of-a-part"
    head = f'--{edge}\r\nContent-Disposition: form-data; name="{name}"; filename="{file}"\r\n\r\n'
    body = head.encode("ascii") + data + f"\r\n--{edge}--\r\n".encode("ascii")
    return body, f"multipart/form-data; boundary={edge}"


def type_all(typists: list[Typist], seconds: float) -> list[float]:
    """Have all type for so long; give what each row took."""
    for one in typists:
        one.took.clear()
    until = time.monotonic() + seconds
    threads = [threading.Thread(target=one.work, args=(until,)) for one in typists]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return [took for one in typists for took in one.took]


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--minutes", type=float, default=20.0, help="how long the abuse lasts")
    asked.add_argument("--people", type=int, default=60, help="how many type a row a second")
    asked.add_argument("--kills", type=int, default=3, help="how often the desk is killed meanwhile")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(folder)
        try:
            measure(desk, given.people, 60.0 * given.minutes, given.kills)
        finally:
            desk.close()


def measure(desk: Desk, people: int, seconds: float, kills: int) -> None:
    """Measure a desk, and print."""
    typists = [Typist(desk, person) for person in range(people)]
    watch = Watch(lambda: desk.process.pid)
    threading.Thread(target=watch.work, daemon=True).start()
    alone = told(f"{people} people, one row a second", type_all(typists, ALONE_S))
    at_first = max(watch.seen)
    told("meanwhile the bench itself woke late by", watch.late)
    watch.clear()
    # In a process of its own: the abuse is to hold up the desk, not those who measure.
    told_of: Any = multiprocessing.get_context("fork").Queue()
    abuser = multiprocessing.get_context("fork").Process(target=_abuse, args=(desk, seconds, told_of))
    abuser.start()
    worked_s = desk.worked_s()
    killer = threading.Thread(target=_kill, args=(desk, kills, seconds), daemon=True)
    killer.start()
    beside = told("the same beside the abuse", type_all(typists, seconds))
    killer.join()
    watch.is_on = False
    if not kills:
        print(f"the desk itself worked {100 * (desk.worked_s() - worked_s) / seconds:.0f} % of the time")
    print(f"ratio of the p99 {beside / alone:.2f}   (aimed at: p99 under {AIMED_P99_MS:.0f} ms)")
    told("meanwhile the bench itself woke late by", watch.late)
    print(f"most memory of all processes {max(watch.seen):.0f} MB   (aimed at: under {AIMED_MB:.0f} MB)")
    quarters = ", ".join(f"{mean:.0f}" for mean in watch.quarters())
    print(f"before the abuse {at_first:.0f} MB, mean of each quarter {quarters} MB")
    for what, many in sorted(told_of.get().items()):
        print(f"    {many:6} {what}")
    acknowledged, lost = sum(one.acknowledged for one in typists), sum(one.lost() for one in typists)
    print(f"{acknowledged} rows acknowledged, {lost} lost, the desk killed {kills} times")
    kept = sum(path.stat().st_size for path in Path(desk.folder).iterdir() if path.is_file())
    print(f"the data folder holds {kept / 1e6:.1f} MB")


def _abuse(desk: Desk, seconds: float, told_of: Any) -> None:
    abuse = Abuse(desk, time.monotonic() + seconds)
    for thread in abuse.begin():
        thread.join()
    told_of.put(abuse.done)


def _kill(desk: Desk, kills: int, seconds: float) -> None:
    for _ in range(kills):
        time.sleep(seconds / (kills + 1))
        desk.kill()


if __name__ == "__main__":
    main()
