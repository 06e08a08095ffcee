"""The text of a file; what is none or holds more than anybody writes is refused before anything is built."""

from __future__ import annotations

import re
from typing import Final

from pacewright.exceptions import FormatComplaint

LARGEST_TEXT_BYTES: Final = 16_000_000
MOST_LINES: Final = 120_000
"""A hundred thousand legs and their heading. A line that was read takes about 1 kB of memory."""
LONGEST_LINE: Final = 100_000
"""Characters: a notebook of sixty pages in one cell."""
BOM: Final = b"\xef\xbb\xbf"
_UTF16: Final = {b"\xff\xfe": "utf-16-le", b"\xfe\xff": "utf-16-be"}
_MARKS: Final = {"utf-8": BOM} | {name: mark for mark, name in _UTF16.items()}
_OLD: Final = ("cp1252", "mac_roman")
"""What spreadsheets wrote before UTF-8, on Windows and on the Mac: Latin letters of the West."""
_LIKELY: Final = re.compile("[À-ÖØ-öø-ÿŒœŠšŽž°±²–—‘’“”€´½¼]")
_CONTROLS: Final = re.compile(rb"[\x00-\x08\x0e-\x1f]")
_TWO_BYTES: Final = re.compile(rb"[\xc3-\xdf][\x80-\xbf]|[\xe2][\x80-\xbf]{2}")
_SAVE_AS: Final = "Save it as CSV in UTF-8"
_LINE: Final = re.compile(r"[^\r\n]+")


def decode(data: bytes, kind: str, most_bytes: int = LARGEST_TEXT_BYTES) -> str:
    """The text of a file, or say why it has none.

    Parameters
    ----------
    data
        The file's bytes.
    kind
        What the file should be.
    most_bytes
        What is larger is refused.

    Raises
    ------
    FormatComplaint
        The file is empty, binary or not UTF-8, or it holds more than anybody writes.
    """
    if len(data) > most_bytes:
        raise FormatComplaint(f"this file is larger than {most_bytes // 1_000_000} MB", f"Give {kind}")
    if not data.strip(b" \t\r\n\x0b\x0c" + BOM):
        raise FormatComplaint("this file is empty", f"Give {kind}")
    if data.startswith(tuple(_UTF16)):
        raise FormatComplaint("this file is UTF-16 text", _SAVE_AS)
    try:
        text = data.removeprefix(BOM).decode("utf-8")
    except UnicodeDecodeError as bad:
        line = data.count(b"\n", 0, bad.start) + 1
        raise FormatComplaint("this file is not UTF-8 text", _SAVE_AS).at(line=line) from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise FormatComplaint("this is a binary file", f"Give {kind}").at(line=line)
    _check_lines(text)
    return text


def decode_spreadsheet(data: bytes, kind: str) -> tuple[str, str]:
    """The text of a file that a spreadsheet may have written, and its encoding.

    Beside UTF-8 this reads UTF-16 with its mark, and the Latin letters of Windows and of the Mac; of these
    two the one is taken in which more signs are letters. Text that mixes UTF-8 with another is refused.

    Raises
    ------
    FormatComplaint
        As `decode`.
    """
    mark = data[:2]
    if mark in _UTF16 and len(data) <= 2 * LARGEST_TEXT_BYTES and len(data) % 2 == 0:
        name = _UTF16[mark]
        text = data[2:].decode(name, "replace")
        decode(text.encode("utf-8"), kind)
        return text, name
    try:
        return decode(data, kind), "utf-8"
    except FormatComplaint:
        if (
            _old_text(data, "utf-8") is not None
            or len(data) > LARGEST_TEXT_BYTES
            or _CONTROLS.search(data)
            or _TWO_BYTES.search(data)
        ):
            raise
        readings = [(old, name) for name in _OLD if (old := _old_text(data, name)) is not None]
        if mark in _UTF16 or not readings:
            raise
    text, name = max(readings, key=lambda one: len(_LIKELY.findall(one[0])))
    _check_lines(text)
    return text, name


def encode(text: str, encoding: str, mark: bool) -> bytes:
    """The bytes of a text, with a byte order mark if asked; in UTF-8 where its encoding lacks a letter."""
    try:
        return (_MARKS.get(encoding, b"") if mark else b"") + text.encode(encoding)
    except UnicodeEncodeError:
        return text.encode("utf-8")


def _old_text(data: bytes, name: str) -> str | None:
    try:
        return data.decode(name)
    except UnicodeDecodeError:
        return None


def _check_lines(text: str) -> None:
    if max(text.count("\n"), text.count("\r")) > MOST_LINES:
        raise FormatComplaint(f"this file has more than {MOST_LINES} lines", "Split it")
    for found in _LINE.finditer(text):
        if found.end() - found.start() > LONGEST_LINE:
            line = max(text.count("\n", 0, found.start()), text.count("\r", 0, found.start())) + 1
            raise FormatComplaint(
                f"this line is longer than {LONGEST_LINE} characters", "Split it into several lines"
            ).at(line=line)
