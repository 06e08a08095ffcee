"""The text of a file; what is none or holds more than anybody writes is refused before anything is built."""

from __future__ import annotations

import re
from typing import Final

from pacewright.exceptions import FormatComplaint

LARGEST_TEXT_BYTES: Final = 16_000_000
MOST_LINES: Final = 100_000
"""A row a minute, day and night, for ten weeks. A line that was read takes about 1 kB of memory."""
LONGEST_LINE: Final = 100_000
"""Characters: a notebook of sixty pages in one cell."""
BOM: Final = b"\xef\xbb\xbf"
_UTF16: Final = (b"\xff\xfe", b"\xfe\xff")
_SAVE_AS: Final = "Save it as CSV in UTF-8"
_LINE: Final = re.compile(r"[^\r\n]+")


def decode(data: bytes, kind: str, most_bytes: int = LARGEST_TEXT_BYTES) -> str:
    """Give the text of a file, or say why it has none.

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
    if data.startswith(_UTF16):
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


def _check_lines(text: str) -> None:
    if max(text.count("\n"), text.count("\r")) > MOST_LINES:
        raise FormatComplaint(f"this file has more than {MOST_LINES} lines", "Split it")
    for found in _LINE.finditer(text):
        if found.end() - found.start() > LONGEST_LINE:
            line = max(text.count("\n", 0, found.start()), text.count("\r", 0, found.start())) + 1
            raise FormatComplaint(
                f"this line is longer than {LONGEST_LINE} characters", "Split it into several lines"
            ).at(line=line)
