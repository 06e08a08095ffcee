"""The emergency card: where I am in every form, how sure that is, and what to say."""

from __future__ import annotations

from typing import Final

from pacewright.answers.estimate import Estimate
from pacewright.answers.placing import PlacedLog, place_log
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.exceptions import Complaint
from pacewright.sheets.blocks import Block, Column, caution, fields, heading, keep, ruled, table, text, texts
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.estimate import say_condemned
from pacewright.wording.numbers import say_place
from pacewright.wording.placing import (
    mgrs_digits,
    say_disagreement,
    say_lat_lon,
    say_mgrs,
    say_not_placed,
    say_placed,
)
from pacewright.wording.sheets import PAPER_CAUTION, say_whose
from pacewright.wording.sheets_field import TELL
from pacewright.wording.walk import say_reckoning

SMALL_EM: Final = 0.9
_SAID_OF_PLACE: Final = 3
_SAID_ON_MAP: Final = 2
"""The place on the map, and how sure it is."""


def emergency_card(estimate: Estimate, paper: Paper, probability: float = DEFAULT_PROBABILITY) -> Sheet:
    """The card of the last station of a log, by the estimate behind every other answer."""
    log = estimate.log
    walked = say_reckoning(log, estimate.stations("walker"), probability)[:_SAID_OF_PLACE]
    asked = [
        [("Time of this", "", 1.0), ("How many we are", "", 1.0)],
        [("Telephone", "", 1.0), ("Emergency number", "", 1.0)],
    ]
    if paper.is_card:
        asked = [[one] for row in asked for one in row]
    where = say_place(log.name_of(len(log.legs)), len(log.legs))
    blocks: list[Block] = [
        text(say_whose(estimate), size_em=SMALL_EM),
        *map(caution, say_condemned(estimate)),
        *_on_the_map(estimate, paper, probability),
        heading("From the start"),
        *texts(walked),
        caution(PAPER_CAUTION),
        keep([heading("What to say"), *texts(TELL)]),
        keep([fields(asked, 8.5)]),
        *([] if paper.is_card else [ruled("What they told us to do:", 8.0)]),
    ]
    return sheet(f"Emergency card: I am at {where}", blocks)


def _on_the_map(estimate: Estimate, paper: Paper, probability: float) -> list[Block]:
    try:
        placed = place_log(estimate)
    except Complaint as complaint:
        return [heading("On the map"), text(say_not_placed(complaint))]
    forms = table(
        [Column("form", mm=16 if paper.is_card else 34), Column("my position", bold=True, size_em=1.2)],
        _forms(placed, probability),
        row_mm=0.0 if paper.is_card else 6.0,
    )
    said = say_placed(estimate.log, placed, probability)[:_SAID_ON_MAP]
    doubted = map(caution, say_disagreement(placed))
    return [keep([heading("On the map"), forms]), text(said[1]), *doubted]


def _forms(placed: PlacedLog, probability: float) -> list[list[str]]:
    last = placed.last
    # To no more digits than the place is sure.
    to_m = 10 ** (5 - mgrs_digits(placed, last, probability))
    east, north = (to_m * round(float(part) / to_m) for part in placed.place_m[last])
    return [
        ["latitude, longitude", say_lat_lon(placed, last, probability)],
        ["MGRS", say_mgrs(placed, last, probability)],
        [f"grid {placed.on_grid.zone}", f"{east} E {north} N"],
    ]
