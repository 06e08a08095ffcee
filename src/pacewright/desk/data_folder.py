"""The folder where the desk keeps what is typed, and the secret that seals its sessions."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from pacewright.exceptions import OutputComplaint, Where


def data_folder() -> Path:
    """Give the desk's data folder, made if it was not there, for its owner's eyes alone.

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
    """Give the folder's secret, made at the first start."""
    path = folder / "secret"
    try:
        return path.read_text(encoding="ascii").strip() or _new_secret(path)
    except FileNotFoundError:
        return _new_secret(path)


def _new_secret(path: Path) -> str:
    secret = secrets.token_urlsafe(48)
    # Made with its permissions, not given them afterwards: nobody reads it in between.
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(secret)
    return secret
