"""Which remark a wrong one was meant to be: other words for it, its parts turned round, a slip of the pen."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterator
from typing import Final

FIRST_WORDS: Final = {
    "at": "at arrive arrived arriving marker waypoint",
    "see": "see sight sighted sighting bearing saw spot spotted",
    "back": "back backsight backbearing backazimuth backreading reverse reversed bk behind",
    "box": "box boxed boxing detour detoured offset bypass bypassed around round dodge sidestep",
    "est": "est estimate estimated estimation guess guessed approx about circa ca roughly",
    "ground": "ground terrain surface cover vegetation underfoot",
    "up": "up uphill ascend ascending ascent climb climbing rising",
    "down": "down downhill descend descending descent falling",
    "level": "level even horizontal",
    "flat": "flat plain",
    "cross stream": "crossing crossed crosses ford forded fording",
    "faces": "face facing aspect",
    "slope": "slope steep steepness gradient grade incline",
    "alt": "alt altitude elevation height elev",
    "time": "time clock hour hrs",
    "or": "or maybe perhaps unclear possibly",
    "was": "was struck corrected formerly wrote",
}
"""The word that begins a remark, or the whole remark -> what people write for it (assumed)."""
WHOLE_REMARKS: Final = {
    "on ridge": "ridge ridgeline crest spur",
    "in valley": "valley gully hollow",
    "on slope": "hillside slopeside",
    "on stream": "stream brook creek beck burn",
    "no stream": "dry nostream",
}
_SIDE: Final = {"r": "right", "rt": "right", "l": "left", "lt": "left"}
_UNITS: Final = re.compile(r"(?<=\d)\s*paces?\b", re.IGNORECASE)
_FILLERS: Final = re.compile(
    r"^(?:(?:azimuth|bearing|reading|to|the|of|by|side|about|at)\b\s*)+", re.IGNORECASE
)
_LONGEST: Final = 60


def find_meant(inside: str, is_remark: Callable[[str], bool]) -> str | None:
    """The remark that was most likely meant by the words of a bracket; None where none is near.

    Parameters
    ----------
    inside
        What stands in the brackets.
    is_remark
        Tells whether a text between brackets is a remark.

    Examples
    --------
    >>> known = {"est 15%", "box right 40", "down", "time 14:32", "back 126"}
    >>> [find_meant(text, known.__contains__) for text in ("est 15", "boxed 40 R", "Downhill", "time 1432")]
    ['est 15%', 'box right 40', 'down', 'time 14:32']
    >>> find_meant("backsight 126", known.__contains__), find_meant("nearly there", known.__contains__)
    ('back 126', None)
    """
    bare = " ".join(inside.replace(":", " : ").split()) if len(inside) <= _LONGEST else ""
    bare = re.sub(r"(\d) : (\d)", r"\1:\2", bare).replace(" :", "").strip(" =;,.")
    return next((one for one in _candidates(bare) if is_remark(one)), None) if bare else None


def _candidates(bare: str) -> Iterator[str]:
    for words in _in_known_words(bare):
        first, _, rest = words.partition(" ")
        for plain in (_FILLERS.sub("", rest), rest):
            yield f"{first} {plain}".strip()
            yield from _with_marks(first, plain)


def _in_known_words(bare: str) -> Iterator[str]:
    """The words with the first one put as the log has it, the likeliest first."""
    words = bare.split()
    first, rest = words[0].casefold().replace("-", ""), " ".join(words[1:])
    yield bare
    for remark, others in FIRST_WORDS.items():
        if first in others.split():
            yield f"{remark} {rest}".strip()
            yield remark
    for whole, others in WHOLE_REMARKS.items():
        if {word.casefold() for word in words} & set(others.split()):
            yield whole
    known = [*FIRST_WORDS, *WHOLE_REMARKS]
    for near in difflib.get_close_matches(first, [*(one.split()[0] for one in known)], 1, 0.7):
        yield f"{near} {rest}".strip()
    yield from difflib.get_close_matches(bare.casefold(), known, 1, 0.8)


def _with_marks(first: str, rest: str) -> Iterator[str]:
    """The same with the mark, the unit or the order that the log has."""
    match first:
        case "est" | "slope" | "or":
            number = re.sub(r"\s*(?:%|per ?cent|pct|percent)?$", "", rest.strip("+-± "))
            yield f"{first} {number}%"
        case "alt":
            yield re.sub(r"\s*(?:met(?:re|er)s?)$", " m", f"alt {rest}")
            yield re.sub(r"\s*(?:foot|feet|')$", " ft", f"alt {rest}")
        case "time":
            yield from _times(rest)
        case "box":
            yield from _boxes(rest)


def _times(rest: str) -> Iterator[str]:
    found = re.fullmatch(
        r"(\d{1,2})[:.h]?(\d{2})?\s*(am|pm|h|hrs|o'clock)?", rest.casefold().replace(" ", "")
    )
    if found:
        hour = int(found[1])
        hour = hour % 12 + (12 if found[3] == "pm" else 0) if found[3] in ("am", "pm") else hour
        yield f"time {hour}:{found[2] or '00'}"


def _boxes(rest: str) -> Iterator[str]:
    words = _UNITS.sub("", rest.casefold()).split()
    sides = [_SIDE.get(word, word) for word in words if _SIDE.get(word, word) in ("right", "left")]
    numbers = [word for word in words if re.fullmatch(r"\d+(?:\.\d+)?", word)]
    if len(words) == 2 and len(sides) == 1 and len(numbers) == 1:
        yield f"box {sides[0]} {numbers[0]}"
