"""What travels inside the pocket page: logs, the walker's figures, the sun of the next days, tables."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from pacewright.core.pace.walker import Walker
from pacewright.wording.walker import say_figures, walker_class_rows


@dataclass(frozen=True, slots=True)
class SunAsked:
    """Of which place, from which day on, for how many days, and by which clock the sun is told."""

    latitude_deg: float
    longitude_deg: float
    date: datetime.date
    days: int
    zone: datetime.tzinfo
    zone_name: str


def carry(
    walker: Walker, logs: Sequence[str] = (), sun: SunAsked | None = None, desk: str | None = None
) -> dict[str, Any]:
    """What the page carries.

    Parameters
    ----------
    walker
        Whose figures travel inside.
    logs
        Texts of travel logs, each as it stands in its file.
    sun
        Whose rise and set travel inside.
    desk
        Address of the desk that takes logs back in; None where none made the page.
    """
    heading, rows = walker_class_rows(walker)
    return {
        "walker": figures_of(walker),
        "figures": say_figures(walker),
        "classes": [list(heading), [list(row) for row in rows]] if rows else None,
        "logs": [
            {"id": hashlib.sha256(text.encode("utf-8")).hexdigest()[:16], "text": text} for text in logs
        ],
        "desk": desk,
        "tables": [*_sun_tables(sun), *_pace_tables(walker)],
    }


def figures_of(walker: Walker) -> dict[str, Any]:
    """A walker's figures as the page's engine takes them."""
    return {
        "name": walker.name,
        "per_100_m": walker.per_100_m,
        "compass": asdict(walker.compass),
        "count": asdict(walker.count),
        "classes": [
            {
                "ground": one.ground,
                "slope": one.slope,
                "per_100_m": one.per_100_m,
                "per_100_m_sd": one.per_100_m_sd,
                "runs": one.runs,
            }
            for one in walker.classes
        ],
    }


def _sun_tables(asked: SunAsked | None) -> list[dict[str, Any]]:
    if asked is None:
        return []
    from pacewright.ground.sun_day import sun_day
    from pacewright.wording.sun import say_sun_day

    dates = [asked.date + datetime.timedelta(days=k) for k in range(asked.days)]
    said = (
        say_sun_day(sun_day(asked.latitude_deg, asked.longitude_deg, date, asked.zone), asked.zone_name)
        for date in dates
    )
    return [
        {"title": f"Sun, {date.isoformat()}", "says": sentences}
        for date, sentences in zip(dates, said, strict=True)
    ]


def _pace_tables(walker: Walker) -> list[dict[str, Any]]:
    if walker.per_100_m is None:
        return []
    from pacewright.sheets.pace_card import pace_tables

    return [
        {"title": title, "heading": heading, "rows": rows} for title, (heading, rows) in pace_tables(walker)
    ]
