"""The whole answer to "does it close": closures, the search for a mistake, bearings, advice, islands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pacewright.answers.closing import answer_closing, closures_of, is_finding
from pacewright.answers.pulled_stations import PulledStations
from pacewright.core.adjust.closure import Closure
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.advice import Advice
from pacewright.core.slips.bearing_slips import BearingSlips
from pacewright.core.slips.mistakes import Findings
from pacewright.core.slips.place_mixture import Island
from pacewright.core.slips.slip_pairs import PairFindings
from pacewright.core.slips.slips import is_declination_in_heading
from pacewright.core.slips.suspects import Suspect
from pacewright.core.way.frames import Frame
from pacewright.core.way.observations import MapPlaces
from pacewright.wording.closure import say_closures
from pacewright.wording.findings import (
    CAUTION,
    Rows,
    brief_findings,
    say_advice,
    say_findings,
    say_islands,
    say_pairs,
    say_unseen,
)
from pacewright.wording.pulled import corrected_table, say_pulled
from pacewright.wording.suspects import say_struck, say_suspect, suspect_table
from pacewright.wording.walk import say_assumed


@dataclass(frozen=True, slots=True, eq=False)
class CheckAnswer:
    """What a log says of itself.

    Attributes
    ----------
    findings, closures, bearings, advice, islands, pairs, pulled
        What was computed; no pairs where they were not searched.
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
    pulled: PulledStations
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
    def brief(self) -> tuple[str, ...]:
        """Whether it holds a mistake and where to look, then how it closes, the caution last."""
        return (*brief_findings(self.findings), *self.said_closures, CAUTION)

    @property
    def table(self) -> Rows | None:
        """The likeliest suspects."""
        return suspect_table(self.findings) if is_finding(self.findings) else None

    @property
    def corrected_readings(self) -> Rows | None:
        """What was read at stations that pull the compass, beside what it ought to have been."""
        return corrected_table(self.pulled)

    @property
    def is_finding(self) -> bool:
        """True where a mistake is more likely than not, in a leg or in a bearing."""
        return is_finding(self.findings)


@dataclass(frozen=True, slots=True, eq=False)
class ClosuresOnly:
    """How a log closes, before any search."""

    closures: Sequence[Closure]
    said: tuple[str, ...]


def answer_check(findings: Findings, said: Sequence[str] = (), *, two: bool = False) -> CheckAnswer:
    """Say all that a searched log says of itself.

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
    found = answer_closing(findings, two=two)
    told = tuple(say_findings(findings))
    shown: tuple[str, ...] = ()
    if found.is_shown:
        shown = (
            *(say_pairs(found.pairs, log) if found.pairs else ()),
            *say_advice(found.advice, log),
            *say_islands(found.islands, log, last, frame.unit),
        )
    return CheckAnswer(
        findings=findings,
        closures=found.closures,
        bearings=found.bearings,
        advice=found.advice,
        islands=found.islands,
        pairs=found.pairs,
        pulled=found.pulled,
        is_shown=found.is_shown,
        said_closures=(
            *say_closures(log, found.closures, frame.unit),
            *say_assumed(log, posterior.walker),
            *said,
        ),
        said_search=(*told, *shown),
        said_rest=(
            *_say_declination(log),
            *say_pulled(found.pulled),
            *say_unseen(findings),
            *posterior.observations.unused,
        ),
        found=told,
    )


def answer_closures(
    log: TravelLog,
    walker: Walker,
    frame: Frame,
    placed: MapPlaces,
    said: Sequence[str] = (),
) -> ClosuresOnly:
    """Say how a log closes, without a search for what may have gone wrong.

    Parameters
    ----------
    log, walker, frame
        The log, who walked it, and the frame it is closed in.
    placed
        Places of known points that only a map can tell.
    said
        What was said of its known places.
    """
    closures = closures_of(log, walker, frame, placed)
    return ClosuresOnly(
        closures, (*say_closures(log, closures, frame.unit), *say_assumed(log, walker), *said)
    )


def _say_declination(log: TravelLog) -> list[str]:
    """Say how the declination of a heading was read."""
    stated = log.heading.declination_deg
    if stated is None:
        return []
    shown = f"{abs(stated):g} {'W' if stated < 0 else 'E'}"
    if is_declination_in_heading(log.heading):
        return [
            f"The declination in the heading, {shown}, was taken to turn these magnetic azimuths to true north."
        ]
    return [
        f"These are {log.heading.azimuth_reference} azimuths: the declination in the heading, {shown}, was taken to be "
        "what the walker had turned the readings by before writing them."
    ]


def say_accepted_on_page(suspect: Suspect, log: TravelLog) -> str:
    """Say what was put right on the page itself."""
    return (
        f"Put right on the page: {say_suspect(suspect, log)} {say_struck(suspect, log)}, and can be put back. What "
        "follows is the page searched again."
    )
