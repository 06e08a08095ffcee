"""Text without what nobody can see or type.

Control characters, halves of characters, and the marks that turn the direction of writing over: a name with
one of them reads otherwise than it is written, breaks a line of a file, is refused by a database, or drives
the terminal that it is printed on.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Final

LONGEST_STEM: Final = 60
_OTHER_LINE_ENDS: Final = re.compile("[\v\f\x85\u2028\u2029]")
_UNSEEN: Final = re.compile("[\x00-\x08\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
_HALF: Final = re.compile("[\ud800-\udfff]")


def clean_text(text: str) -> str:
    r"""A text such as every database keeps and every page shows as it is; line ends and tabs stay.

    The line ends that only some readers take for such become blanks: what stands on one line stays on it.


    >>> clean_text("a\0b\x07c"), clean_text("Ada\u202ecba"), clean_text("one\ntwo\tthree")
    ('abc', 'Adacba', 'one\ntwo\tthree')
    """
    if text.isascii() and text.isprintable():
        return text
    if _HALF.search(text):
        text = text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
    return _UNSEEN.sub("", _OTHER_LINE_ENDS.sub(" ", text))


def clean_line(text: str) -> str:
    r"""A text as one line, single blanks in it and none round it.

    >>> clean_line("  Tamsin\n\0 Vale ")
    'Tamsin Vale'
    """
    return " ".join(clean_text(text).split())


def slug(title: str, otherwise: str = "travel-log") -> str:
    """A file name's stem in plain ASCII.

    >>> slug("Cinder Fen, première traversée"), slug("../../etc/passwd"), slug("沼")
    ('cinder-fen-premiere-traversee', 'etc-passwd', 'travel-log')
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode("ascii").lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:LONGEST_STEM].strip("-") or otherwise
