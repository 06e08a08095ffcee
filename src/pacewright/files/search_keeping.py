"""What a search has come to so far, kept in a folder, so that one that was stopped goes on."""

from __future__ import annotations

import hashlib
import io
import zipfile
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from pacewright.exceptions import OutputComplaint, Where
from pacewright.files.disk import write_bytes
from pacewright.ground.locate.search import Block, BlockFound
from pacewright.ground.terrain import Terrain

_LAYOUT: Final = 1


class SearchKeeping:
    """A folder of blocks that were searched, under a key of all that the search depends on.

    Parameters
    ----------
    folder
        Made if it is not there.
    log, walker, asked
        Their texts: whatever changes the answer.
    land
        The land.
    prior, streams
        What is known of the start, and of streams.
    """

    def __init__(
        self,
        folder: str,
        texts: tuple[str, ...],
        land: Terrain,
        prior: NDArray[np.float32] | None,
        streams: NDArray[np.bool_] | None,
    ) -> None:
        digest = hashlib.sha256(repr((_LAYOUT, texts, land.bounds, land.crs)).encode())
        for array in (land.elevation_m, prior, streams):
            if array is not None:
                digest.update(np.ascontiguousarray(array).tobytes())
        self._folder = Path(folder)
        self._key = digest.hexdigest()[:24]
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
        except OSError as refused:
            raise OutputComplaint(
                f"this folder cannot be made ({refused.strerror})", "Name another", Where(folder)
            ) from None

    def kept(self, block: Block) -> BlockFound | None:
        """What an earlier search came to for a block; None where there is nothing whole."""
        path = self._path(block)
        try:
            with np.load(path, allow_pickle=False) as held:
                return BlockFound(
                    block,
                    float(held["log_chance"]),
                    int(held["top"]),
                    int(held["left"]),
                    held["start"],
                    held["now"],
                    held["node_chance"],
                    bool(held["is_fine"]),
                    float(held["by_chance"]),
                )
        except (OSError, ValueError, KeyError, zipfile.BadZipFile):
            return None

    def keep(self, found: BlockFound) -> None:
        """Leave what a block came to."""
        held: dict[str, Any] = {
            name: getattr(found, name) for name in BlockFound.__slots__ if name != "block"
        }
        room = io.BytesIO()
        np.savez_compressed(room, **held)
        write_bytes(str(self._path(found.block)), room.getvalue(), force=True)

    def _path(self, block: Block) -> Path:
        name = "-".join(str(part) for part in asdict(block).values())
        return self._folder / f"{self._key}-{name}.npz"
