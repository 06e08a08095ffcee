"""A backup of the desk: plain files and one manifest in a zip, and reading one that anybody may have made.

Nothing of it is ever unpacked to a name that it states: its files are looked up by the names in its own
manifest, each unpacked into memory when it is asked for, a piece at a time and never beyond its stated size.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, Self

import msgspec

from pacewright.exceptions import Complaint, FormatComplaint

KIND: Final = "pacewright backup"
VERSION: Final = 1
MANIFEST: Final = "manifest.json"
MOST_ENTRIES: Final = 20_000
MOST_BYTES: Final = 300_000_000
"""Of all files together, unpacked."""
MOST_MANIFEST_BYTES: Final = 32_000_000
MOST_GUEST_MANIFEST_BYTES: Final = 8_000_000
"""A guest's two hundred logs of sixty rows are a tenth of it, with all that undo would take back a half."""
_MOST_MANIFEST_MEMORY: Final = 400_000_000
_CONTAINER_BYTES: Final = 150
_VALUE_BYTES: Final = 80
"""What a list or an object, and a value in one, take in memory at most, about (measured)."""
_PIECE: Final = 1 << 20
_NAME: Final = re.compile(r"(?:[a-z]+/)?[A-Za-z0-9][A-Za-z0-9._-]{0,120}")
_DIRECTORY_ENTRY: Final = b"PK\x01\x02"
_EPOCH: Final = (1980, 1, 1, 0, 0, 0)
_METHODS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_DO: Final = "Give the file that the desk made under Backup"
_REFUSED: Final = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    OSError,
    ValueError,
    RuntimeError,
    NotImplementedError,
)


