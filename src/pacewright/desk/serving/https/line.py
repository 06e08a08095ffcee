"""An encrypted line: a socket that never waits, and that two threads of the server may use."""

from __future__ import annotations

import errno
import socket
import ssl
from threading import Lock
from typing import Final

HELLO: Final = 22
"""The first byte of every line that begins with TLS (RFC 8446, 5.1: a record of the type handshake)."""
_RECORD_BYTES: Final = 16_384
"""The most that one record holds (RFC 8446, 5.1)."""
_NOT_YET: Final = (ssl.SSLWantReadError, ssl.SSLWantWriteError)


def first_byte(line: socket.socket) -> int | None:
    """The first byte, leaving it there; -1 where the line ended, None where nothing came yet."""
    try:
        found = line.recv(1, socket.MSG_PEEK)
    except BlockingIOError:
        return None
    except OSError:
        return -1
    return found[0] if found else -1


class EncryptedLine:
    """What the server takes for a socket: one thread at a time is inside the library that encrypts.

    Parameters
    ----------
    line
        Accepted, and set not to wait.
    context
        How it is encrypted.
    """

    def __init__(self, line: socket.socket, context: ssl.SSLContext) -> None:
        self._line = context.wrap_socket(
            line, server_side=True, do_handshake_on_connect=False, suppress_ragged_eofs=True
        )
        self._lock = Lock()
        self._came = b""
        self._is_ended = False
        self.is_agreed = False

    def fill(self) -> bool:
        """Go on with what came; true where `recv` has something to give, be it the end of the line."""
        with self._lock:
            if self._came or self._is_ended:
                return True
            try:
                if not self.is_agreed:
                    self._line.do_handshake()
                    self.is_agreed = True
                self._came = self._line.recv(_RECORD_BYTES)
            except _NOT_YET:
                return False
            except (OSError, ValueError):
                # Whatever is wrong with a line, it is over; the others go on.
                self._came = b""
            self._is_ended = not self._came
            return True

    def recv(self, size: int) -> bytes:
        """What `fill` found; nothing where the line ended."""
        with self._lock:
            given, self._came = self._came[:size], self._came[size:]
            return given

    def send(self, data: bytes) -> int:
        """Send as much as goes at once, and give how much.

        Raises
        ------
        BlockingIOError
            Nothing goes at present.
        """
        with self._lock:
            try:
                return self._line.send(data[:_RECORD_BYTES])
            except _NOT_YET:
                raise BlockingIOError(errno.EWOULDBLOCK, "nothing goes at present") from None
            except ssl.SSLError:
                raise ConnectionResetError(errno.ECONNRESET, "the line is over") from None

    def fileno(self) -> int:
        """The number that the system knows the line by."""
        return self._line.fileno()

    def shutdown(self, how: int) -> None:
        """End the line below the encryption: what waits for it wakes up."""
        socket.socket.shutdown(self._line, how)

    def close(self) -> None:
        """Close the line."""
        with self._lock:
            self._line.close()
