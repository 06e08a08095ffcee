"""Logs and walkers for tests: rows under a heading, and the tool's walker with a made-up person's scatter."""

from __future__ import annotations

from collections.abc import Iterable

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.files.log_csv import read_log
from support.simulator import USUAL, Person


def log_of(
    *rows: tuple[object, object] | tuple[object, object, str],
    azimuth: str = "magnetic degrees",
    count: str = "paces",
    start: str = "Gate",
    more: Iterable[str] = (),
) -> TravelLog:
    """The log of rows of azimuth, count and notes; `more` are further heading lines."""
    lines = [f"# azimuth: {azimuth}", f"# count: {count}", *(f"# {line}" for line in more)]
    lines += [f"# start: {start}"] if start else []
    lines.append("azimuth,count,notes")
    lines += [",".join(map(str, (*row, "")[:3])) for row in rows]
    return read_log(("\n".join(lines) + "\n").encode())


def walker_like(person: Person = USUAL, *classes: PaceClass) -> Walker:
    """The tool's walker with a made-up person's scatter."""
    return Walker(
        per_100_m=100 / person.pace_m,
        compass=CompassScatter(
            azimuth_sd_deg=person.azimuth_sd_deg,
            bias_sd_deg=person.bias_sd_deg,
            sighting_sd_deg=person.sighting_sd_deg,
        ),
        count=CountScatter(
            scale_sd_pct=100 * person.scale_sd,
            count_sd_pct=100 * person.count_sd,
            count_floor=person.count_floor,
        ),
        classes=classes,
    )
