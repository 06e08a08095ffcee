"""Reading and writing whole files; what the system refuses becomes one sentence."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path
from typing import Final

from pacewright.exceptions import FormatComplaint, OutputComplaint, Where

LARGEST_BYTES: Final = 64 * 1024 * 1024
"""Of any file that is read whole; the readers of text take less."""


def read_bytes(path: str) -> bytes:
    """Read a file whole; `-` is standard input.

    Raises
    ------
    FormatComplaint
        There is no such file, it cannot be read, or it is larger than any notebook.
    """
    try:
        if path == "-":
            if sys.stdin is None:
                raise OSError("standard input is closed")
            data = sys.stdin.buffer.read(LARGEST_BYTES + 1)
        else:
            with Path(path).open("rb") as file:
                data = file.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as refused:
        reason = getattr(refused, "strerror", None) or str(refused)
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


def is_same_file(path: str, other: str) -> bool:
    """Tell whether two names stand for one file that is there; `-` is none."""
    if "-" in (path, other):
        return False
    try:
        return Path(path).samefile(other)
    except (OSError, ValueError):
        return False


def write_bytes(path: str, data: bytes, force: bool = False) -> None:
    """Write a file whole or not at all; `-` is standard output.

    Raises
    ------
    OutputComplaint
        A file of that name is there and `force` is not set, or the system refuses.
    """
    if path == "-":
        sys.stdout.buffer.write(data)
        return
    target = Path(path)
    try:
        if target.exists() and not force:
            raise OutputComplaint(
                "a file of this name is already there",
                "Give another name, or --force to write over it",
                Where(path),
            )
        _replace(target, data)
    except (OSError, ValueError) as refused:
        reason = getattr(refused, "strerror", None) or str(refused)
        raise OutputComplaint(
            f"this file cannot be written ({reason})",
            "Check the folder and that you may write there",
            Where(path),
        ) from None


def _replace(target: Path, data: bytes) -> None:
    # A device or a pipe cannot be replaced by renaming: write straight into it.
    if target.exists() and not target.is_file():
        target.write_bytes(data)
        return
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:40]}.")
    draft = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        draft.chmod(0o666 & ~_umask())
        draft.replace(target)
    except BaseException:
        draft.unlink(missing_ok=True)
        raise


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
