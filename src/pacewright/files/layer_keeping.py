"""What a search reads of a land, kept for the next search: beside the land's file, or in the cache folder."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.exceptions import OutputComplaint
from pacewright.files.disk import write_bytes
from pacewright.files.kept_arrays import content_key, load_arrays, packed_arrays
from pacewright.ground.locate.land_layers import KeepLayers, Make
from pacewright.ground.locate.layers import GroundLayers
from pacewright.ground.terrain import Terrain

LEAST_CELLS: Final = 300_000
"""The layers of a smaller land are made in the time that reading them takes."""
_LAYOUT: Final = 2
"""To be raised when what a walker would call a cell is reckoned in another way."""


def keeper_beside(path: str, least_cells: int = LEAST_CELLS) -> KeepLayers:
    """What keeps the layers of a file's land, under a key of all that they depend on.

    Parameters
    ----------
    path
        The file of heights: its layers go into the folder `NAME.layers` beside it; where its own folder
        cannot be written, into that name in the cache folder of whoever works here. Where neither can be
        written, nothing is kept.
    least_cells
        Smaller lands are not kept.
    """

    def keep(land: Terrain, streams: NDArray[np.bool_] | None, make: Make) -> GroundLayers:
        if land.elevation_m.size < least_cells:
            return make()
        told = _LAYOUT, land.cell_east_m, land.elevation_m.shape
        name = f"{content_key(told, land.elevation_m, streams)}.npz"
        folders = _folders(Path(path))
        for folder in folders:
            found = _read(folder / name, land)
            if found is not None:
                return found
        made = make()
        for folder in folders:
            if _written(folder, name, made):
                break
        return made

    return keep


def throw_layers(path: str) -> None:
    """Delete what was kept of a file's land, wherever it was kept."""
    for folder in _folders(Path(path)):
        shutil.rmtree(folder, ignore_errors=True)


def _folders(path: Path) -> list[Path]:
    from platformdirs import user_cache_path

    name = f"{path.name}.layers"
    return [path.absolute().parent / name, user_cache_path("pacewright") / name]


def _read(path: Path, land: Terrain) -> GroundLayers | None:
    """What was kept; None where there is nothing whole."""
    held = load_arrays(path, ("kind", "stream", "height", "relief_m", "standing_m"))
    if held is None:
        return None
    kind, stream, height = held["kind"], held["stream"], held["height"]
    if not kind.shape == stream.shape == height.shape == land.elevation_m.shape:
        return None
    spread_m = float(held["relief_m"]), float(held["standing_m"])
    return GroundLayers(
        height, kind, stream, land.west_m, land.north_m, land.cell_east_m, land.crs, *spread_m
    )


def _written(folder: Path, name: str, made: GroundLayers) -> bool:
    held = {"kind": made.kind, "stream": made.stream, "height": made.height_m}
    held |= {"relief_m": np.array(made.relief_m), "standing_m": np.array(made.standing_m)}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not os.access(folder, os.W_OK):
            return False
        write_bytes(str(folder / name), packed_arrays(held), force=True)
    except (OSError, OutputComplaint):
        return False
    return True
