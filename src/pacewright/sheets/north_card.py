"""The declination card of a place and a date: the three norths in words, numbers and a drawing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from pacewright.core.compass import AzimuthReference, AzimuthUnit, format_azimuth, from_degrees, to_degrees
from pacewright.drawing.north_diagram import angle_times, draw_norths
from pacewright.ground.declination import Declination
from pacewright.ground.grid import GridTurn, GridZone
from pacewright.ground.north import NorthRelation, convert_azimuth
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
from pacewright.wording.sheets import say_dial, say_drawn_angles, say_read

_EVERY: Final[dict[AzimuthUnit, int]] = {"degrees": 10, "mils": 200, "gon": 10}


@dataclass(frozen=True, slots=True)
class NorthFound:
    """What is known of the norths at a place.

    Attributes
    ----------
    place, when
        As they are to be read.
    declination, turn, zone
        Of the magnetic field and of the grid there.
    notes
        Sentences about the place.
    """

    place: str
    when: str
    declination: Declination
    turn: GridTurn
    zone: GridZone
    notes: tuple[str, ...] = ()

    @property
    def relation(self) -> NorthRelation:
        """How the three norths stand to one another."""
        found = self.declination
        return NorthRelation(found.declination_deg, self.turn.convergence_deg, found.declination_sd_deg)


def north_card(found: NorthFound, paper: Paper, unit: AzimuthUnit = "degrees") -> Sheet:
    """Give the card of the norths at one place and date.

    Parameters
    ----------
    found
        The norths.
    paper
        What it is printed on.
    unit
        Of the azimuths.
    """
    relation, field = found.relation, found.declination
    sentences = [
        norths.say_declination(field, found.when),
        *norths.say_grid(found.turn, found.zone, relation),
        norths.say_model(field),
        *found.notes,
    ]
    # Dial alone and in large letters: what its rules say stands beside it, large enough for a wet pocket.
    drawing = draw_norths(relation, unit=unit, dial_only=True)
    dial = keep([heading("Which way to turn the dial"), *texts(say_dial(relation, unit), size_em=0.95)])
    room = paper.room_mm[0]
    blocks: list[Block] = [
        text(found.place, bold=True),
        *(caution(words) for words in norths.say_compass_zone(field)),
        *(
            [caution(norths.CAUTION), *texts(sentences)]
            if paper.is_card
            else [*texts(sentences), caution(norths.CAUTION)]
        ),
    ]
    if paper.is_narrow:
        shown = keep([picture(drawing, width_mm=room if paper.is_card else 0.7 * room), _how_drawn(relation)])
        blocks += [shown, dial, _rules(relation, unit)]
    else:
        checked = keep([text("Checked against the sun or a line on the map:", size_em=0.9), lines(2, 7.0)])
        left = [picture(drawing, width_mm=0.5 * room), _how_drawn(relation), checked]
        blocks.append(beside(left, [dial, _rules(relation, unit)], 0.5 * room))
    blocks.append(keep([heading("Azimuth by azimuth"), _conversions(relation, unit, paper)]))
    if paper.is_card:
        blocks[-1:] = [new_page(), *blocks[-1]["blocks"]]
    return sheet(f"Three norths, {found.when}", blocks)


def _how_drawn(relation: NorthRelation) -> Block:
    return text(" ".join(say_drawn_angles(relation, angle_times(relation))), size_em=0.85)


def _rules(relation: NorthRelation, unit: AzimuthUnit) -> Block:
    _, rules = norths.rule_table(relation, unit)
    columns = [Column("from", 1.0), Column("to", 1.0), Column("do this", 2.1, bold=True)]
    return keep([heading("What to do to an azimuth"), table(columns, [rule[:3] for rule in rules])])


def _conversions(relation: NorthRelation, unit: AzimuthUnit, paper: Paper) -> Block:
    full = round(from_degrees(360.0, unit))
    values = range(0, full, _EVERY[unit])
    parts = 1 if paper.is_card else 2 if paper.is_narrow else 4
    column = [
        Column(say_read("magnetic", unit).replace(" ", "\n"), align="right", bold=True),
        Column("grid", align="right"),
        Column("true", align="right"),
    ]
    each = -(-len(values) // parts)
    rows = []
    for i in range(each):
        row: list[str] = []
        for k in range(parts):
            at = k * each + i
            row += _changed(values[at], relation, unit) if at < len(values) else ["", "", ""]
        rows.append(row)
    return table(column * parts, rows, pad_mm=0.65, heavy_every=3)


def _changed(value: int, relation: NorthRelation, unit: AzimuthUnit) -> list[str]:
    azimuth_deg = to_degrees(value, unit)
    others: tuple[AzimuthReference, ...] = ("grid", "true")
    return [
        str(value),
        *(
            format_azimuth(convert_azimuth(azimuth_deg, "magnetic", north, relation).to_deg, unit, 1)
            for north in others
        ),
    ]
