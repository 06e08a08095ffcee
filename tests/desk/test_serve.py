"""The desk as it is served: what a raw request meets, and when the database is brought up to date."""

from __future__ import annotations

import socket
from collections.abc import Callable
from pathlib import Path

import pytest

from pacewright.desk.serving.serve import DeskAsked, open_desk
from pacewright.exceptions import OutputComplaint, ValueComplaint
from support.desk_server import DeskServer, DeskVisitor

TRICKS = [
    "/static/../settings.py",
    "/static/desk/../../settings.py",
    "/static/%2e%2e/settings.py",
    "/static/%2e%2e%2fsettings.py",
    "/static/..%2f..%2fdesk%2fsettings.py",
    "/static/..%5csettings.py",
    "/static//etc/passwd",
    "/static/desk/",
    "/../../etc/passwd",
    "/%2e%2e/%2e%2e/etc/passwd",
    "//elsewhere.invalid/static/desk/desk.js/..",
    "/static/desk/desk.js%00.py",
]


def raw(server: DeskServer, request: bytes) -> str:
    """All that a server says to a request that no library tidied up."""
    with socket.create_connection(("127.0.0.1", server.port), timeout=10) as line:
        line.sendall(request)
        heard = b""
        while True:
            found = line.recv(65536)
            if not found:
                return heard.decode("utf-8", "replace")
            heard += found


@pytest.mark.parametrize("path", TRICKS)
def test_no_path_leads_out_of_the_desk(desk_server: DeskServer, path: str) -> None:
    request = f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n"
    said = raw(desk_server, request.encode("ascii"))
    assert said.split(" ")[1] in ("404", "400"), said[:200]
    assert "SECRET_KEY" not in said
    assert "root:" not in said


def test_a_body_that_tells_no_length_is_refused_when_it_grows_too_large(
    desk_server: DeskServer,
) -> None:
    path = desk_server.owner.new_log()
    cookies = "; ".join(f"{name}={value}" for name, value in desk_server.owner.cookies.items())
    chunk = b"10000\r\n" + b"x" * 0x10000 + b"\r\n"
    head = (
        f"POST {path}/changes HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\nCookie: {cookies}\r\n"
        f"X-CSRFToken: {desk_server.owner.pass_of_forms}\r\n"
        "Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n"
    )
    said = raw(desk_server, head.encode("ascii") + chunk * 70 + b"0\r\n\r\n")
    assert said.split(" ")[1] == "413"
    assert "Hand in a smaller one" in said


def test_the_server_does_not_say_what_it_is(desk_server: DeskServer) -> None:
    assert "Server" not in desk_server.owner.get("/").headers


def test_a_taken_port_is_said_in_one_sentence(desk_server: DeskServer, tmp_path: Path) -> None:
    with pytest.raises(
        OutputComplaint, match=f"port {desk_server.port} cannot be had .*is the desk open already"
    ):
        open_desk(DeskAsked(tmp_path, desk_server.port))


def test_a_port_that_is_none_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueComplaint, match="70000 is not a port"):
        open_desk(DeskAsked(tmp_path, 70000))


def test_a_desk_on_the_network_names_its_address_and_its_code(new_desk: Callable[..., DeskServer]) -> None:
    server = new_desk(network=True)
    assert "Others on this network: http://" in server.said
    assert "what is sent is not encrypted" in server.said
    code = server.said.split("join code ")[1].split()[0]
    assert len(code) == 6
    assert server.owner.get("/join").status == 302
    assert code in server.owner.get("/devices").body


def test_what_the_desk_keeps_is_its_owners_alone(new_desk: Callable[..., DeskServer], tmp_path: Path) -> None:
    (tmp_path / "desk").mkdir(mode=0o755)
    folder = new_desk().folder
    kept = {path.name: path.stat().st_mode & 0o077 for path in folder.iterdir()}
    assert "desk.sqlite3" in kept
    assert set(kept.values()) == {0}
    assert len((folder / "secret").read_text(encoding="ascii")) > 40


def test_two_desks_on_one_machine_let_their_people_in_side_by_side(
    new_desk: Callable[..., DeskServer], desk_server: DeskServer
) -> None:
    other = new_desk()
    both = {**desk_server.owner.cookies, **other.owner.cookies}
    assert len(both) == 4
    for desk in (desk_server, other):
        visitor = DeskVisitor(desk.port)
        visitor.cookies = dict(both)
        assert visitor.get("/devices").status == 200