class Packed(Mapping[str, bytes]):
    """The files of an archive by name, each unpacked when it is asked for."""

    def __init__(self, archive: zipfile.ZipFile, infos: Mapping[str, zipfile.ZipInfo]) -> None:
        self._archive, self._infos = archive, infos

    def __getitem__(self, name: str) -> bytes:
        """Unpack a file; it was found whole when the archive was read."""
        return b"".join(_pieces(self._archive, self._infos[name]))

    def __iter__(self) -> Iterator[str]:
        """The names."""
        return iter(self._infos)

    def __len__(self) -> int:
        """How many files there are."""
        return len(self._infos)

    def __contains__(self, name: object) -> bool:
        """Whether there is a file of this name, without unpacking it."""
        return name in self._infos


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was read: its manifest, and its other files by name."""

    manifest: Mapping[str, Any]
    files: Mapping[str, bytes]


class Draft:
    """A backup while it is made: every file is packed and every record written as it comes, within limits.

    Parameters
    ----------
    most_manifest_bytes
        What all records together may take.
    """

    def __init__(self, most_manifest_bytes: int = MOST_MANIFEST_BYTES) -> None:
        self._out = io.BytesIO()
        self._archive = zipfile.ZipFile(self._out, "w", zipfile.ZIP_DEFLATED)
        self._records: dict[str, Any] = {}
        self._room = most_manifest_bytes - 10_000
        self._files = 1
        self._unpacked = most_manifest_bytes

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        """Close what is left half-made: the interpreter would complain of it on the terminal later."""
        self._archive.close()

    def add_record(self, kind: str, record: Mapping[str, Any]) -> bool:
        """Write a record, if there is room for it; tell whether there was."""
        raw = msgspec.json.encode(record)
        if len(raw) >= self._room:
            return False
        self._room -= len(raw) + 1
        self._records.setdefault(kind, []).append(msgspec.Raw(raw))
        return True

    def drop_records(self, kind: str) -> None:
        """Take every record of a kind out again."""
        self._records[kind] = []

    def add_file(self, name: str, data: bytes, most_bytes: int = MOST_BYTES) -> bool:
        """Pack a file, if there is room for it in all that `most_bytes` allows; tell whether there was."""
        if self._unpacked + len(data) > most_bytes or self._files >= MOST_ENTRIES:
            return False
        self._unpacked += len(data)
        self._files += 1
        self._archive.writestr(zipfile.ZipInfo(name, _EPOCH), data, zipfile.ZIP_DEFLATED)
        return True

    def finish(self, **more: Any) -> bytes:
        """The bytes of the backup; the same content gives the same bytes."""
        told = {"kind": KIND, "version": VERSION, **more, **self._records}
        self._archive.writestr(
            zipfile.ZipInfo(MANIFEST, _EPOCH), msgspec.json.encode(told), zipfile.ZIP_DEFLATED
        )
        self._archive.close()
        return self._out.getvalue()


def read_backup(data: bytes, most_manifest_bytes: int = MOST_MANIFEST_BYTES) -> Backup:
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
        archive = zipfile.ZipFile(io.BytesIO(data))
        infos = archive.infolist()
        _check(infos, most_manifest_bytes)
        for info in infos:
            for _ in _pieces(archive, info):
                pass
    except Complaint:
        raise
    except _REFUSED:
        raise FormatComplaint("this is no backup, or it is damaged", _DO) from None
    by_name = {info.filename: info for info in infos}
    manifest = _manifest(b"".join(_pieces(archive, by_name.pop(MANIFEST))))
    return Backup(manifest, Packed(archive, by_name))


def _check(infos: list[zipfile.ZipInfo], most_manifest_bytes: int) -> None:
    names = [info.filename for info in infos]
    if len(infos) > MOST_ENTRIES:
        raise FormatComplaint(f"this archive holds more than {MOST_ENTRIES} files", _DO)
    if len(set(names)) < len(names):
        raise FormatComplaint("this archive holds a name twice", _DO)
    if not all(_NAME.fullmatch(name) and ".." not in name for name in names):
        raise FormatComplaint("this archive holds a name that no backup has", _DO)
    if any(info.flag_bits & 1 for info in infos):
        raise FormatComplaint("this archive is locked with a password", "Give it without one")
    if any(info.compress_type not in _METHODS for info in infos):
        raise FormatComplaint("this archive is packed in a way that no backup is", _DO)
    if sum(info.file_size for info in infos) > MOST_BYTES:
        raise FormatComplaint(f"this archive unpacks to more than {MOST_BYTES // 1_000_000} MB", _DO)
    if MANIFEST not in names:
        raise FormatComplaint(f"this archive holds no {MANIFEST}, so it is no backup", _DO)
    if next(info for info in infos if info.filename == MANIFEST).file_size > most_manifest_bytes:
        raise FormatComplaint(f"the {MANIFEST} of this backup is too large", _DO)


def _pieces(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> Iterator[bytes]:
    # Never more than it says of itself, and what it says was added up before.
    size, unpack = 0, archive.open
    with unpack(info) as file:
        while piece := file.read(_PIECE):
            size += len(piece)
            yield piece
    if size != info.file_size:
        raise zipfile.BadZipFile


def _manifest(data: bytes) -> dict[str, Any]:
    containers, values = (sum(map(data.count, marks)) for marks in ((b"{", b"["), (b",", b":")))
    if _CONTAINER_BYTES * containers + _VALUE_BYTES * values > _MOST_MANIFEST_MEMORY:
        raise FormatComplaint(f"the {MANIFEST} of this backup holds more than any desk keeps", _DO)
    try:
        found = msgspec.json.decode(data)
    except (msgspec.DecodeError, RecursionError, ValueError):
        raise FormatComplaint(f"the {MANIFEST} of this backup cannot be read", _DO) from None
    if not isinstance(found, dict) or found.get("kind") != KIND:
        raise FormatComplaint(f"the {MANIFEST} is none of a backup of the desk", _DO)
    if found.get("version") != VERSION:
        raise FormatComplaint(
            "this backup was made by another version of the desk", "Restore it with the version that made it"
        )
    return found
