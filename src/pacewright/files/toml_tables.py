"""Tables of a TOML file: its keys read one by one, each complaint with the dotted key."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Collection, Mapping
from typing import Any, Final

from pacewright.core.plausible import Bounds
from pacewright.exceptions import FormatComplaint, ValueComplaint
from pacewright.files.text_file import decode

_AT_LINE: Final = re.compile(r" \(at line (\d+), column \d+\)$")
_AT_END: Final = re.compile(r" \(at end of document\)$")
LARGEST_TOML_BYTES: Final = 4_000_000
MOST_VALUES: Final = 200_000
"""Keys, tables and values of lists together: a course for three hundred learners holds a fifth of them."""
MOST_NAME_PARTS: Final = 10
"""Of a dotted name. The reader's work and memory grow with the square of them; six are in use."""
_TEXT_OR_REMARK: Final = re.compile(
    r"\"{3}(?:\\.|[^\\])*?\"{3}|'{3}.*?'{3}|\"(?:\\.|[^\"\\\n])*\"|'[^'\n]*'|#[^\n]*", re.DOTALL
)
_NAME: Final = re.compile(r"[\w-]+(?:[ \t]*\.[ \t]*[\w-]+)*")


def parse_toml(data: bytes, kind: str, mend: str) -> dict[str, Any]:
    """The tables of a TOML file.

    Parameters
    ----------
    data
        The file's bytes.
    kind
        What the file should be.
    mend
        What to do where it is no TOML, without its full stop.

    Raises
    ------
    FormatComplaint
        It is no text or no TOML.
    """
    text = decode(data, kind, LARGEST_TOML_BYTES)
    _check_shape(text)
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise FormatComplaint("this file is nested too deep", f"Give {kind}") from None
    except ValueError as bad:
        # Too long an integer is a ValueError as well, without a line.
        said = str(bad)
        at = _AT_LINE.search(said)
        reason = _AT_END.sub(" at the end of the file", _AT_LINE.sub("", said))
        raise FormatComplaint(f"this is not TOML ({reason})", mend).at(
            line=int(at[1]) if at else None
        ) from None


def _check_shape(text: str) -> None:
    """Refuse what would take the reader more memory or time than any file that somebody wrote."""
    bare = _TEXT_OR_REMARK.sub(lambda found: "" if found[0][0] == "#" else "t", text)
    if sum(map(bare.count, "=,[{")) > MOST_VALUES:
        raise FormatComplaint(f"this file has more than {MOST_VALUES} keys and values", "Split it")
    for name in _NAME.findall(bare):
        if name.count(".") >= MOST_NAME_PARTS:
            raise FormatComplaint(
                f"a name of this file is made of more than {MOST_NAME_PARTS} parts",
                "Give each table its own heading in square brackets",
            )


def known_keys(table: Mapping[str, Any], names: Collection[str], path: str) -> None:
    """Refuse a key that is not among the names: a slip in a name must not put a default in silently."""
    for key in table:
        if key not in names:
            raise FormatComplaint(
                f"there is no key called {shown(key)} here", f"Use one of: {', '.join(names)}"
            ).at(column=dotted(path, key))


def table_at(table: Mapping[str, Any], key: str, path: str) -> Mapping[str, Any]:
    """The table below a key, empty where there is none."""
    value = table.get(key, {})
    if not isinstance(value, dict):
        raise FormatComplaint(
            f"{key} is a single value", f"Write [{dotted(path, key)}] and its keys below it"
        ).at(column=dotted(path, key))
    return value


def number_at(table: Mapping[str, Any], key: str, path: str, bounds: Bounds) -> float | None:
    """The number of a key, or None where it is left out."""
    if key not in table:
        return None
    value = table[key]
    whole_or_not = isinstance(value, (int, float)) and not isinstance(value, bool)
    if whole_or_not and abs(value) < 1e300 and math.isfinite(value) and bounds.holds(value):
        return float(value)
    raise ValueComplaint(f"{shown(value)} is not {bounds.called}", bounds.says()).at(column=dotted(path, key))


def text_at(table: Mapping[str, Any], key: str, path: str) -> str:
    """The text of a key, empty where it is left out."""
    value = table.get(key, "")
    if not isinstance(value, str):
        raise ValueComplaint(f"{shown(value)} is not a text", "Put it into quotation marks").at(
            column=dotted(path, key)
        )
    return value


def dotted(path: str, key: str) -> str:
    """A key with the tables it stands in."""
    return f"{path}.{shown(key)}" if path else shown(key)


def shown(value: object) -> str:
    """A value as a complaint may show it: short, on one line."""
    if isinstance(value, (dict, list)):
        return "a table" if isinstance(value, dict) else "a list"
    try:
        text = str(value)
    except ValueError:
        return "this number"
    clean = "".join(letter if letter.isprintable() else "?" for letter in text)
    return clean if len(clean) <= 40 else clean[:40] + "..."
