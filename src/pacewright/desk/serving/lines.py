"""The lines that browsers open to the desk: how many, how long silent, how much before anybody signed in.

The server reads whatever comes before the desk itself is asked. So what one address may hold open, how long
half a request may take, and how large a body may be, is settled here.
"""

from __future__ import annotations

import copy
import select
import socket
import ssl
import time
from collections import OrderedDict
from collections.abc import Hashable, Sequence
from threading import Lock
from typing import Any, Final

from waitress import wasyncore
from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.server import TcpWSGIServer
from waitress.utilities import RequestEntityTooLarge

from pacewright.desk.serving.https.line import HELLO, EncryptedLine, first_byte

THREADS: Final = 8
MOST_LINES: Final = 1000
"""The server's own limit of 100 lets stalled phones keep everybody else out."""
MOST_LINES_OF_ADDRESS: Final = 400
MOST_BODY_BYTES: Final = 66_000_000
MOST_GUEST_BODY_BYTES: Final = 9_000_000
MOST_STRANGER_BODY_BYTES: Final = 64_000
"""A name and a code, or a link's button: nobody else has anything to send before they are let in."""
SILENT_S: Final = 75
CLEANUP_S: Final = 2
HEAD_S: Final = 15.0
"""A head that is not whole by then comes from nobody who wants an answer."""
LEAST_BODY_BYTES_S: Final = 8_000.0
"""A slow phone at the edge of a hotspot sends faster than this."""
MOST_KNOWN: Final = 5_000


class KnownBrowsers:
    """The browsers that were let in, as this run of the desk has seen them, and what each may send."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._known: OrderedDict[str, tuple[Hashable, bool]] = OrderedDict()

    def see(self, key: str, whose: Hashable, *, is_owner: bool) -> None:
        """Remember a browser by the key of its session, and whose it is."""
        with self._lock:
            self._known[key] = whose, is_owner
            self._known.move_to_end(key)
            if len(self._known) > MOST_KNOWN:
                self._known.popitem(last=False)

    def find(self, key: str) -> tuple[Hashable, bool] | None:
        """Whose browser it is, and whether that is an owner of the desk; None of a browser not seen yet."""
        with self._lock:
            return self._known.get(key)

    def most_body_bytes(self, key: str) -> int:
        """How much the bearer of a session key may send at once."""
        found = self.find(key)
        if found is None:
            return MOST_STRANGER_BODY_BYTES
        return MOST_BODY_BYTES if found[1] else MOST_GUEST_BODY_BYTES


KNOWN_BROWSERS: Final = KnownBrowsers()


class DeskParser(HTTPRequestParser):
    """Reads a request, no larger than its sender may send."""

    adj: Any
    error: Any

    def parse_header(self, header_plus: bytes) -> None:
        """Read the head, and set the limit of what follows it."""
        super().parse_header(header_plus)
        most = KNOWN_BROWSERS.most_body_bytes(_session_key(self.headers.get("COOKIE", ""), self.adj.cookie))
        self.adj = _limited(self.adj, most)

    def received(self, data: bytes) -> int:
        """Take what came; what is too large is refused with a sentence."""
        consumed: int = super().received(data)
        if isinstance(self.error, RequestEntityTooLarge):
            self.error = RequestEntityTooLarge(
                f"The desk takes at most {self.adj.max_request_body_size // 1000} kB from this browser. "
                "Open the desk in it first, or send less at once."
            )
        return consumed


def _limited(adj: Any, most_body_bytes: int) -> Any:
    """The server's settings with another limit on bodies; each is made once."""
    found = adj.limited.get(most_body_bytes)
    if found is None:
        found = adj.limited[most_body_bytes] = copy.copy(adj)
        found.max_request_body_size = most_body_bytes
    return found


def _session_key(header: str, cookie: str) -> str:
    pairs = (part.strip().partition("=") for part in header.split(";"))
    return {name: value for name, _, value in pairs}.get(cookie, "")


class DeskChannel(HTTPChannel):
    """One line: it remembers since when a request has been coming in."""

    parser_class = DeskParser
    adj: Any
    socket: Any
    began_s: float | None = None

    def received(self, data: bytes) -> Any:
        """Take what came, and note when the request that it belongs to began."""
        if self.began_s is None:
            self.began_s = time.time()
        taken = super().received(data)
        if self.request is None:
            self.began_s = None
        return taken

    def is_overdue(self, now_s: float) -> bool:
        """True where half a request has been here too long, or an answer that nobody fetches."""
        if self.total_outbufs_len and self.last_activity < now_s - self.adj.channel_timeout:
            return True
        if self.began_s is None:
            return False
        body_bytes = 0.0 if self.request is None else self.request.body_bytes_received
        return now_s - self.began_s > HEAD_S + body_bytes / LEAST_BODY_BYTES_S


