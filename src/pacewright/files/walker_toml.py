"""A walker from and to TOML."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any, Final

import tomli_w

from pacewright.core.pace_trials import LEAST_PER_100_M, MOST_LOAD_KG, MOST_PER_100_M
from pacewright.core.scatter import CompassScatter, CountScatter
from pacewright.core.walker import Evidence, PaceClass, Slope, Walker
from pacewright.exceptions import (
    Complaint,
    FormatComplaint,
    MissingComplaint,
    OutputComplaint,
    ValueComplaint,
    Where,
)
from pacewright.files.log_csv import decode

_SLOPES: Final[tuple[Slope, ...]] = ("level", "up", "down")
_AT_LINE: Final = re.compile(r" \(at line (\d+), column \d+\)$")
_AT_END: Final = re.compile(r" \(at end of document\)$")


@dataclass(frozen=True, slots=True)
class _Bounds:
    """The numbers a key takes, and what such a number is called."""

    called: str
    least: float
    most: float
    above: bool = False

    def says(self) -> str:
        start = f"above {self.least:g}, up" if self.above else f"from {self.least:g}"
        return f"Write a number {start} to {self.most:g}"

    def holds(self, value: float) -> bool:
        return (value > self.least if self.above else value >= self.least) and value <= self.most


_PER_100_M: Final = _Bounds("a pace count (paces to a hundred metres)", LEAST_PER_100_M, MOST_PER_100_M)
_COMPASS: Final = {
    "azimuth_sd_deg": _Bounds("a scatter of azimuths in degrees", 0, 90, above=True),
    "bias_sd_deg": _Bounds("a compass bias in degrees", 0, 90),
    "sighting_sd_deg": _Bounds("a scatter of bearings in degrees", 0, 90, above=True),
    "reading_interval_deg": _Bounds("a reading interval in degrees", 0, 90),
    "bias_deg": _Bounds("a compass bias in degrees", -180, 180),
    "sighting_bias_deg": _Bounds("a compass bias in degrees", -180, 180),
}
_COUNT: Final = {
    "scale_sd_pct": _Bounds("an uncertainty of the pace count in per cent", 0, 100),
    "count_sd_pct": _Bounds("a scatter of counts in per cent", 0, 100, above=True),
    "count_floor": _Bounds("a least scatter in paces", 0, 1000),
}
_CLASS: Final = {
    "per_100_m": _PER_100_M,
    "per_100_m_sd": _Bounds("an uncertainty in paces", 0, MOST_PER_100_M),
    "load_kg": _Bounds("a load in kilograms", 0, MOST_LOAD_KG),
}
_EVIDENCE: Final = {
    "logs": _Bounds("a number of logs", 0, 1_000_000),
    "azimuth_freedom": _Bounds("an amount of evidence", 1, 1_000_000),
    "count_freedom": _Bounds("an amount of evidence", 1, 1_000_000),
    "sighting_freedom": _Bounds("an amount of evidence", 1, 1_000_000),
}
_CLASS_KEYS: Final = (*_CLASS, "runs", "borrowed")
_MOST_RUNS: Final = 1_000_000


def read_walker(data: bytes, file: str | None = None) -> Walker:
    """Read a walker file.

    What it leaves out stands at the default. A key that is not known is refused: a slip in its name
    must not put the default in silently.

    Parameters
    ----------
    data
        The file's bytes.
    file
        Its name, for complaints.

    Raises
    ------
    Complaint
        What is wrong, with the file and the dotted key, and what to do.
    """
    try:
        return _walker(_parse(data))
    except Complaint as complaint:
        raise complaint.at(file=file) from None


def write_walker(walker: Walker) -> bytes:
    """Write a walker file; reading it gives the same walker, its classes ground by ground.

    Raises
    ------
    OutputComplaint
        The walker holds what a walker file cannot: two classes for one ground and slope (as with two
        loads), or a number that reading would refuse.
    """
    try:
        data = tomli_w.dumps(_table(walker)).encode("utf-8")
        same = _walker(_parse(data)) == replace(walker, classes=_in_file_order(walker.classes))
    except Complaint as complaint:
        raise OutputComplaint(complaint.what, complaint.do, complaint.where) from None
    except UnicodeEncodeError:
        same = False
    if not same:
        raise OutputComplaint(
            "this walker does not come back from a walker file as it is",
            "Keep one class for a ground and slope, and names in letters that can be written",
        )
    return data


def _parse(data: bytes) -> dict[str, Any]:
    text = decode(data, "a walker file (TOML), such as pacewright calibrate writes")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise FormatComplaint("this file is nested too deep for a walker", "Give a walker file") from None
    except ValueError as bad:
        # Too long an integer is a ValueError as well, without a line.
        said = str(bad)
        at = _AT_LINE.search(said)
        reason = _AT_END.sub(" at the end of the file", _AT_LINE.sub("", said))
        raise FormatComplaint(
            f"this is not TOML ({reason})", "Correct it, or let pacewright calibrate write the file"
        ).at(line=int(at[1]) if at else None) from None


def _walker(table: Mapping[str, Any]) -> Walker:
    _known(table, ("name", "compass", "pace", "origin", "evidence"), "")
    evidence = _sub(table, "evidence", "")
    _known(evidence, _EVIDENCE, "evidence")
    compass = _sub(table, "compass", "")
    _known(compass, _COMPASS, "compass")
    pace = _sub(table, "pace", "")
    _known(pace, ("per_100_m", *_COUNT, "ground", "slope"), "pace")
    return Walker(
        name=_text(table, "name", ""),
        per_100_m=_number(pace, "per_100_m", "pace", _PER_100_M),
        compass=CompassScatter(**_numbers(compass, "compass", _COMPASS)),
        count=CountScatter(**_numbers(pace, "pace", _COUNT)),
        classes=tuple(_classes(pace)),
        origin=_origin(_sub(table, "origin", "")),
        evidence=Evidence(**_numbers(evidence, "evidence", _EVIDENCE)),
    )


def _classes(pace: Mapping[str, Any]) -> list[PaceClass]:
    found: list[PaceClass] = []
    slopes = _sub(pace, "slope", "pace")
    _known(slopes, _SLOPES, "pace.slope")
    for slope in _SLOPES:
        if slope in slopes:
            found.append(_class("", slope, _sub(slopes, slope, "pace.slope"), f"pace.slope.{slope}"))
    for ground in (grounds := _sub(pace, "ground", "pace")):
        path = f"pace.ground.{ground}"
        if not ground.strip():
            raise ValueComplaint(
                "a ground has no name", "Name it, or write [pace.slope.up] for slopes of the ordinary ground"
            ).at(column="pace.ground")
        table = _sub(grounds, ground, "pace.ground")
        _known(table, (*_CLASS_KEYS, *_SLOPES), path)
        inside = [slope for slope in _SLOPES if slope in table]
        own = {key: value for key, value in table.items() if key not in _SLOPES}
        if own or not inside:
            found.append(_class(ground, None, own, path))
        found += [_class(ground, s, _sub(table, s, path), f"{path}.{s}") for s in inside]
    return found


def _class(ground: str, slope: Slope | None, table: Mapping[str, Any], path: str) -> PaceClass:
    _known(table, _CLASS_KEYS, path)
    per_100_m = _number(table, "per_100_m", path, _PER_100_M)
    if per_100_m is None:
        raise MissingComplaint(
            "the pace count of this class is missing", "Write per_100_m, paces to a hundred metres"
        ).at(column=f"{path}.per_100_m")
    return PaceClass(
        ground=ground,
        slope=slope,
        load_kg=_number(table, "load_kg", path, _CLASS["load_kg"]),
        per_100_m=per_100_m,
        per_100_m_sd=_number(table, "per_100_m_sd", path, _CLASS["per_100_m_sd"]) or 0.0,
        runs=_runs(table, path),
        borrowed=_borrowed(table, path),
    )


def _table(walker: Walker) -> dict[str, Any]:
    pace: dict[str, Any] = {} if walker.per_100_m is None else {"per_100_m": walker.per_100_m}
    pace |= {key: getattr(walker.count, key) for key in _COUNT}
    grounds: dict[str, Any] = {}
    slopes: dict[str, Any] = {}
    for one in walker.classes:
        holder = grounds.setdefault(one.ground, {}) if one.ground else slopes
        target = holder if one.slope is None else holder.setdefault(one.slope, {})
        if "per_100_m" in target:
            raise OutputComplaint(
                "two classes have one ground and slope, and a walker file is for one load",
                "Keep one of them",
                Where(column=".".join(p for p in ("pace.ground", one.ground, one.slope) if p)),
            )
        target |= _class_table(one)
    pace |= {"slope": slopes} if slopes else {}
    pace |= {"ground": grounds} if grounds else {}
    return {
        "name": walker.name,
        "compass": _compass_table(walker.compass),
        "pace": pace,
        **({"origin": dict(walker.origin)} if walker.origin else {}),
        **({} if walker.evidence == Evidence() else {"evidence": _evidence_table(walker.evidence)}),
    }


def _compass_table(compass: CompassScatter) -> dict[str, float]:
    # A bias of nothing is left out: it was never found, and the line would say that it was.
    found = {key: float(getattr(compass, key)) for key in _COMPASS}
    return {key: value for key, value in found.items() if value or not key.endswith("bias_deg")}


def _evidence_table(evidence: Evidence) -> dict[str, float]:
    return {key: float(getattr(evidence, key)) for key in _EVIDENCE}


def _in_file_order(classes: Sequence[PaceClass]) -> tuple[PaceClass, ...]:
    grounds = ["", *dict.fromkeys(one.ground for one in classes)]
    slopes = (None, *_SLOPES)
    return tuple(sorted(classes, key=lambda one: (grounds.index(one.ground), slopes.index(one.slope))))


def _class_table(one: PaceClass) -> dict[str, Any]:
    written: dict[str, Any] = {"per_100_m": one.per_100_m}
    if one.per_100_m_sd:
        written["per_100_m_sd"] = one.per_100_m_sd
    if one.load_kg is not None:
        written["load_kg"] = one.load_kg
    if one.runs:
        written["runs"] = one.runs
    if one.borrowed:
        written["borrowed"] = True
    return written


def _known(table: Mapping[str, Any], names: Collection[str], path: str) -> None:
    for key in table:
        if key not in names:
            raise FormatComplaint(
                f"there is no key called {_shown(key)} here", f"Use one of: {', '.join(names)}"
            ).at(column=_dotted(path, key))


def _sub(table: Mapping[str, Any], key: str, path: str) -> Mapping[str, Any]:
    value = table.get(key, {})
    if not isinstance(value, dict):
        raise FormatComplaint(
            f"{key} is a single value", f"Write [{_dotted(path, key)}] and its keys below it"
        ).at(column=_dotted(path, key))
    return value


def _numbers(table: Mapping[str, Any], path: str, bounds: Mapping[str, _Bounds]) -> dict[str, float]:
    read = {key: _number(table, key, path, limit) for key, limit in bounds.items()}
    return {key: value for key, value in read.items() if value is not None}


def _number(table: Mapping[str, Any], key: str, path: str, bounds: _Bounds) -> float | None:
    if key not in table:
        return None
    value = table[key]
    whole_or_not = isinstance(value, (int, float)) and not isinstance(value, bool)
    if whole_or_not and abs(value) < 1e300 and math.isfinite(value) and bounds.holds(value):
        return float(value)
    raise ValueComplaint(f"{_shown(value)} is not {bounds.called}", bounds.says()).at(
        column=_dotted(path, key)
    )


def _runs(table: Mapping[str, Any], path: str) -> int:
    runs = table.get("runs", 0)
    if isinstance(runs, bool) or not isinstance(runs, int) or not 0 <= runs <= _MOST_RUNS:
        raise ValueComplaint(f"{_shown(runs)} is not a number of runs", "Write a whole number, 0 or more").at(
            column=f"{path}.runs"
        )
    return runs


def _borrowed(table: Mapping[str, Any], path: str) -> bool:
    borrowed = table.get("borrowed", False)
    if not isinstance(borrowed, bool):
        raise ValueComplaint(f"{_shown(borrowed)} is neither true nor false", "Write true or false").at(
            column=f"{path}.borrowed"
        )
    return borrowed


def _origin(table: Mapping[str, Any]) -> Mapping[str, str]:
    return MappingProxyType({key: _text(table, key, "origin") for key in table})


def _text(table: Mapping[str, Any], key: str, path: str) -> str:
    value = table.get(key, "")
    if not isinstance(value, str):
        raise ValueComplaint(f"{_shown(value)} is not a text", "Put it into quotation marks").at(
            column=_dotted(path, key)
        )
    return value


def _dotted(path: str, key: str) -> str:
    return f"{path}.{_shown(key)}" if path else _shown(key)


def _shown(value: object) -> str:
    if isinstance(value, (dict, list)):
        return "a table" if isinstance(value, dict) else "a list"
    try:
        text = str(value)
    except ValueError:
        return "this number"
    clean = "".join(letter if letter.isprintable() else "?" for letter in text)
    return clean if len(clean) <= 40 else clean[:40] + "..."
