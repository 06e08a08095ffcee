"""A walker from and to TOML."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any, Final

import tomli_w

from pacewright.core.pace.pace_trials import LEAST_PER_100_M, MOST_LOAD_KG, MOST_PER_100_M
from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.core.pace.walker import Evidence, PaceClass, Slope, Walker
from pacewright.core.plausible import Bounds
from pacewright.exceptions import (
    Complaint,
    MissingComplaint,
    OutputComplaint,
    ValueComplaint,
    Where,
)
from pacewright.files.toml_tables import (
    known_keys,
    number_at,
    parse_toml,
    shown,
    table_at,
    text_at,
)

_SLOPES: Final[tuple[Slope, ...]] = ("level", "up", "down")
_KIND: Final = "a walker file (TOML), such as pacewright calibrate writes"
_MEND: Final = "Correct it, or let pacewright calibrate write the file"


_PER_100_M: Final = Bounds("a pace count (paces to a hundred metres)", LEAST_PER_100_M, MOST_PER_100_M)
_COMPASS: Final = {
    "azimuth_sd_deg": Bounds("a scatter of azimuths in degrees", 0, 90, above=True),
    "bias_sd_deg": Bounds("a compass bias in degrees", 0, 90),
    "sighting_sd_deg": Bounds("a scatter of bearings in degrees", 0, 90, above=True),
    "reading_interval_deg": Bounds("a reading interval in degrees", 0, 90),
    "bias_deg": Bounds("a compass bias in degrees", -180, 180),
    "sighting_bias_deg": Bounds("a compass bias in degrees", -180, 180),
}
_COUNT: Final = {
    "scale_sd_pct": Bounds("an uncertainty of the pace count in per cent", 0, 100),
    "count_sd_pct": Bounds("a scatter of counts in per cent", 0, 100, above=True),
    "count_floor": Bounds("a least scatter in paces", 0, 1000),
}
_CLASS: Final = {
    "per_100_m": _PER_100_M,
    "per_100_m_sd": Bounds("an uncertainty in paces", 0, MOST_PER_100_M),
    "load_kg": Bounds("a load in kilograms", 0, MOST_LOAD_KG),
}
_EVIDENCE: Final = {
    "logs": Bounds("a number of logs", 0, 1_000_000),
    "azimuth_freedom": Bounds("an amount of evidence", 1, 1_000_000),
    "count_freedom": Bounds("an amount of evidence", 1, 1_000_000),
    "sighting_freedom": Bounds("an amount of evidence", 1, 1_000_000),
}
_CLASS_KEYS: Final = (*_CLASS, "runs", "borrowed")
_MOST_RUNS: Final = 1_000_000
_NUMBER: Final = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)")


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
        return _walker(parse_toml(data, _KIND, _MEND))
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
        same = _walker(parse_toml(data, _KIND, _MEND)) == replace(
            walker, classes=_in_file_order(walker.classes)
        )
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


def with_compass(walker: Walker, key: str, typed: str) -> Walker:
    """The walker with one figure of the compass as it was typed.

    Parameters
    ----------
    walker
        As it stands.
    key
        A key of the table `compass`, such as `azimuth_sd_deg`.
    typed
        What stands in the cell.

    Raises
    ------
    ValueComplaint
        It is no number, or none that the key takes; the complaint is that of the walker file.
    """
    table = _table(walker)
    bare = typed.strip()
    # Left as text where it is no number, so that the file's own complaint names it.
    number = int(bare) if bare.isascii() and bare.isdecimal() and len(bare) < 10 else None
    table["compass"][key] = number if number is not None else float(bare) if _NUMBER.fullmatch(bare) else bare
    origin = {**walker.origin, f"compass.{key}": "typed by hand"}
    return replace(_walker(table), origin=MappingProxyType(origin))


def _walker(table: Mapping[str, Any]) -> Walker:
    known_keys(table, ("name", "compass", "pace", "origin", "evidence"), "")
    evidence = table_at(table, "evidence", "")
    known_keys(evidence, _EVIDENCE, "evidence")
    compass = table_at(table, "compass", "")
    known_keys(compass, _COMPASS, "compass")
    pace = table_at(table, "pace", "")
    known_keys(pace, ("per_100_m", *_COUNT, "ground", "slope"), "pace")
    return Walker(
        name=text_at(table, "name", ""),
        per_100_m=number_at(pace, "per_100_m", "pace", _PER_100_M),
        compass=CompassScatter(**_numbers(compass, "compass", _COMPASS)),
        count=CountScatter(**_numbers(pace, "pace", _COUNT)),
        classes=tuple(_classes(pace)),
        origin=_origin(table_at(table, "origin", "")),
        evidence=Evidence(**_numbers(evidence, "evidence", _EVIDENCE)),
    )


def _classes(pace: Mapping[str, Any]) -> list[PaceClass]:
    found: list[PaceClass] = []
    slopes = table_at(pace, "slope", "pace")
    known_keys(slopes, _SLOPES, "pace.slope")
    for slope in _SLOPES:
        if slope in slopes:
            found.append(_class("", slope, table_at(slopes, slope, "pace.slope"), f"pace.slope.{slope}"))
    for ground in (grounds := table_at(pace, "ground", "pace")):
        path = f"pace.ground.{ground}"
        if not ground.strip():
            raise ValueComplaint(
                "a ground has no name", "Name it, or write [pace.slope.up] for slopes of the ordinary ground"
            ).at(column="pace.ground")
        table = table_at(grounds, ground, "pace.ground")
        known_keys(table, (*_CLASS_KEYS, *_SLOPES), path)
        inside = [slope for slope in _SLOPES if slope in table]
        own = {key: value for key, value in table.items() if key not in _SLOPES}
        if own or not inside:
            found.append(_class(ground, None, own, path))
        found += [_class(ground, s, table_at(table, s, path), f"{path}.{s}") for s in inside]
    return found


def _class(ground: str, slope: Slope | None, table: Mapping[str, Any], path: str) -> PaceClass:
    known_keys(table, _CLASS_KEYS, path)
    per_100_m = number_at(table, "per_100_m", path, _PER_100_M)
    if per_100_m is None:
        raise MissingComplaint(
            "the pace count of this class is missing", "Write per_100_m, paces to a hundred metres"
        ).at(column=f"{path}.per_100_m")
    return PaceClass(
        ground=ground,
        slope=slope,
        load_kg=number_at(table, "load_kg", path, _CLASS["load_kg"]),
        per_100_m=per_100_m,
        per_100_m_sd=number_at(table, "per_100_m_sd", path, _CLASS["per_100_m_sd"]) or 0.0,
        runs=_runs(table, path),
        borrowed=_borrowed(table, path),
    )


def _table(walker: Walker) -> dict[str, Any]:
    pace: dict[str, Any] = {} if walker.per_100_m is None else {"per_100_m": walker.per_100_m}
    pace |= {key: getattr(walker.count, key) for key in _COUNT}
    grounds: dict[str, Any] = {}
    slopes: dict[str, Any] = {}
    for one in _in_file_order(walker.classes):
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


def _numbers(table: Mapping[str, Any], path: str, bounds: Mapping[str, Bounds]) -> dict[str, float]:
    read = {key: number_at(table, key, path, limit) for key, limit in bounds.items()}
    return {key: value for key, value in read.items() if value is not None}


def _runs(table: Mapping[str, Any], path: str) -> int:
    runs = table.get("runs", 0)
    if isinstance(runs, bool) or not isinstance(runs, int) or not 0 <= runs <= _MOST_RUNS:
        raise ValueComplaint(f"{shown(runs)} is not a number of runs", "Write a whole number, 0 or more").at(
            column=f"{path}.runs"
        )
    return runs


def _borrowed(table: Mapping[str, Any], path: str) -> bool:
    borrowed = table.get("borrowed", False)
    if not isinstance(borrowed, bool):
        raise ValueComplaint(f"{shown(borrowed)} is neither true nor false", "Write true or false").at(
            column=f"{path}.borrowed"
        )
    return borrowed


def _origin(table: Mapping[str, Any]) -> Mapping[str, str]:
    return MappingProxyType({key: text_at(table, key, "origin") for key in table})
