"""What a search has come to so far, kept in a folder, so that one that was stopped goes on."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.exceptions import OutputComplaint, Where
from pacewright.files.disk import write_bytes
from pacewright.files.kept_arrays import content_key, load_arrays, packed_arrays
from pacewright.ground.locate.search import Block, BlockFound
from pacewright.ground.terrain import Terrain

_LAYOUT: Final = 2
_KEPT: Final = tuple(name for name in BlockFound.__slots__ if name != "block")


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
        self._folder = Path(folder)
        told = _LAYOUT, texts, land.bounds, land.crs
        self._key = content_key(told, land.elevation_m, prior, streams)
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
        except OSError as refused:
            raise OutputComplaint(
                f"this folder cannot be made ({refused.strerror})", "Name another", Where(folder)
            ) from None

    def kept(self, block: Block) -> BlockFound | None:
        """What an earlier search came to for a block; None where there is nothing whole."""
        held = load_arrays(self._path(block), _KEPT)
        if held is None:
            return None
        try:
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
                float(held["surveyed"]),
            )
        except (ValueError, TypeError):
            return None

    def keep(self, found: BlockFound) -> None:
        """Leave what a block came to."""
        held = {name: getattr(found, name) for name in _KEPT}
        write_bytes(str(self._path(found.block)), packed_arrays(held, is_small=True), force=True)

    def _path(self, block: Block) -> Path:
        name = "-".join(str(part) for part in asdict(block).values())
        return self._folder / f"{self._key}-{name}.npz"
