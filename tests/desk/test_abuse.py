"""A guest who asks for heavy pages without pause and leaves holds nobody up, and the desk stays small."""

from __future__ import annotations

import random
import re
import socket
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from support.desk_server import DeskServer, DeskVisitor

pytestmark = pytest.mark.slow
ROWS = 450


def joined(desk: DeskServer, name: str) -> DeskVisitor:
    code = re.search(r"join code (\w+)", desk.said)
    assert code
    visitor = DeskVisitor(desk.port)
    assert visitor.post_form("/join", {"code": code[1], "name": name}).status == 302
    return visitor


def long_log(guest: DeskVisitor) -> str:
    """A page that does not close, too long for the desk itself."""
    draw, log = random.Random(3), guest.new_log()
    rows = [
        {"id": f"r{k}", "azimuth": str((k * 360 // ROWS + draw.randint(0, 5)) % 360), "count": "60"}
        for k in range(ROWS)
    ]
    rows[-1]["notes"] = "[at Start]"
    told = guest.post_json(
        f"{log}/changes", {"changes": [{"key": "all-the-rows", "kind": "paste", "rows": rows}]}
    )
    assert told.json["refused"] == [] and told.json["answer"] is None
    return log


def abandon(guest: DeskVisitor, path: str) -> None:
    cookie = "; ".join(f"{name}={value}" for name, value in guest.cookies.items())
    with socket.create_connection(("127.0.0.1", guest.port), timeout=10) as line:
        line.sendall(f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: {cookie}\r\n\r\n".encode("ascii"))


def test_rows_are_saved_while_a_guest_abandons_heavy_pages(new_desk: Callable[..., DeskServer]) -> None:
    desk = new_desk(network=True)
    guest, other = joined(desk, "A guest in a hurry"), joined(desk, "Tamsin Vale")
    log, own = long_log(guest), other.new_log()
    for k in range(24):
        for page in ("closing?two=1", "adjusted", "sheets/debrief"):
            abandon(guest, f"{log}/{page}")
        row = {"key": f"key-number-{k}", "kind": "put", "id": f"r{k}", "azimuth": str(k), "count": "60"}
        told = other.post_json(f"{own}/changes", {"changes": [row]})
        assert told.status == 200 and len(told.json["rows"]) == k + 1
    shown = other.get(f"{own}/closing")
    assert shown.status == 200


def test_a_worker_ends_with_its_desk(new_desk: Callable[..., DeskServer]) -> None:
    desk = new_desk(network=True)
    guest = joined(desk, "A guest in a hurry")
    abandon(guest, f"{long_log(guest)}/closing?two=1")
    workers = wait_for_workers(desk)
    desk.kill()
    until = time.monotonic() + 20.0
    while any(map(is_there, workers)):
        assert time.monotonic() < until
        time.sleep(0.1)


def wait_for_workers(desk: DeskServer) -> list[int]:

    until = time.monotonic() + 20.0
    while time.monotonic() < until:
        tasks = Path(f"/proc/{desk.process.pid}/task")
        if not tasks.is_dir():
            pytest.skip("this system does not show the children of a process")
        found = [int(one) for task in tasks.iterdir() for one in (task / "children").read_text().split()]
        if found:
            return found
        time.sleep(0.1)
    raise AssertionError("nobody works")


def is_there(number: int) -> bool:

    status = Path(f"/proc/{number}/stat")
    return status.exists() and status.read_text().rsplit(")", 1)[1].split()[0] != "Z"
