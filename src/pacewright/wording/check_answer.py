"""The whole answer to "does it close": closures, the search for a mistake, bearings, advice, islands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Final

from pacewright.core.adjust.closure import Closure, find_closures
from pacewright.core.bearings.included_angles import find_included_angles
from pacewright.core.bearings.local_attraction import LocalAttraction, find_log_attraction
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.advice import Advice, advise, best_of_each
from pacewright.core.slips.bearing_slips import BearingSlips, find_bearing_slips
from pacewright.core.slips.mistakes import Findings
from pacewright.core.slips.place_mixture import Island, find_islands
from pacewright.core.slips.slip_pairs import PairFindings, find_pairs
from pacewright.core.slips.suspects import Suspect
from pacewright.core.way.frames import Frame
from pacewright.core.way.observations import find_observations
from pacewright.core.way.reckoning import reckon
from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.wording.closure import say_closures, say_included_angles, say_local_attraction
from pacewright.wording.findings import (
    CAUTION,
    Rows,
    say_advice,
    say_findings,
    say_islands,
    say_pairs,
    say_suspect,
    say_unseen,
    suspect_table,
)
from pacewright.wording.walk import say_assumed

LEGS_FOR_PAIRS: Final = 24
"""Beyond so many legs the pairs of slips are searched only when asked for: they take seconds."""


@dataclass(frozen=True, slots=True, eq=False)
class CheckAnswer:
    """What a log says of itself.

    Attributes
    ----------
    findings, closures, bearings, advice, islands, pairs, pulls
        What was computed; no pairs where they were not searched, no pulls where nothing tells of any.
    is_shown
        True where a mistake is more likely than not and lies in the legs: suspects are then shown.
    said_closures
        How it closes.
    said_search
        Whether it holds a mistake, where, and what to look at.
    said_rest
        Local attraction, what would not show, what was left out.
    found
        The sentences of the search that go under a drawing.
    """

    findings: Findings
    closures: Sequence[Closure]
    bearings: BearingSlips
    advice: Sequence[Advice]
    islands: tuple[Island, ...]
    pairs: PairFindings | None
    pulls: LocalAttraction | None
    is_shown: bool
    said_closures: tuple[str, ...]
    said_search: tuple[str, ...]
    said_rest: tuple[str, ...]
    found: tuple[str, ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        """All that is said, the caution last."""
        return (*self.said_closures, *self.said_search, *self.said_rest, CAUTION)

    @property
    def table(self) -> Rows | None:
        """The likeliest suspects."""
        return suspect_table(self.findings) if is_finding(self.findings) else None

    @property
    def is_finding(self) -> bool:
        """True where a mistake is more likely than not, in a leg or in a bearing."""
        return is_finding(self.findings)


@dataclass(frozen=True, slots=True, eq=False)
class ClosuresOnly:
    """How a log closes, before any search."""

    closures: Sequence[Closure]
    said: tuple[str, ...]


def is_finding(findings: Findings) -> bool:
    """Tell whether a mistake is more likely than not."""
    return findings.observed and findings.verdict != "none"


def answer_check(findings: Findings, said: Sequence[str] = (), *, two: bool = False) -> CheckAnswer:
    """Give all that a searched log says of itself.

    Parameters
    ----------
    findings
        Of the search.
    said
        What was said of its known places.
    two
        Search for two slips also in a long log.
    """
    posterior = findings.posterior
    log, frame, last = posterior.log, posterior.frame, posterior.model.states.size
    closures = find_closures(log, reckon(log, posterior.walker, frame), posterior.observations)
    bearings = find_bearing_slips(posterior)
    # While a reading is what is wrong, whatever is said of the legs follows from it.
    of_legs = findings.wrong_reading is None
    is_shown = is_finding(findings) and of_legs
    found = tuple(say_findings(findings))
    advice = best_of_each(advise(posterior))
    islands = find_islands(posterior, last)
    pairs = find_pairs(posterior) if two or (is_shown and last <= LEGS_FOR_PAIRS) else None
    pulls, said_of_pulls = _pulled(log, posterior.walker)
    shown: tuple[str, ...] = ()
    if is_shown:
        shown = (
            *(say_pairs(pairs, log) if pairs else ()),
            *say_advice(advice, log),
            *say_islands(islands, log, last, frame.unit),
        )
    return CheckAnswer(
        findings=findings,
        closures=closures,
        bearings=bearings,
        advice=advice,
        islands=islands,
        pairs=pairs,
        pulls=pulls,
        is_shown=is_shown,
        said_closures=(*say_assumed(log, posterior.walker), *said, *say_closures(log, closures, frame.unit)),
        said_search=(*found, *shown),
        said_rest=(*said_of_pulls, *say_unseen(findings), *posterior.observations.unused),
        found=found,
    )


def answer_closures(
    log: TravelLog,
    walker: Walker,
    frame: Frame,
    placed: Mapping[str, tuple[float, float]],
    said: Sequence[str] = (),
) -> ClosuresOnly:
    """Give how a log closes, without a search for what may have gone wrong.

    Parameters
    ----------
    log, walker, frame
        The log, who walked it, and the frame it is closed in.
    placed
        Places of known points that only a map can tell.
    said
        What was said of its known places.
    """
    observations = find_observations(log, walker, frame, placed)
    closures = find_closures(log, reckon(log, walker, frame), observations)
    return ClosuresOnly(
        closures, (*say_assumed(log, walker), *said, *say_closures(log, closures, frame.unit))
    )


def say_accepted_on_page(suspect: Suspect, log: TravelLog) -> str:
    """Say what was put right on the page itself."""
    return (
        f"Put right on the page: {say_suspect(suspect, log)} What stood there is struck out in the notes "
        "([was ...]), and can be put back. What follows is the page searched again."
    )


def _pulled(log: TravelLog, walker: Walker) -> tuple[LocalAttraction | None, list[str]]:
    """Give what back readings say of stations that pull the compass, checked by the angles of a loop."""
    try:
        found = find_log_attraction(log, walker)
    except MissingComplaint:
        return None, []
    said = say_local_attraction(found)
    with suppress(ValueComplaint):
        said += say_included_angles(find_included_angles(found.lines))
    return found, said
