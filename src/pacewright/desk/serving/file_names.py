"""File names of what the desk hands out, made from a title; and what is handed in, read within its limits."""

from __future__ import annotations

import re
from typing import Any, Final
from urllib.parse import quote

from django.http import HttpResponse

from pacewright.core.plain_text import LONGEST_STEM, slug
from pacewright.exceptions import FormatComplaint

LARGEST_TEXT_FILE: Final = 2_000_000
_KINDS: Final = {
    ".csv": "text/csv; charset=utf-8",
    ".geojson": "application/geo+json",
    ".gpx": "application/gpx+xml",
    ".gpkg": "application/geopackage+sqlite3",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".pdf": "application/pdf",
    ".html": "text/html; charset=utf-8",
    ".toml": "application/toml",
    ".zip": "application/zip",
}
_NOT_IN_NAMES: Final = re.compile(
    r'[\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\\/:*?"<>|%\ud800-\udfff]+'
)


def handed_out(
    data: bytes, title: str, ending: str, *, otherwise: str = "travel-log", inline: bool = False
) -> HttpResponse:
    """A file as an answer, under a name made from a title.

    Parameters
    ----------
    data
        The file.
    title
        What its name is made from: plain ASCII, and the title itself for browsers that read it.
    ending
        Of the name; its last suffix tells the kind of file.
    otherwise
        The name where the title gives none.
    inline
        True where the browser may show it in place of a page.

    References
    ----------
    RFC 6266 and RFC 8187, a file name in the headers of an answer.
    """
    kind = _KINDS.get("." + ending.rpartition(".")[2], "application/octet-stream")
    answer = HttpResponse(data, content_type=kind)
    plain = slug(title, otherwise) + ending
    own = " ".join(_NOT_IN_NAMES.sub(" ", title).split()).strip(". ")[:LONGEST_STEM].strip(". ")
    how = "inline" if inline else "attachment"
    answer.headers["Content-Disposition"] = (
        f"{how}; filename=\"{plain}\"; filename*=UTF-8''{quote((own or otherwise) + ending, safe='')}"
    )
    return answer


def handed_in(file: Any, most_bytes: int = LARGEST_TEXT_FILE) -> bytes:
    """The bytes of a file that a form holds; its name opens nothing.

    Raises
    ------
    FormatComplaint
        There is none, or it is too large.
    """
    if file is None:
        raise FormatComplaint("no file was chosen", "Choose one and send it again")
    if file.size > most_bytes:
        raise FormatComplaint(
            f"this file is larger than {most_bytes // 1_000_000} MB", "Hand in a smaller one"
        )
    return bytes(file.read())


def shown_file_name(file: Any) -> str:
    """The name of a handed-in file as a sentence may show it."""
    return " ".join(_NOT_IN_NAMES.sub(" ", str(file.name)).split())[:LONGEST_STEM] or "a file"
