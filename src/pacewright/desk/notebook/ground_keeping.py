"""Keep terrain that was handed in: under an identity of our own, and only what can be read as heights."""

from __future__ import annotations

import os
import sys
import uuid
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, Final

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile

from pacewright.core.plain_text import clean_line
from pacewright.desk.models import LONGEST_NAME, Ground, Member
from pacewright.exceptions import Complaint, ValueComplaint, pip_line

if TYPE_CHECKING:
    from pacewright.ground.locate.land_layers import LandLayers
    from pacewright.ground.terrain import Terrain

MOST_CELLS: Final = 4_000_000
"""Larger land is read in coarser cells: a page is drawn from it, and it is held in memory."""
DEMO_NAME: Final = "The land of the example"


def terrain_line() -> str:
    """The line to run before land can be read; empty where it can."""
    from pacewright.files.elevation import can_read_terrain

    return "" if can_read_terrain() else f'"{sys.executable}" -m {pip_line("terrain")}'


def keep_ground(owner: Member, name: str, sent: UploadedFile) -> Ground:
    """Keep a terrain file, after it was read as one.

    Parameters
    ----------
    owner
        Whose it is.
    name
        What to call it on the page; the file itself bears only its identity.
    sent
        What was handed in.

    Raises
    ------
    Complaint
        It is too large, or no terrain that can be read.
    """
    if not sent.size or sent.size > settings.MOST_FILE_BYTES:
        raise ValueComplaint(
            f"the file is empty or larger than {settings.MOST_FILE_BYTES // 1_000_000} MB",
            "Cut the terrain to the land you walk in",
        )
    identity = uuid.uuid4()
    _put_in_place(identity, sent.chunks())
    bare = clean_line(name)[:LONGEST_NAME]
    return Ground.objects.create(id=identity, owner=owner, name=bare or f"Ground {owner.grounds.count() + 1}")


def ground_bytes(ground: Ground) -> bytes | None:
    """The terrain file as it was handed in; None for the land of the demo, and where it is gone."""
    try:
        return None if ground.is_demo else _path(ground.pk).read_bytes()
    except OSError:
        return None


def put_ground_back(identity: uuid.UUID, data: bytes) -> Path | None:
    """Put a terrain file of a backup in its place, after it was read as one; None where one lies there.

    Raises
    ------
    Complaint
        It is no terrain that can be read.
    """
    if _path(identity).exists():
        return None
    _put_in_place(identity, [data])
    return _path(identity)


def _put_in_place(identity: uuid.UUID, pieces: Iterable[bytes]) -> None:
    """Write a terrain file, and put it in its place once it was read as one."""
    coming = _folder() / f"{identity}.part"
    try:
        with _new_file(coming) as file:
            for piece in pieces:
                file.write(piece)
        _read(str(coming))
        coming.replace(_path(identity))
    except Complaint as complaint:
        # Where the file lay here is nobody's matter.
        raise type(complaint)(complaint.what, complaint.do) from None
    finally:
        coming.unlink(missing_ok=True)


def demo_ground_of(owner: Member) -> Ground:
    """The land of the demo as a member's ground."""
    return Ground.objects.get_or_create(owner=owner, is_demo=True, defaults={"name": DEMO_NAME})[0]


def throw_ground(ground: Ground) -> None:
    """Take a terrain file off the desk, with what searches kept of it; logs that were drawn on it stay."""
    from pacewright.files.layer_keeping import throw_layers

    path = _path(ground.pk)
    ground.delete()
    path.unlink(missing_ok=True)
    throw_layers(str(path))


def terrain_of(ground: Ground) -> Terrain:
    """Read a kept ground.

    Raises
    ------
    Complaint
        The reader of rasters is not installed, or the file is gone or damaged.
    """
    if ground.is_demo:
        return _demo()
    try:
        return _kept(str(_path(ground.pk)))
    except Complaint as complaint:
        raise type(complaint)(complaint.what, complaint.do) from None


def layers_of(ground: Ground, land: Terrain) -> LandLayers:
    """The layers of a ground that is searched, kept beside its file as the command keeps them.

    Parameters
    ----------
    ground
        Whose land it is.
    land
        From `land_to_search`.
    """
    from pacewright.files.layer_keeping import keeper_beside
    from pacewright.ground.locate.land_layers import LandLayers

    return LandLayers(land, None, keeper_beside(str(_path(ground.pk))))


def _folder() -> Path:
    folder = Path(settings.DATA) / "ground"
    folder.mkdir(mode=0o700, exist_ok=True)
    return folder


def _path(identity: uuid.UUID) -> Path:
    return _folder() / f"{identity}.tif"


def _new_file(path: Path) -> BinaryIO:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    return os.fdopen(handle, "wb")


def _read(path: str) -> Terrain:
    from pacewright.files.elevation import read_terrain

    return read_terrain(path, most_cells=MOST_CELLS)


@lru_cache(maxsize=1)
def _demo() -> Terrain:
    from pacewright.files.elevation import demo_ground

    return demo_ground()


@lru_cache(maxsize=2)
def _kept(path: str) -> Terrain:
    # A file never changes under its identity.
    return _read(path)
