"""Which sentences of the tool the pocket page says: the functions that make them, and the complaints."""

from __future__ import annotations

from typing import Final

from pacewright.answers import way
from pacewright.core import compass
from pacewright.core.log import (
    doubted_numbers,
    log_heading,
    meant_remarks,
    remarks,
    travel_log,
    written_numbers,
)
from pacewright.core.pace import tally, walker
from pacewright.core.way import aiming_off, frames, reckoning, regions, search_pattern, way_back
from pacewright.files import log_csv
from pacewright.pocket.sentence_functions import write_complaints, write_functions
from pacewright.wording import closure, numbers, way_answer
from pacewright.wording import walk as walk_words

COMPLAIN: Final = (
    compass,
    doubted_numbers,
    log_heading,
    remarks,
    travel_log,
    written_numbers,
    tally,
    walker,
    frames,
    regions,
    way_back,
    aiming_off,
    search_pattern,
    way,
    log_csv,
)
SAY: Final = (
    reckoning._ground_not_told,
    numbers.say_tally,
    walk_words.say_assumed,
    walk_words.say_reckoning,
    walk_words.station_table,
    walk_words.say_answer_line,
    way_answer.say_way,
    way_answer.explain_way,
    way_answer.way_tables,
    closure.say_closures,
)


def write_sentences(in_engine: frozenset[str]) -> str:
    """All sentences and complaints that the page can make, in JavaScript.

    Parameters
    ----------
    in_engine
        Names of the functions that the engine of the page has.

    Raises
    ------
    FormatComplaint
        A sentence is made with means that are not known here.
    """
    constants = (
        ("CAUTION", walk_words.CAUTION),
        ("FIRST_WORDS", meant_remarks.FIRST_WORDS),
        ("WHOLE_REMARKS", meant_remarks.WHOLE_REMARKS),
    )
    said = write_functions(SAY, in_engine, constants)
    return f"{said}\n{write_complaints(COMPLAIN)}"
