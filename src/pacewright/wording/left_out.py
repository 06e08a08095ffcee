"""Why a log that can be read and adjusted is not learnt from all the same."""

from __future__ import annotations

from pacewright.answers.closing import chance_that_bars_learning
from pacewright.core.learn.evidence import LeftOut
from pacewright.core.log.questions import other_walker
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import Frame
from pacewright.core.way.observations import MapPlaces
from pacewright.exceptions import ValueComplaint
from pacewright.wording.findings import say_percent


def refuse_other_walker(log: TravelLog, walker: Walker) -> None:
    """Refuse to learn from the log of another walker.

    Raises
    ------
    ValueComplaint
        The heading names somebody else than the walker whose figures would be set right.
    """
    other = other_walker(log, walker)
    if other is not None:
        raise ValueComplaint(
            f"this log is not learnt from: {other}",
            "Give the walker's own file, correct the name, or add --force",
        ).at(column="heading walker")


def find_other_left_out(log: TravelLog, walker: Walker) -> LeftOut | None:
    """That a log is another walker's, where its heading says so."""
    other = other_walker(log, walker)
    return (
        None if other is None else LeftOut(f"is left out: {other}. Correct the name, or choose its walker.")
    )


def find_left_out(log: TravelLog, walker: Walker, frame: Frame, placed: MapPlaces) -> LeftOut | None:
    """Why checking keeps a log from being learnt from; None where nothing does.

    Parameters
    ----------
    log, walker, frame, placed
        As they are checked and adjusted.
    """
    chance = chance_that_bars_learning(log, walker, frame, placed)
    if chance is None:
        return None
    return LeftOut(
        f"is left out: by pacewright check it holds a mistake ({say_percent(chance)} sure). "
        "Mend the log, and learn from it then."
    )
