"""A pace table to a walker: which count is the ordinary one, and how sure the trials make it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from types import MappingProxyType
from typing import Final

from pacewright.core.pace.pace_table import PaceTable, TrialClass
from pacewright.core.pace.pace_trials import class_label
from pacewright.core.pace.pacing import settled_scatter
from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.core.pace.walker import PaceClass, Slope, Walker
from pacewright.exceptions import MissingComplaint

COUNT_SD_LEAST_PCT: Final = 2.0
"""No trials bring the scatter of a count below this: a measured course shows a walker at best, and
steps alone differ by 2 to 4 % (from memory)."""

SCALE_SD_LEAST_PCT: Final = 1.5
"""However many runs, the pace count of another day may be off by this much: half of the 3 % within
which pacing holds on level ground (Moss, Manual of Military Training, 1917)."""

_DIRECTIONS: Final[tuple[Slope, ...]] = ("level", "up", "down")


def ordinary_class(table: PaceTable) -> TrialClass:
    """The class a walker counts as ordinary unless told otherwise: level, and with most runs.

    Raises
    ------
    MissingComplaint
        No class is level.
    """
    level = [c for c in table.classes if c.direction == "level"]
    if not level:
        known = "; ".join(c.label for c in table.classes)
        raise MissingComplaint(
            "no run is on level ground, so it is open which class is the ordinary one",
            f"Name the ordinary class, one of: {known}",
        )
    # The first in the file wins a tie, so the walker decides by the order of writing.
    return max(level, key=lambda c: c.runs)


def walker_from(
    table: PaceTable,
    name: str,
    *,
    ordinary: TrialClass | None = None,
    compass: CompassScatter | None = None,
) -> Walker:
    """The walker that a pace table makes.

    The ordinary class gives the pace count. Its standard error, with what changes from day to day
    added, gives the scale's uncertainty; the scatter pooled over the table, with the default weighed
    in, gives the scatter of a count. The other classes walked with the same load follow; a walker file
    is for one load, so classes with another load stay out, and the origin says which.

    Parameters
    ----------
    table
        The fitted trials.
    name
        As a log's heading names the walker.
    ordinary
        The class to count as ordinary; the level class with most runs if left out.
    compass
        The walker's compass; the defaults if left out, as pace trials say nothing of it.
    """
    ordinary = ordinary or ordinary_class(table)
    # Not `table.run_sd_pct` where that already has the default in it: it must not count twice.
    count_sd = (
        table.run_sd_pct / 100
        if table.scatter_assumed
        else settled_scatter(table.run_sd_pct / 100, table.freedom)
    )
    count_sd_pct = max(COUNT_SD_LEAST_PCT, 100 * count_sd)
    mean_sd_pct = max(ordinary.sd_pct, count_sd_pct / math.sqrt(ordinary.runs))
    if ordinary.borrowed:
        mean_sd_pct = ordinary.sd_pct
    default = CountScatter()
    count = CountScatter(
        scale_sd_pct=round(math.hypot(mean_sd_pct, SCALE_SD_LEAST_PCT), 2),
        count_sd_pct=round(count_sd_pct, 2),
        count_floor=default.count_floor,
    )
    same_load = [c for c in table.classes if c.load_kg == ordinary.load_kg]
    origin = {
        "pace.per_100_m": _origin_of(ordinary),
        "pace.scale_sd_pct": (
            f"{mean_sd_pct:.1f} % from the trials and {SCALE_SD_LEAST_PCT:g} % for another day"
        ),
        "pace.count_sd_pct": _origin_of_scatter(table),
    }
    left_out = [c.label for c in table.classes if c.load_kg != ordinary.load_kg]
    if left_out:
        origin["pace.ground"] = f"one load to a walker file; left out: {'; '.join(left_out)}"
    return Walker(
        name=name,
        per_100_m=round(ordinary.per_100_m, 2),
        compass=compass or CompassScatter(),
        count=count,
        classes=_walker_classes(same_load, ordinary),
        origin=MappingProxyType(origin),
    )


def _walker_classes(classes: Sequence[TrialClass], ordinary: TrialClass) -> tuple[PaceClass, ...]:
    """The classes as a log's remarks ask for them: every per cent of a direction in one."""
    made = []
    for direction in _DIRECTIONS:
        mine = [c for c in classes if c.ground == ordinary.ground and c.direction == direction]
        # The ordinary count itself stands for the ordinary ground where no slope is remarked.
        if mine and not direction == ordinary.direction == "level":
            made.append(_merged(mine, "", direction))
    for ground in dict.fromkeys(c.ground for c in classes if c.ground):
        for direction in _DIRECTIONS:
            mine = [c for c in classes if c.ground == ground and c.direction == direction]
            if mine:
                # The level count holds on that ground wherever a slope was not tried.
                made.append(_merged(mine, ground, None if direction == "level" else direction))
    return tuple(made)


def _merged(classes: Sequence[TrialClass], ground: str, slope: Slope | None) -> PaceClass:
    runs = sum(c.runs for c in classes)
    mean = sum(c.runs * c.per_100_m for c in classes) / runs
    variance = sum((c.runs * c.per_100_m * c.sd_pct / 100) ** 2 for c in classes) / runs**2
    return PaceClass(
        ground=ground,
        slope=slope,
        load_kg=classes[0].load_kg,
        per_100_m=round(mean, 2),
        per_100_m_sd=round(math.sqrt(variance), 2),
        runs=runs,
        borrowed=any(c.borrowed for c in classes),
    )


def _origin_of(one: TrialClass) -> str:
    runs = "1 run" if one.runs == 1 else f"{one.runs} runs"
    lean = ", leaning on the other classes" if one.borrowed else ""
    return f"{runs} on {class_label(*one.key)}{lean}"


def _origin_of_scatter(table: PaceTable) -> str:
    if table.freedom == 0:
        return f"the default {CountScatter().count_sd_pct:g} %: no class was walked twice"
    own = f"{table.freedom} repeated runs" if table.freedom > 1 else "1 repeated run"
    return f"{own}, with the default {CountScatter().count_sd_pct:g} % weighed in"
