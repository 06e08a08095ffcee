"""The keys of --json."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np


def encode(data: Any) -> bytes:
    """Give one line of JSON; a number that is not finite becomes null."""
    return msgspec.json.encode(data, enc_hook=_plain)


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"{type(value).__name__} has no place in JSON")
