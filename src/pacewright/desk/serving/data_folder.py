"""The folder where the desk keeps what is typed, the secret that seals its sessions, and the ports it had."""

from __future__ import annotations

import hashlib
import os
import secrets
from pathlib import Path
from typing import Final

from pacewright.exceptions import OutputComplaint, Where

MOST_PORTS: Final = 4
_MARK_LETTERS: Final = 8


def data_folder() -> Path:
    """The desk's data folder, made if it was not there, for its owner's eyes alone.

    It is `PACEWRIGHT_DATA` if that is set, else the folder that this system keeps for a user's data.

    Raises
    ------
    OutputComplaint
        It cannot be made or written in.
    """
    stated = os.environ.get("PACEWRIGHT_DATA")
    folder = Path(stated).expanduser() if stated else _usual_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as refused:
        raise OutputComplaint(
            f"the data folder cannot be made ({refused.strerror})",
            "Give another with --data",
            Where(str(folder)),
        ) from None
    if not os.access(folder, os.W_OK | os.X_OK):
        raise OutputComplaint(
            "the data folder cannot be written in", "Give another with --data", Where(str(folder))
        )
    return folder


def _usual_folder() -> Path:
    from platformdirs import user_data_path

    return user_data_path("pacewright", appauthor=False)


def secret_of(folder: Path) -> str:
    """The folder's secret, made at the first start."""
    path = folder / "secret"
    try:
        return path.read_text(encoding="ascii").strip() or _new_secret(path)
    except FileNotFoundError:
        return _new_secret(path)


def mark_of(secret: str) -> str:
    """Some letters that tell the desks of one machine apart, and tell nothing of the secret."""
    return hashlib.sha256(f"mark of {secret}".encode()).hexdigest()[:_MARK_LETTERS]


def kept_ports(folder: Path) -> list[int]:
    """The ports that the desk of a folder was open at, the latest first.

    A browser keeps what it could not send under the address with its port: a desk that comes back
    somewhere else would leave it behind.
    """
    try:
        words = (folder / "port").read_text(encoding="ascii").split()
    except (OSError, UnicodeDecodeError):
        return []
    ports = [int(word) for word in words if word.isdecimal() and len(word) < 6]
    return [port for port in ports if 0 < port < 65536][:MOST_PORTS]


def keep_port(folder: Path, port: int) -> None:
    """Remember the port that the desk is open at."""
    ports = [port, *(one for one in kept_ports(folder) if one != port)]
    path = folder / "port"
    path.write_text("".join(f"{one}\n" for one in ports[:MOST_PORTS]), encoding="ascii")
    path.chmod(0o600)


def _new_secret(path: Path) -> str:
    secret = secrets.token_urlsafe(48)
    # Made with its permissions, not given them afterwards: nobody reads it in between.
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(secret)
    return secret
