"""Published values: read them as they were typed, and compare to the digits that were printed."""

from __future__ import annotations

import csv
import io
from pathlib import Path

AUTHORITIES = Path(__file__).resolve().parents[2] / "authorities"
"""The folder of published values, one CSV file a source."""

HEADING_KEYS = ("title", "number", "year", "section", "sure", "typed by")
"""What the heading of every file says of its source."""


def read_heading(name: str) -> dict[str, str]:
    """What the `#` lines of an authority file say, by key."""
    heading: dict[str, str] = {}
    for line in _lines(name):
        if not line.startswith("#"):
            break
        key, _, text = line[1:].partition(":")
        heading[key.strip()] = text.strip()
    return heading


def read_authority(name: str) -> list[dict[str, str]]:
    """The rows of an authority file, every value as the text that was printed.

    Parameters
    ----------
    name
        The file's name in the folder of authorities, such as `traverse_purdue.csv`.

    Raises
    ------
    ValueError
        A row has more or fewer fields than the header row.
    """
    body = [line for line in _lines(name) if line.strip() and not line.startswith("#")]
    rows = list(csv.DictReader(io.StringIO("\n".join(body)), restkey="surplus"))
    for row in rows:
        if "surplus" in row or None in row.values():
            raise ValueError(f"{name}: a row does not match the header row: {row}")
    return rows


def printed(text: str) -> float:
    """The number a printed text stands for.

    >>> printed("−35.3716"), printed("10,716.31"), printed("9.6e-7")
    (-35.3716, 10716.31, 9.6e-07)
    """
    return float(_plain(text))


def tolerance(text: str) -> float:
    """Half a unit in the last digit of a printed number.

    >>> tolerance("19.451"), tolerance("0.30"), tolerance("120"), tolerance("9.6e-7")
    (0.0005, 0.005, 0.5, 5e-09)
    """
    mantissa, _, exponent = _plain(text).lower().partition("e")
    float(mantissa)  # refuses what is not a number
    decimals = len(mantissa.partition(".")[2])
    return float(f"5e{int(exponent or 0) - decimals - 1}")


def close_to_printed(value: float, text: str, units: float = 0.5) -> bool:
    """Whether a value would be printed as `text`.

    Parameters
    ----------
    value
        What the tool says.
    text
        What the source prints.
    units
        How many units of the last printed digit the two may differ by: a half, unless the source's
        own rounding is known to have gone through more than one step.

    Examples
    --------
    >>> close_to_printed(19.4514, "19.451"), close_to_printed(19.4516, "19.451")
    (True, False)
    """
    # A value exactly half way may be rounded either way, and lies there only to within rounding.
    allowed = tolerance(text) * 2 * units
    return abs(value - printed(text)) <= allowed * (1 + 1e-9) + 1e-12 * abs(value)


def _plain(text: str) -> str:
    return text.strip().replace("−", "-").replace(",", "")


def _lines(name: str) -> list[str]:
    return (AUTHORITIES / name).read_text(encoding="utf-8").splitlines()
