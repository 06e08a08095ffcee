"""Lines to the desk: what is silent, trickles, is too large or too many is cut off."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from pacewright.desk.serving import lines
from pacewright.desk.serving.lines import KnownBrowsers, serve_lines


def hello(environment: Any, start: Callable[..., Any]) -> list[bytes]:
    start("200 OK", [("Content-Type", "text/plain"), ("Content-Length", "5")])
    return [b"hello"]


@pytest.fixture
def port(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """A server that is impatient, in a thread of this process."""
    monkeypatch.setattr(lines, "HEAD_S", 0.6)
    monkeypatch.setattr(lines, "CLEANUP_S", 0.1)
    monkeypatch.setattr(lines, "MOST_LINES_OF_ADDRESS", 3)
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    server = serve_lines(hello, [listener], "session")
    server.adj.asyncore_loop_timeout = 0.1
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield listener.getsockname()[1]
    server.task_dispatcher.shutdown()
    server._map.clear()
    listener.close()


def line(port: int, sent: bytes = b"") -> socket.socket:
    opened = socket.create_connection(("127.0.0.1", port), timeout=5)
    opened.sendall(sent)
    return opened


def answer_of(opened: socket.socket) -> bytes:
    found = b""
    with contextlib.suppress(ConnectionError):
        while piece := opened.recv(4096):
            found += piece
    return found


WHOLE = b"GET / HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n"


def test_a_whole_request_is_answered(port: int) -> None:
    assert answer_of(line(port, WHOLE)).endswith(b"hello")


def test_half_a_head_is_hung_up_on_though_it_trickles(port: int) -> None:
    slow, began = line(port, b"GET / HTTP/1.1\r\n"), time.monotonic()
    with contextlib.suppress(OSError):
        for letter in b"X-Filler: " + b"a" * 200:
            slow.sendall(bytes([letter]))
            time.sleep(0.05)
    assert answer_of(slow) == b""
    assert time.monotonic() - began < 5.0


def test_half_a_body_is_hung_up_on(port: int) -> None:
    slow = line(port, b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 5000\r\n\r\nhalf")
    assert answer_of(slow) == b""


def test_nobody_unknown_sends_more_than_a_name_and_a_code(port: int) -> None:
    refused = answer_of(line(port, b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 70000\r\n\r\n"))
    assert b" 413 " in refused.splitlines()[0]
    assert b"The desk takes at most 64 kB from this browser." in refused


def test_chunks_are_counted_as_they_come(port: int) -> None:
    head = b"POST / HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\n\r\n"
    sender = line(port, head)
    chunk = b"4000\r\n" + b"x" * 0x4000 + b"\r\n"
    with contextlib.suppress(OSError):
        for _ in range(20):
            sender.sendall(chunk)
    assert b" 413 " in answer_of(sender).splitlines()[0]


def test_who_was_let_in_sends_more() -> None:
    known = KnownBrowsers()
    known.see("of the owner", "o", is_owner=True)
    known.see("of a guest", "g", is_owner=False)
    sizes = [known.most_body_bytes(key) for key in ("of the owner", "of a guest", "", "made up")]
    assert sizes == [66_000_000, 9_000_000, 64_000, 64_000]


def test_one_address_holds_so_many_lines_and_no_more(port: int) -> None:
    held = [line(port) for _ in range(3)]
    time.sleep(0.3)
    assert answer_of(line(port, WHOLE)) == b""
    held[0].close()
    time.sleep(0.3)
    assert answer_of(line(port, WHOLE)).endswith(b"hello")
