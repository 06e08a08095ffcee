"""A worker: takes one question after the other from its standard input, and gives each its answer.

It is started as a module of its own, so it works on every system alike and holds nothing of the desk's
lines and threads. It ends when the desk does.
"""

from __future__ import annotations

import os
import pickle
import queue
import struct
import sys
import threading
import traceback
from importlib import import_module
from typing import IO, Any, Final

from pacewright.desk.workers.lending import held_bytes, limit_memory
from pacewright.desk.workers.progress import hand_progress_to
from pacewright.exceptions import Complaint

HEAD: Final = struct.Struct("<Q")
PROGRESS: Final = "progress"
"""What a message is that tells how far an answer is, before it is there."""


def write_message(out: IO[bytes], data: bytes) -> None:
    """Send bytes, their number first."""
    out.write(HEAD.pack(len(data)) + data)
    out.flush()


def read_message(source: IO[bytes]) -> bytes | None:
    """What was sent; None where the other end is gone."""
    head = source.read(HEAD.size)
    if len(head) < HEAD.size:
        return None
    (length,) = HEAD.unpack(head)
    data = source.read(length)
    return data if len(data) == length else None


def answer(message: bytes) -> tuple[str, Any]:
    """What became of a question: `done` and the answer, or why there is none.

    Parameters
    ----------
    message
        Pickled: the function's module and name, and what it is called with.

    Returns
    -------
    tuple
        `done` and the answer, `complaint` and the complaint, `memory` and None, or `broken` and the trace.
    """
    try:
        module, name, arguments = pickle.loads(message)
        return "done", getattr(import_module(module), name)(*arguments)
    except Complaint as complaint:
        return "complaint", complaint
    except MemoryError:
        return "memory", None
    except Exception:
        return "broken", traceback.format_exc()


def main() -> None:
    """Work until the desk closes the line."""
    most_mb = int(sys.argv[1])
    out, source = _own_lines()
    asked: queue.SimpleQueue[bytes] = queue.SimpleQueue()
    _set_up()
    limit_memory(most_mb)
    threading.Thread(target=_take, args=(source, asked), daemon=True).start()
    write_message(out, b"ready")
    hand_progress_to(
        lambda done, of: write_message(out, pickle.dumps((PROGRESS, pickle.dumps((done, of)), 0)))
    )
    while True:
        kind, found = answer(asked.get())
        try:
            held = pickle.dumps(found, pickle.HIGHEST_PROTOCOL)
        except MemoryError:
            kind, held = "memory", pickle.dumps(None)
        del found
        write_message(out, pickle.dumps((kind, held, held_bytes())))


def _own_lines() -> tuple[IO[bytes], IO[bytes]]:
    """The line to the desk; nothing else is ever printed onto it."""
    out = os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    os.close(nothing)
    return out, sys.stdin.buffer


def _take(source: IO[bytes], asked: queue.SimpleQueue[bytes]) -> None:
    """Hand on what the desk asks; where it is gone, end at once, whatever is being worked out."""
    while (message := read_message(source)) is not None:
        asked.put(message)
    os._exit(0)


def _set_up() -> None:
    if hasattr(os, "nice"):
        # Whoever saves a row goes first.
        os.nice(5)
    import django

    django.setup()
    # What nearly every answer needs, so that the limit on memory counts from here.
    for name in ("numpy", "scipy.linalg", "scipy.special", "pacewright.answers.closing"):
        import_module(name)


if __name__ == "__main__":
    main()
