"""A backup of the desk: plain files and one manifest in a zip, and reading one that anybody may have made.

Nothing of it is ever unpacked to a name that it states: its files are read into memory, within limits, and
looked up by the names in its own manifest.
"""

from __future__ import annotations

import io
import json
import re
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from pacewright.exceptions import Complaint, FormatComplaint

KIND: Final = "pacewright backup"
VERSION: Final = 1
MANIFEST: Final = "manifest.json"
MOST_ENTRIES: Final = 20_000
MOST_BYTES: Final = 300_000_000
"""Of all files together, unpacked."""
MOST_MANIFEST_BYTES: Final = 64_000_000
_NAME: Final = re.compile(r"(?:[a-z]+/)?[A-Za-z0-9][A-Za-z0-9._-]{0,120}")
_DIRECTORY_ENTRY: Final = b"PK\x01\x02"
_EPOCH: Final = (1980, 1, 1, 0, 0, 0)
_DO: Final = "Give the file that the desk made under Backup"


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was read: its manifest, and its other files by name."""

    manifest: Mapping[str, Any]
    files: Mapping[str, bytes]


def write_backup(manifest: Mapping[str, Any], files: Mapping[str, bytes]) -> bytes:
    """Write a backup; the same content gives the same bytes."""
    out = io.BytesIO()
    told = {"kind": KIND, "version": VERSION, **manifest}
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in {MANIFEST: manifest_bytes(told), **files}.items():
            archive.writestr(zipfile.ZipInfo(name, _EPOCH), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def manifest_bytes(manifest: Mapping[str, Any]) -> bytes:
    """Write a manifest alone."""
    return json.dumps(manifest, ensure_ascii=False, indent=1, allow_nan=False).encode("utf-8")


def read_backup(data: bytes) -> Backup:
    """Read a backup, or say why this is none.

    Raises
    ------
    FormatComplaint
        It is no backup, is damaged, holds too much, or a name in it leads elsewhere.
    """
    # Looked at before the directory is read: a million entries would be.
    if data.count(_DIRECTORY_ENTRY) > 2 * MOST_ENTRIES:
        raise FormatComplaint(f"this archive holds more than {MOST_ENTRIES} files", _DO)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = archive.infolist()
            _check(infos)
            files = {info.filename: _unpacked(archive, info) for info in infos}
    except Complaint:
        raise
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, RuntimeError, NotImplementedError):
        raise FormatComplaint("this is no backup, or it is damaged", _DO) from None
    manifest = _manifest(files.pop(MANIFEST))
    return Backup(manifest, files)


def _check(infos: list[zipfile.ZipInfo]) -> None:
    names = [info.filename for info in infos]
    if len(infos) > MOST_ENTRIES:
        raise FormatComplaint(f"this archive holds more than {MOST_ENTRIES} files", _DO)
    if len(set(names)) < len(names):
        raise FormatComplaint("this archive holds a name twice", _DO)
    if not all(_NAME.fullmatch(name) and ".." not in name for name in names):
        raise FormatComplaint("this archive holds a name that no backup has", _DO)
    if any(info.flag_bits & 1 for info in infos):
        raise FormatComplaint("this archive is locked with a password", "Give it without one")
    if sum(info.file_size for info in infos) > MOST_BYTES:
        raise FormatComplaint(f"this archive unpacks to more than {MOST_BYTES // 1_000_000} MB", _DO)
    if MANIFEST not in names:
        raise FormatComplaint(f"this archive holds no {MANIFEST}, so it is no backup", _DO)
    if next(info for info in infos if info.filename == MANIFEST).file_size > MOST_MANIFEST_BYTES:
        raise FormatComplaint(f"the {MANIFEST} of this backup is too large", _DO)


def _unpacked(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> bytes:
    # Never more than it says of itself, and what it says was added up before.
    data = archive.read(info)
    if len(data) != info.file_size:
        raise zipfile.BadZipFile
    return data


def _manifest(data: bytes) -> dict[str, Any]:
    try:
        found = json.loads(data.decode("utf-8"), parse_constant=_no_number)
        # A lone half of a letter cannot be kept.
        json.dumps(found, ensure_ascii=False).encode("utf-8")
    except (ValueError, RecursionError):
        raise FormatComplaint(f"the {MANIFEST} of this backup cannot be read", _DO) from None
    if not isinstance(found, dict) or found.get("kind") != KIND:
        raise FormatComplaint(f"the {MANIFEST} is none of a backup of the desk", _DO)
    if found.get("version") != VERSION:
        raise FormatComplaint(
            "this backup was made by another version of the desk", "Restore it with the version that made it"
        )
    return found


def _no_number(name: str) -> float:
    raise ValueError(name)
