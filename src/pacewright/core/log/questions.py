"""What a log that can be read makes one ask: back azimuths not turned round, degrees for mils, whose it is.

Each may be right as it stands, so nothing is refused and nothing changed; a reader is asked.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from typing import Final

from pacewright.core.compass import FULL_CIRCLE, back_azimuth, format_azimuth, turn_deg
from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import Leg, Note, TravelLog
from pacewright.core.pace.walker import Walker

NOT_TURNED_WITHIN_DEG: Final = 30.0
"""A back reading this near to the azimuth of its leg was hardly read backward: for that the compass would
have been pulled by 150 degrees (assumed)."""

LEAST_LEGS_IN_MILS: Final = 4
"""From so many legs on a log in mils with no azimuth above 360 makes one ask for degrees: 360 mils are 20
degrees, and a walk that keeps within them is rare (assumed)."""

MOST_LEGS_NAMED: Final = 6
OLD_LETTERS: Final = {"cp1252": "Windows", "mac_roman": "the Mac"}
"""How letters were written before UTF-8, and by which system."""
_NUMBER: Final = re.compile(r"\d+(?:[.,]\d*)?")


def find_questions(log: TravelLog) -> tuple[str, ...]:
    """What a log makes one ask, a sentence or two each, with the legs and their lines.

    Parameters
    ----------
    log
        The log; lines are named where it was read from a file.
    """
    # Degrees taken as mils seem not turned round, all of them: the unit is asked about first.
    return *_say_unread_date(log), *_say_old_letters(log), *_of_readings(log)


def _say_unread_date(log: TravelLog) -> Iterator[str]:
    if log.heading.unread_date:
        yield (
            f"Which day was it? {log.heading.unread_date} is no date, or may be one of two. Write it as "
            "2026-05-14 or 14 May 2026; until then no date is used."
        )


def _say_old_letters(log: TravelLog) -> Iterator[str]:
    if log.page is not None and log.page.encoding in OLD_LETTERS:
        of = OLD_LETTERS[log.page.encoding]
        yield (
            f"Does a name look wrong? The file is not UTF-8 and was read with the letters of {of}. If so, "
            "save it as CSV in UTF-8."
        )


def _of_readings(log: TravelLog) -> tuple[str, ...]:
    return tuple(_say_degrees_for_mils(log)) or tuple(_say_not_turned(log))


def is_not_turned(leg: Leg) -> bool:
    """Whether a leg's back reading is about the azimuth of the leg itself."""
    back = leg.find(BackReading)
    return back is not None and abs(turn_deg(leg.azimuth_deg, back.azimuth_deg)) <= NOT_TURNED_WITHIN_DEG


def other_walker(log: TravelLog, walker: Walker) -> str | None:
    """Who walked by the heading and whose the figures are, where these differ; else None.

    Capitals and blanks make no difference; a name left out on either side is none that differs.
    """
    written, own = (" ".join(name.split()) for name in (log.heading.walker, walker.name))
    if not written or not own or _bare(written) == _bare(own):
        return None
    return f"the heading names {written} as the walker, and the figures are those of {own}"


def _bare(name: str) -> str:
    return "".join(unicodedata.normalize("NFKC", name).casefold().split())


def _say_not_turned(log: TravelLog) -> Iterator[str]:
    found = [
        (number, leg) for number, leg in enumerate(log.legs, start=1) if leg.remarks and is_not_turned(leg)
    ]
    if not found:
        return
    number, leg = found[0]
    back = leg.find(BackReading)
    assert back is not None
    azimuths = (leg.azimuth_deg, back_azimuth(leg.azimuth_deg))
    own, turned = (format_azimuth(azimuth_deg, log.heading.azimuth_unit) for azimuth_deg in azimuths)
    which = _name_legs(log, found)
    if len(found) == 1:
        yield (
            f"{which}: was [back {back.text}] read backward? It is about the azimuth of the leg itself "
            f"({own}); from its end, looking back, about {turned} would be read."
        )
    else:
        yield (
            f"{which}: were their back azimuths read backward? Each is about the azimuth of its leg; from "
            f"the end of leg {number}, looking back, about {turned} would be read and not {back.text}."
        )


def _name_legs(log: TravelLog, found: Sequence[tuple[int, Leg]]) -> str:
    shown = found[:MOST_LEGS_NAMED]
    legs = _and([str(number) for number, _ in shown], len(found) - len(shown))
    lines = ""
    # The rows of a page that is typed have no lines that its writer could see.
    if log.page is not None:
        lines = f" (line{'s' if len(found) > 1 else ''} {_and([str(leg.line) for _, leg in shown], 0)})"
    return f"Leg{'s' if len(found) > 1 else ''} {legs}{lines}"


def _and(names: Sequence[str], more: int) -> str:
    if more:
        return f"{', '.join(names)} and {more} more"
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _say_degrees_for_mils(log: TravelLog) -> Iterator[str]:
    heading = log.heading
    if heading.azimuth_unit != "mils":
        return
    legs = sum(_NUMBER.fullmatch(leg.cells.azimuth.strip()) is not None for leg in log.legs)
    read = list(_numbers(log))
    if legs >= LEAST_LEGS_IN_MILS and max(read) <= FULL_CIRCLE["degrees"]:
        yield (
            f"Were degrees read? The heading says mils, {FULL_CIRCLE['mils']} to the circle, and none of the "
            f"{len(read)} azimuths is above {FULL_CIRCLE['degrees']}. If so, write 'azimuth: "
            f"{heading.azimuth_reference} degrees' in the heading."
        )


def _numbers(log: TravelLog) -> Iterator[float]:
    """Every azimuth that is written as a number: of legs, of bearings, read backward."""
    for row in log.rows:
        texts = [] if isinstance(row, Note) else [row.cells.azimuth.strip()]
        texts += [remark.text for remark in row.remarks if isinstance(remark, BackReading)]
        for text in texts:
            if _NUMBER.fullmatch(text):
                yield float(text.replace(",", "."))
