"""The card of sun and daylight: a place, the days of a week, and where the sun stands hour by hour."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from pacewright.answers.sunlight import SunAnswer, azimuth_drift_deg
from pacewright.ground.lat_lon_text import format_lat_lon
from pacewright.sheets.blocks import (
    Block,
    Column,
    caution,
    fields,
    heading,
    keep,
    new_page,
    table,
    text,
    texts,
)
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.sheets import PAPER_CAUTION
from pacewright.wording.sun import (
    DAY_APART,
    HORIZON,
    LIGHT_BY_HAND,
    TURN_BACK_RULE,
    days_table,
    hours_table,
    say_declination_used,
    say_drift,
)

SMALL_EM: Final = 0.9
_DAY_SHARES: Final = (1.3, 1.0, 1.0, 0.9, 1.0, 0.8, 1.0, 0.9, 1.0, 1.2)
_ON_CARD: Final = (0, 1, 2, 6, 8)
_ON_HALF: Final = (0, 1, 2, 3, 6, 7, 8)
"""Columns of the days that narrow paper has room for: the light, then where the sun rises and sets."""


_HEADS: Final = {"elevation": "height\ndeg"}


def sun_card(days: Sequence[SunAnswer], zone_name: str, paper: Paper) -> Sheet:
    """The card of the sun for some days that follow one another.

    Parameters
    ----------
    days
        At least one, all at one place, of one clock and one declination.
    zone_name
        What the clock is called.
    paper
        What it is printed on.
    """
    first, last = days[0].asked, days[-1].asked
    used = first.declination
    dates = first.date.isoformat() if len(days) == 1 else f"{first.date} to {last.date}"
    place = format_lat_lon(first.latitude_deg, first.longitude_deg, "degrees", 4)
    asked = [[("The way back takes", "", 1.0), ("I turn back at", "", 1.0), ("Day", "", 0.8)]]
    is_apart = any(
        cell.endswith(("+1", "-1")) for row in days_table([one.day for one in days], None)[1] for cell in row
    )
    blocks: list[Block] = [
        text(f"{place}, clock {zone_name}", bold=True),
        *(
            []
            if used is None
            else texts([say_declination_used(used.deg, used.sd_deg, used.origin)], size_em=SMALL_EM)
        ),
        caution(PAPER_CAUTION),
        _days(days, paper),
        *([text(DAY_APART, size_em=SMALL_EM)] if is_apart else []),
        *texts([HORIZON, TURN_BACK_RULE], size_em=SMALL_EM),
        keep([fields([[one] for one in asked[0]] if paper.is_card else asked, 8.0)]),
        text(LIGHT_BY_HAND, size_em=SMALL_EM),
        *([new_page()] if paper.is_card else []),
        *_hours(days, paper),
    ]
    return sheet(f"Sun and daylight, {dates}", blocks)


def _days(days: Sequence[SunAnswer], paper: Paper) -> Block:
    declination = days[0].asked.declination
    heads, rows = days_table([one.day for one in days], None if declination is None else declination.deg)
    kept = _ON_CARD if paper.is_card else _ON_HALF if paper.is_narrow else range(len(heads))
    bold = ("rise", "set")
    columns = [
        Column(heads[i], _DAY_SHARES[i], align="left" if i == 0 else "right", bold=heads[i] in bold)
        for i in kept
    ]
    return table(columns, [[row[i] for i in kept] for row in rows])


def _hours(days: Sequence[SunAnswer], paper: Paper) -> list[Block]:
    middle = days[len(days) // 2]
    declination = middle.asked.declination
    heads, rows = hours_table(middle.hours, middle.track, None if declination is None else declination.deg)
    if not rows:
        return []
    kept = [i for i, head in enumerate(heads) if not (paper.is_card and head == "azimuth (true)")]
    parts_across = 1 if paper.is_narrow else 2
    each = -(-len(rows) // parts_across)
    columns = [
        Column(
            _HEADS.get(heads[i], heads[i]).replace(" (", "\n").rstrip(")"),
            align="right",
            bold=heads[i].startswith("azimuth (m"),
        )
        for i in kept
    ]
    shown = []
    for i in range(each):
        row: list[str] = []
        for at in range(i, i + parts_across * each, each):
            row += [rows[at][k] for k in kept] if at < len(rows) else [""] * len(kept)
        shown.append(row)
    parts: list[Block] = [
        heading(f"Where the sun stands, {middle.asked.date}"),
        text(say_drift(azimuth_drift_deg(days), len(days)), size_em=SMALL_EM),
        table(columns * parts_across, shown, pad_mm=0.6, heavy_every=5),
    ]
    # Of a day without a night there are more rows than a panel holds.
    return parts if paper.is_card else [keep(parts)]
