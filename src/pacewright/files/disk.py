"""Reading and writing whole files; what the system refuses becomes one sentence."""

from __future__ import annotations

import contextlib
import os
import stat
import sys
import tempfile
from contextvars import ContextVar
from pathlib import Path
from typing import Final

from pacewright.exceptions import FormatComplaint, OutputComplaint, Where

LARGEST_BYTES: Final = 64 * 1024 * 1024
"""Of any file that is read whole; the readers of text take less."""


def reason_of(refused: Exception) -> str:
    """What the system says against a file, without its number and name."""
    return getattr(refused, "strerror", None) or str(refused)


def read_bytes(path: str) -> bytes:
    """Read a file whole; `-` is standard input.

    Raises
    ------
    FormatComplaint
        There is no such file, it cannot be read, or it is larger than any notebook.
    """
    note_input(path)
    try:
        if path == "-":
            if sys.stdin is None:
                raise OSError("standard input is closed")
            data = sys.stdin.buffer.read(LARGEST_BYTES + 1)
        else:
            with Path(path).open("rb") as file:
                data = file.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as refused:
        reason = reason_of(refused)
        raise FormatComplaint(
            f"this file cannot be read ({reason})", "Check the name and that you may read it", Where(path)
        ) from None
    if len(data) > LARGEST_BYTES:
        raise FormatComplaint(
            f"this file is larger than {LARGEST_BYTES // 2**20} MB",
            "Give one travel log, not an archive",
            Where(path),
        )
    return data


_INPUTS: ContextVar[set[tuple[int, int]] | None] = ContextVar("inputs", default=None)


def watch_inputs() -> None:
    """Begin to remember what is read, so that nothing of it is written over: once, where a command begins."""
    _INPUTS.set(set())


def note_input(path: str) -> None:
    """Remember a file that is read, by what it is and not by its name, where a command watches."""
    inputs = _INPUTS.get()
    if inputs is not None and path != "-":
        inputs.update(_identity(path))


def _identity(path: str) -> set[tuple[int, int]]:
    try:
        found = Path(path).stat()
    except (OSError, ValueError):
        return set()
    return {(found.st_dev, found.st_ino)} if stat.S_ISREG(found.st_mode) else set()


def write_bytes(path: str, data: bytes, force: bool = False) -> None:
    """Write a file whole or not at all; `-` is standard output.

    A file that is there keeps its mode; a link stays, and what it leads to is written.

    Raises
    ------
    OutputComplaint
        A file of that name is there and `force` is not set, it is one that was read, or the system refuses.
    """
    if path == "-":
        sys.stdout.buffer.write(data)
        return
    if _identity(path) & (_INPUTS.get() or set()):
        raise OutputComplaint(
            "this file was read as input, and an input is never written over",
            "Give another name",
            Where(path),
        )
    target = Path(path)
    try:
        check_free(path, force)
        _replace(target.resolve(), data)
    except (OSError, ValueError) as refused:
        reason = reason_of(refused)
        raise OutputComplaint(
            f"this file cannot be written ({reason})",
            "Check the folder and that you may write there",
            Where(path),
        ) from None


def check_free(path: str, force: bool) -> None:
    """Refuse a name that a file has already, unless it may be written over.

    Raises
    ------
    OutputComplaint
        There is one.
    """
    if not force and Path(path).exists():
        raise OutputComplaint(
            "a file of this name is already there",
            "Give another name, or --force to write over it",
            Where(path),
        )


def make_folder(path: str) -> None:
    """Make a folder where there is none.

    Raises
    ------
    OutputComplaint
        The system refuses.
    """
    try:
        Path(path).mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as refused:
        reason = reason_of(refused)
        raise OutputComplaint(
            f"this folder cannot be made ({reason})",
            "Check the place and that you may write there",
            Where(path),
        ) from None


def _replace(target: Path, data: bytes) -> None:
    # A device or a pipe cannot be replaced by renaming: write straight into it.
    if target.exists() and not target.is_file():
        target.write_bytes(data)
        return
    mode = stat.S_IMODE(target.stat().st_mode) if target.exists() else 0o666 & ~_umask()
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:40]}.")
    draft = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            # On the disk before it takes the name: a machine that stops now has the old file or the new one.
            os.fsync(file.fileno())
        draft.chmod(mode)
        draft.replace(target)
        _sync_folder(target.parent)
    except BaseException:
        draft.unlink(missing_ok=True)
        raise


def _sync_folder(folder: Path) -> None:
    # Not every system opens a folder, and not every disk keeps one so: the file itself is safe by now.
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
