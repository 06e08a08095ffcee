"""The declination card of a place and a date: the three norths in words, numbers and a drawing."""

from __future__ import annotations

from typing import Final

from pacewright.core.compass import AzimuthUnit, format_azimuth, from_degrees, to_degrees
from pacewright.drawing.north_diagram import angle_times, draw_norths
from pacewright.ground.grid_text import format_place
from pacewright.ground.north import NorthRelation, convert_azimuth
from pacewright.ground.norths_at import NorthsAt
from pacewright.sheets.blocks import (
    Block,
    Column,
    beside,
    caution,
    heading,
    keep,
    lines,
    new_page,
    picture,
    table,
    text,
    texts,
)
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording import norths
from pacewright.wording.sheets import say_dial, say_drawn_angles

AZIMUTH_HEADS: Final = ("read\n", "on dial:\nmap is", "on map:\ndial is")
_EVERY: Final[dict[AzimuthUnit, int]] = {"degrees": 10, "mils": 200, "gon": 10}


def north_card(here: NorthsAt, paper: Paper, unit: AzimuthUnit = "degrees") -> Sheet:
    """The card of the norths at one place and date.

    Parameters
    ----------
    here
        The norths.
    paper
        What it is printed on.
    unit
        Of the azimuths and of every angle.
    """
    relation, field, position = here.relation, here.found, here.position
    sentences = [
        norths.say_declination(field, here.when, unit),
        *norths.say_grid(here.turn, here.zone, relation, unit),
        norths.say_model(field),
        *(f"Note: {remark}." for remark in position.remarks),
        *norths.say_pole(position.latitude_deg),
    ]
    # Dial alone and in large letters: what its rules say stands beside it, large enough for a wet pocket.
    drawing = draw_norths(relation, unit=unit, dial_only=True)
    dial = keep([heading("Which way to turn the dial"), *texts(say_dial(relation, unit), size_em=0.95)])
    room = paper.room_mm[0]
    blocks: list[Block] = [
        text(f"{format_place(position)} ({format_place(position, 'mgrs')})", bold=True),
        *(caution(words) for words in norths.say_compass_zone(field)),
        *(
            [caution(norths.CAUTION), *texts(sentences)]
            if paper.is_card
            else [*texts(sentences), caution(norths.CAUTION)]
        ),
    ]
    if paper.is_narrow:
        wide = room if paper.is_card else 0.7 * room
        shown = keep([picture(drawing, width_mm=wide), _how_drawn(relation, unit)])
        blocks += [shown, dial, _rules(relation, unit)]
    else:
        checked = keep([text("Checked against the sun or a line on the map:", size_em=0.9), lines(2, 7.0)])
        left = [picture(drawing, width_mm=0.5 * room), _how_drawn(relation, unit), checked]
        blocks.append(beside(left, [dial, _rules(relation, unit)], 0.5 * room))
    blocks.append(keep([heading("Azimuth by azimuth"), _both_ways(relation, unit, paper)]))
    if paper.is_card:
        blocks[-1:] = [new_page(), *blocks[-1]["blocks"]]
    return sheet(f"Three norths, {here.when}", blocks)


def _how_drawn(relation: NorthRelation, unit: AzimuthUnit) -> Block:
    return text(" ".join(say_drawn_angles(relation, angle_times(relation), unit)), size_em=0.9)


def _rules(relation: NorthRelation, unit: AzimuthUnit) -> Block:
    _, rules = norths.rule_table(relation, unit)
    columns = [Column("from", 1.0), Column("to", 1.0), Column("do this", 2.1, bold=True)]
    return keep([heading("What to do to an azimuth"), table(columns, [rule[:3] for rule in rules])])


def _both_ways(relation: NorthRelation, unit: AzimuthUnit, paper: Paper) -> Block:
    """For every tenth azimuth, what it is on the map when read on the dial, and the other way round."""
    values = azimuth_rows(relation, unit)
    parts = 1 if paper.is_card else 2 if paper.is_narrow else 4
    column = [
        Column(f"{AZIMUTH_HEADS[0]}{unit}", align="right", bold=True),
        *(Column(head, align="right") for head in AZIMUTH_HEADS[1:]),
    ]
    each = -(-len(values) // parts)
    rows = []
    for i in range(each):
        row: list[str] = []
        for k in range(parts):
            at = k * each + i
            row += values[at] if at < len(values) else ["", "", ""]
        rows.append(row)
    return table(column * parts, rows, pad_mm=0.65, heavy_every=3)


def azimuth_rows(relation: NorthRelation, unit: AzimuthUnit = "degrees") -> list[list[str]]:
    """Every tenth azimuth: as read, what it is on the map when read on the dial, and the other way."""
    values = range(0, round(from_degrees(360.0, unit)), _EVERY[unit])
    return [_changed(value, relation, unit) for value in values]


def _changed(value: int, relation: NorthRelation, unit: AzimuthUnit) -> list[str]:
    read_deg = to_degrees(value, unit)
    on_map = convert_azimuth(read_deg, "magnetic", "grid", relation).to_deg
    on_dial = convert_azimuth(read_deg, "grid", "magnetic", relation).to_deg
    return [str(value), *(format_azimuth(one, unit, 1) for one in (on_map, on_dial))]
