"""The desk over HTTPS: its certificate, lines that are half agreed on, and who comes without encryption."""

from __future__ import annotations

import contextlib
import datetime
import re
import socket
import ssl
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.test import Client, override_settings

from pacewright.desk.serving import lines
from pacewright.desk.serving.https.certificate import (
    NAME,
    certificate_of,
    encrypting_with,
    fingerprint_of,
    in_lines,
)
from pacewright.desk.serving.lines import serve_lines
from pacewright.desk.serving.serve import DeskAsked, open_desk
from pacewright.exceptions import MissingComplaint, ValueComplaint
from support.desk_server import DeskServer

NOW = datetime.datetime.now(datetime.UTC)
LARGE = 3_000_000
HELLO = bytes.fromhex("1603010200010001fc0303")
"""How a record of TLS begins that promises 512 bytes (RFC 8446, 5.1 and 4.1.2)."""


def answer(environment: Any, start: Callable[..., Any]) -> list[bytes]:
    """Say how one was asked, what was sent, or much."""
    sent = environment["wsgi.input"].read(int(environment.get("CONTENT_LENGTH") or 0))
    said = environment["wsgi.url_scheme"].encode("ascii") + b" " + str(len(sent)).encode("ascii")
    body = b"x" * LARGE if environment["PATH_INFO"] == "/large" else said
    start("200 OK", [("Content-Type", "text/plain"), ("Content-Length", str(len(body)))])
    return [body]


class Served:
    """A server that encrypts and is impatient, in a thread of this process."""

    def __init__(self, folder: Path) -> None:
        certificate = certificate_of(folder, ["127.0.0.1"], NOW)
        self.fingerprint = certificate.fingerprint
        listener = socket.socket()
        listener.bind(("127.0.0.1", 0))
        self.port = listener.getsockname()[1]
        self.server = serve_lines(answer, [listener], "session", encrypting_with(certificate))
        self.server.adj.asyncore_loop_timeout = 0.1
        threading.Thread(target=self.server.run, daemon=True).start()

    def line(self, sent: bytes = b"") -> socket.socket:
        """Open a line, not encrypted."""
        opened = socket.create_connection(("127.0.0.1", self.port), timeout=10)
        opened.sendall(sent)
        return opened

    def encrypted(self) -> ssl.SSLSocket:
        """Open an encrypted line, its certificate compared by fingerprint as a person does."""
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
        opened = context.wrap_socket(self.line())
        assert fingerprint_of(opened.getpeercert(binary_form=True) or b"") == self.fingerprint
        return opened


@pytest.fixture
def served(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Served]:
    monkeypatch.setattr(lines, "HEAD_S", 0.6)
    monkeypatch.setattr(lines, "CLEANUP_S", 0.1)
    made = Served(tmp_path)
    yield made
    made.server.task_dispatcher.shutdown()
    made.server.close()


def request(path: str = "/", body: bytes = b"", last: bool = True) -> bytes:
    head = f"POST {path} HTTP/1.1\r\nHost: a\r\nContent-Length: {len(body)}\r\n"
    return f"{head}{'Connection: close' if last else 'X: y'}\r\n\r\n".encode("ascii") + body


def heard(line: socket.socket) -> bytes:
    """All that is sent until the line ends."""
    found = b""
    with contextlib.suppress(ConnectionError, ssl.SSLError):
        while piece := line.recv(65536):
            found += piece
    return found


def test_what_is_sent_encrypted_is_answered_encrypted(served: Served) -> None:
    line = served.encrypted()
    assert line.version() in ("TLSv1.2", "TLSv1.3")
    line.sendall(request(body=b"z" * 40_000, last=False))
    first = line.recv(65536)
    while b"\r\n\r\nhttps 40000" not in first:
        first += line.recv(65536)
    # The same line carries the next one, though it comes in pieces.
    for at in range(0, len(whole := request()), 10):
        line.sendall(whole[at : at + 10])
    assert heard(line).endswith(b"https 0")


def test_a_large_answer_arrives_whole_at_one_who_reads_slowly(served: Served) -> None:
    line = served.encrypted()
    line.sendall(request("/large"))
    time.sleep(0.3)
    assert heard(line).partition(b"\r\n\r\n")[2] == b"x" * LARGE


def test_the_same_port_still_hears_who_does_not_encrypt(served: Served) -> None:
    assert heard(served.line(request())).endswith(b"http 0")


