"""Shapes as a database stores them, well-known binary, to plain mappings of coordinates.

References
----------
OGC 06-103r4, Simple feature access, part 1 (2011), clause 8: well-known binary representation.
"""

from __future__ import annotations

import struct
from typing import Any, Final

_NAMES: Final = {
    1: "Point",
    2: "LineString",
    3: "Polygon",
    4: "MultiPoint",
    5: "MultiLineString",
    6: "MultiPolygon",
}


def shape_of(data: bytes) -> dict[str, Any] | None:
    """Type and coordinates of one shape, east and north only; None for a kind that is not known.

    >>> shape_of(bytes.fromhex("0101000000000000000000F03F0000000000000040"))
    {'type': 'Point', 'coordinates': (1.0, 2.0)}
    """
    shape, _ = _read(data, 0)
    return shape


def _read(data: bytes, at: int) -> tuple[dict[str, Any] | None, int]:
    order = "<" if data[at] == 1 else ">"
    (kind,) = struct.unpack_from(order + "I", data, at + 1)
    # Height and measure: as thousands (ISO), or as the two top bits.
    sizes = 2 + (kind // 1000 in (1, 3) or bool(kind & 0x80000000))
    sizes += kind % 2**29 // 1000 in (2, 3) or bool(kind & 0x40000000)
    name = _NAMES.get(kind % 2**28 % 1000)
    if name is None:
        return None, len(data)
    at += 5
    if name == "Point":
        return {"type": name, "coordinates": struct.unpack_from(order + "2d", data, at)}, at + 8 * sizes
    if name == "LineString":
        line, at = _line(data, at, order, sizes)
        return {"type": name, "coordinates": line}, at
    (count,) = struct.unpack_from(order + "I", data, at)
    at += 4
    parts = []
    for _ in range(count):
        if name == "Polygon":
            part, at = _line(data, at, order, sizes)
            parts.append(part)
        else:
            inner, at = _read(data, at)
            if inner is not None:
                parts.append(inner["coordinates"])
    return {"type": name, "coordinates": parts}, at


def _line(data: bytes, at: int, order: str, sizes: int) -> tuple[list[tuple[float, float]], int]:
    (count,) = struct.unpack_from(order + "I", data, at)
    at += 4
    step = 8 * sizes
    points = [struct.unpack_from(order + "2d", data, at + k * step) for k in range(count)]
    return [(east, north) for east, north in points], at + count * step
