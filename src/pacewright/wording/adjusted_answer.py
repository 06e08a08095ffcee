"""The whole answer of an adjustment: sentences and tables, by least squares or by a textbook rule."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from pacewright.answers.pulled_stations import PulledStations
from pacewright.core.adjust.adjustment import Adjustment
from pacewright.core.adjust.rule_adjustment import RuleAdjustment
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.walker import Walker
from pacewright.wording.adjustment import (
    adjusted_leg_table,
    adjusted_station_table,
    say_adjustment,
    say_rule,
)
from pacewright.wording.closure import traverse_tables
from pacewright.wording.pulled import corrected_table, say_pulled
from pacewright.wording.walk import CAUTION, Rows, say_assumed, say_what_is_left_out

PUT_RIGHT_FIRST: Final = (
    "The last table gives those readings as they ought to have been. Put them right (pacewright check "
    "--accept), then adjust again."
)


@dataclass(frozen=True, slots=True)
class Said:
    """Sentences, the tables under them, and what of the sentences is said where little is to be said."""

    sentences: tuple[str, ...]
    tables: tuple[Rows, ...]
    brief: tuple[str, ...] = ()


def say_adjusted(
    log: TravelLog,
    adjustment: Adjustment | RuleAdjustment,
    probability: float,
    said: Sequence[str] = (),
    walker: Walker | None = None,
    warned: Sequence[str] = (),
    pulled: PulledStations | None = None,
) -> Said:
    """Say all of an adjusted log, the caution among it.

    Parameters
    ----------
    log, adjustment
        The log and what was made of it.
    probability
        Share of walks that a stated region holds; a textbook rule states none.
    said
        What was said of its known places.
    walker
        Whose figures it was adjusted with.
    warned
        The warning that every answer about the log begins with.
    pulled
        Stations that pull the compass; None where there is none.
    """
    if isinstance(adjustment, RuleAdjustment):
        told = say_rule(log, adjustment)
        stations = adjusted_station_table(adjustment, DEFAULT_PROBABILITY)
        tables = tuple(traverse_tables(log, adjustment)) or (stations,)
    else:
        told = say_adjustment(log, adjustment, probability)
        stations = adjusted_station_table(adjustment, probability)
        legs = () if adjustment.is_as_written else (adjusted_leg_table(log, adjustment),)
        tables = (stations, *legs)
    left_out = say_what_is_left_out(adjustment.reckoning)
    corrected = None if pulled is None else corrected_table(pulled)
    if pulled is not None and corrected is not None:
        told = [*told, *say_pulled(pulled), PUT_RIGHT_FIRST]
        tables = (*tables, corrected)
    sentences = (*warned, *told, *say_assumed(log, walker), *said, *left_out, CAUTION)
    return Said(sentences, tables, (*warned, *told[_before_the_answer(adjustment) :], CAUTION))


def _before_the_answer(adjustment: Adjustment | RuleAdjustment) -> int:
    """How many sentences stand before the answer: what the log is, and what was used."""
    if isinstance(adjustment, RuleAdjustment):
        return 1
    if adjustment.is_as_written:
        return 0
    return 2 if adjustment.redundancy else 1
