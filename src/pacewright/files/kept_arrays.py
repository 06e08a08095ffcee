"""Arrays kept in a file, under a key of all that they depend on."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

Arrays = Mapping[str, Any]


def content_key(told: tuple[object, ...], *arrays: np.ndarray[Any, Any] | None) -> str:
    """24 hex digits that change with what is told and with any number of the arrays; None is passed over."""
    digest = hashlib.sha256(repr(told).encode())
    for array in arrays:
        if array is not None:
            digest.update(np.ascontiguousarray(array).tobytes())
    return digest.hexdigest()[:24]


def load_arrays(path: Path, names: tuple[str, ...]) -> dict[str, Any] | None:
    """The arrays of these names; None where there is nothing whole."""
    try:
        with np.load(path, allow_pickle=False) as held:
            return {name: held[name] for name in names}
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None


def packed_arrays(arrays: Arrays, *, is_small: bool = False) -> bytes:
    """A file of arrays, packed tight where they are small."""
    room = io.BytesIO()
    (np.savez_compressed if is_small else np.savez)(room, **arrays)
    return room.getvalue()
