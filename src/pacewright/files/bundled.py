"""The files that ship with the tool."""

from __future__ import annotations

from importlib import resources
from typing import Final

DEMO_LOG: Final = "cinder_fen.csv"
DEMO_WALKER: Final = "ines_rowe.toml"


def bundled(name: str) -> bytes:
    """Read a file that ships with the tool."""
    return resources.files("pacewright").joinpath("data", name).read_bytes()