@pytest.mark.parametrize("begun", [HELLO[:1], HELLO, HELLO + b"\xff" * 513, b"\x16" + b"no such thing" * 50])
def test_half_a_handshake_stops_nobody_and_is_hung_up_on(served: Served, begun: bytes) -> None:
    half = [served.line(begun) for _ in range(20)]
    line = served.encrypted()
    line.sendall(request())
    assert heard(line).endswith(b"https 0")
    began = time.monotonic()
    for one in half:
        heard(one)
    assert time.monotonic() - began < 8.0


def test_a_handshake_that_trickles_is_hung_up_on(served: Served) -> None:
    slow, began = served.line(HELLO), time.monotonic()
    with contextlib.suppress(OSError):
        for _ in range(200):
            slow.sendall(b"\x00")
            time.sleep(0.05)
    heard(slow)
    assert time.monotonic() - began < 8.0


def test_a_line_that_was_agreed_on_may_be_silent_for_a_while(served: Served) -> None:
    line = served.encrypted()
    time.sleep(1.5)
    line.sendall(request())
    assert heard(line).endswith(b"https 0")


def test_a_certificate_stays_as_long_as_it_holds_and_is_its_owners_alone(tmp_path: Path) -> None:
    first = certificate_of(tmp_path, ["192.0.2.7", "laptop.local", "lärm"], NOW)
    again = certificate_of(tmp_path, ["198.51.100.9"], NOW + datetime.timedelta(days=200))
    assert again.fingerprint == first.fingerprint
    assert re.fullmatch(r"([0-9A-F]{2}:){31}[0-9A-F]{2}", first.fingerprint)
    assert [len(line) for line in in_lines(first.fingerprint)] == [23] * 4
    if sys.platform != "win32":
        assert first.path.stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("days", [-400, 396, 5000])
def test_a_certificate_that_does_not_hold_today_is_made_anew(tmp_path: Path, days: int) -> None:
    first = certificate_of(tmp_path, [], NOW)
    assert certificate_of(tmp_path, [], NOW + datetime.timedelta(days=days)).fingerprint != first.fingerprint


def test_a_damaged_certificate_is_made_anew(tmp_path: Path) -> None:
    for held in (b"", b"no certificate", (certificate_of(tmp_path, [], NOW).path).read_bytes()[:300]):
        (tmp_path / NAME).write_bytes(held)
        assert len(certificate_of(tmp_path, [], NOW).fingerprint) == 95


def test_without_its_library_it_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "cryptography", None)
    with pytest.raises(MissingComplaint, match=r'pip install "pacewright\[https\]"'):
        certificate_of(tmp_path, [], NOW)


def test_on_this_machine_alone_there_is_nothing_to_encrypt(tmp_path: Path) -> None:
    with pytest.raises(ValueComplaint, match="--https is for a desk that others reach"):
        open_desk(DeskAsked(tmp_path, 0, on_network=False, is_encrypted=True))


@override_settings(HTTPS_FINGERPRINT="AB:CD", IS_ON_NETWORK=True, ALLOWED_HOSTS=["*"])
def test_who_comes_over_the_network_without_encryption_is_led_to_it() -> None:
    far = Client(headers={"host": "192.0.2.7:8731"}, REMOTE_ADDR="192.0.2.9")
    led = far.get("/join?code=A")
    assert (led.status_code, led["Location"]) == (302, "https://192.0.2.7:8731/join?code=A")
    refused = far.post("/join", {"code": "A", "name": "Tam"})
    assert refused.status_code == 403 and "Write https:// before its address" in refused.content.decode()
    secure = far.get("/join", secure=True)
    assert "What you send is encrypted" in secure.content.decode()
    assert all(cookie["secure"] for cookie in secure.cookies.values()) and secure.cookies
    here = Client(headers={"host": "127.0.0.1:8731"}).get("/join")
    assert here.status_code == 200
    assert not any(cookie["secure"] for cookie in here.cookies.values())


def test_the_fingerprint_stands_beside_the_square_and_is_that_of_the_line(
    new_desk: Callable[..., DeskServer],
) -> None:
    desk = new_desk(network=True, https=True)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    with context.wrap_socket(socket.create_connection(("127.0.0.1", desk.port), timeout=20)) as line:
        told = in_lines(fingerprint_of(line.getpeercert(binary_form=True) or b""))
        line.sendall(b"GET /join HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
        assert b"What you send is encrypted on the way." in heard(line)
    said = [one.strip() for one in desk.said.splitlines()]
    at = said.index(told[0])
    assert said[at : at + 4] == told
    assert "Others on this network: https://" in desk.said and "not encrypted" not in desk.said
    page = desk.owner.post_form("/devices", {"do": "link"}).body
    assert "https://" in page and "<br>".join(told) in page
    assert "<br>".join(told) in desk.owner.get("/").body
