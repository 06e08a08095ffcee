"""References of the British national grid: two letters for a square of 100 km, then digits.

The letters are told by the library of Ordnance Survey, an extra of this tool. As in MGRS a reference names a
square, and its digits are cut, never rounded. For the letters of the Irish grid no library was found.
"""

from __future__ import annotations

import re
import warnings
from typing import Any, Final

from pacewright.exceptions import MissingComplaint, ValueComplaint, how_to_install

BRITISH: Final = "EPSG:27700"
_TEXT: Final = re.compile(r"(?P<letters>[A-Z]{2}) ?(?P<digits>\d[\d ]*)", re.ASCII)
_CENTIMETRE_DECIMALS: Final = 2


def looks_lettered(bare: str) -> bool:
    """Whether a text in capitals is two letters and digits, as no other form of a place is."""
    return _TEXT.fullmatch(bare) is not None


def parse_letters(bare: str) -> tuple[float, float, float]:
    """Metres east and north of the middle of the square that a British reference names, and its side.

    Parameters
    ----------
    bare
        Such as `TQ 3004 8041` or `SU387148`, in capitals.

    Raises
    ------
    ValueComplaint
        There is no such square, or its digits are not two equal halves of one to five.
    MissingComplaint
        The library of the letters is not installed.

    References
    ----------
    Ordnance Survey, A guide to coordinate systems in Great Britain, section 7, National Grid references
    (from memory).
    """
    match = _TEXT.fullmatch(bare)
    assert match is not None
    letters, parts = match["letters"], match["digits"].split()
    digits = "".join(parts)
    if (
        len(parts) > 2
        or len(digits) % 2
        or len(digits) > 10
        or len(parts[0]) not in (len(digits), len(digits) / 2)
    ):
        raise ValueComplaint(
            f"the digits of {bare[:40]} are not two equal halves",
            "Write as many digits east as north, up to five each",
        )
    osbng = _library()
    if osbng is None:
        raise MissingComplaint(
            "the letters of the British grid need osbng, which is not installed",
            f"{how_to_install('grids')}, or write {BRITISH}, metres east and metres north",
        )
    try:
        square = osbng.BNGReference(letters + digits)
    except osbng.errors.BNGReferenceError:
        raise ValueComplaint(
            f"{letters} is no square of the British grid", "Check its two letters, such as TQ 3004 8041"
        ) from None
    east_m, north_m = square.bng_to_xy(position="centre")
    return float(east_m), float(north_m), float(square.resolution_metres)


def find_letters(code: str, east_m: float, north_m: float) -> str | None:
    """The reference of the metre that holds a place of a grid, such as `TG 51409 13177`.

    None where the grid has no letters, where they do not reach, or where their library is not installed.
    """
    osbng = _library() if code == BRITISH else None
    if osbng is None:
        return None
    try:
        # A change of datum and back is good to about a millimetre: whole metres stay what they were.
        east_m, north_m = round(east_m, _CENTIMETRE_DECIMALS), round(north_m, _CENTIMETRE_DECIMALS)
        return str(osbng.xy_to_bng(east_m, north_m, 1).bng_ref_formatted)
    except osbng.errors.BNGExtentError:
        return None


def _library() -> Any:
    # It turns every warning of the process on when it is imported.
    with warnings.catch_warnings():
        try:
            import osbng
            import osbng.errors
        except ImportError:
            return None
    return osbng