class EncryptedChannel(DeskChannel):
    """One line that may be encrypted: its first byte tells.

    A line that is half agreed on costs nobody else anything: every step is taken when something came, and
    one that is not agreed on in the time that a head has is hung up on.
    """

    is_told = False

    def handle_read(self) -> None:
        """Take what came: a step of the agreement, or what was sent."""
        if not self.is_told and not self._tell():
            return
        if not isinstance(self.socket, EncryptedLine):
            super().handle_read()
            return
        was_agreed = self.socket.is_agreed
        # All of it at once: what the encryption holds already, the system tells nobody of.
        while self.connected and self.socket.fill():
            super().handle_read()
        if self.socket.is_agreed and not was_agreed and self.request is None:
            self.began_s = None

    def _tell(self) -> bool:
        first = first_byte(self.socket)
        if first is None:
            return False
        self.is_told = True
        if first == HELLO:
            try:
                self.socket = EncryptedLine(self.socket, self.adj.encryption)
            except OSError:
                # It left meanwhile.
                self.handle_close()
                return False
            self.began_s, self.adj = time.time(), self.adj.encrypted
        return True


class DeskLines(TcpWSGIServer):
    """The server, with the desk's own limits on its lines."""

    @property
    def lines_of_all(self) -> Any:
        """What is open at every port of this desk: one loop looks after all of it."""
        return self._map

    def close(self) -> None:
        """Close every port, and every line to it."""
        wasyncore.close_all(self.lines_of_all, ignore_all=True)

    def channel_class(self, _: Any, line: socket.socket, address: Any, adj: Any, map: Any) -> Any:
        """Open a line, unless its address holds as many as one may."""
        held = sum(1 for one in self.active_channels.values() if one.addr[0] == address[0])
        if held >= MOST_LINES_OF_ADDRESS:
            line.close()
            return None
        kind = DeskChannel if adj.encryption is None else EncryptedChannel
        return kind(self, line, address, adj, map=map)

    def maintenance(self, now: float) -> None:
        """Hang up on lines that are silent, and on those that only trickle."""
        super().maintenance(now)
        for one in list(self.active_channels.values()):
            if one.is_overdue(now):
                one.will_close = True
                _wake(one.socket)


def _wake(line: socket.socket) -> None:
    try:
        # A line whose other end reads nothing never becomes ready by itself, and would never be closed.
        line.shutdown(socket.SHUT_RDWR)
    except OSError:
        return


def serve_lines(
    application: Any,
    listeners: Sequence[socket.socket],
    cookie: str,
    encryption: ssl.SSLContext | None = None,
) -> DeskLines:
    """A server of an application on sockets that hold their ports; it runs them all.

    Parameters
    ----------
    application
        WSGI.
    listeners
        Bound, and not listening yet.
    cookie
        The name of the cookie that holds the key of a session.
    encryption
        How lines that ask for it are encrypted; None where none is.
    """
    _open_more_files()
    adj = Adjustments(
        sockets=list(listeners),
        threads=THREADS,
        connection_limit=MOST_LINES,
        max_request_body_size=MOST_BODY_BYTES,
        channel_timeout=SILENT_S,
        cleanup_interval=CLEANUP_S,
        # A thread does not wait for a phone that fetches slowly: what is large lies in a file meanwhile.
        outbuf_high_watermark=200_000_000,
        # So the server notices at once when a browser has left.
        channel_request_lookahead=1,
        # Above a thousand open lines the other way of waiting breaks.
        asyncore_use_poll=hasattr(select, "poll"),
        ident=None,
    )
    adj.cookie, adj.limited, adj.encryption = cookie, {}, encryption
    adj.encrypted = copy.copy(adj)
    adj.encrypted.limited, adj.encrypted.url_scheme = {}, "https"
    first: DeskLines | None = None
    for one in listeners:
        made = DeskLines(
            application,
            map={} if first is None else first.lines_of_all,
            adj=adj,
            sockinfo=(one.family, one.type, one.proto, one.getsockname()),
            _sock=one,
            bind_socket=False,
            dispatcher=None if first is None else first.task_dispatcher,
        )
        first = first or made
    assert first is not None, "a desk has a door"
    return first


def _open_more_files() -> None:
    """Let this process hold as many lines open as it takes; some systems give 256 at first."""
    try:
        import resource
    except ImportError:
        return
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = 4 * MOST_LINES
    if soft == resource.RLIM_INFINITY or soft >= wanted:
        return
    try:
        most = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))
    except (OSError, ValueError):
        return
