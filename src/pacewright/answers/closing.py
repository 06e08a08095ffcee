"""Does it close, and if not, which slip explains it: closures, suspects, advice, islands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from pacewright.answers.estimate import Estimate, KnownPlaces
from pacewright.answers.pulled_stations import (
    PulledStations,
    find_pulled,
    find_unsearched,
    pulls_somewhere,
    with_one_correction,
)
from pacewright.core.adjust.adjustment import Adjustment, adjust, adjust_reckoning
from pacewright.core.adjust.closure import Closure, find_closures
from pacewright.core.adjust.rule_adjustment import RuleAdjustment, adjust_by_rule
from pacewright.core.adjust.traverse_rules import TraverseRule
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.advice import Advice, advise, best_of_each
from pacewright.core.slips.bearing_slips import BearingSlips, find_bearing_slips
from pacewright.core.slips.corrected_log import accept_suspect
from pacewright.core.slips.mistake_search import DEFAULT_PRIOR, MOST_WORK
from pacewright.core.slips.mistakes import Findings, find_mistakes
from pacewright.core.slips.place_mixture import Island, find_islands
from pacewright.core.slips.reading_slips import set_aside
from pacewright.core.slips.slip_pairs import PairFindings, find_pairs
from pacewright.core.way.frames import Frame
from pacewright.core.way.observations import MapPlaces, find_observations
from pacewright.core.way.reckoning import Reckoning, reckon
from pacewright.exceptions import NoAnswerComplaint

LEGS_FOR_PAIRS: Final = 24
"""Beyond so many legs the pairs of slips are searched only when asked for: they take seconds."""


@dataclass(frozen=True, slots=True, eq=False)
class Closing:
    """What a log says of itself.

    Attributes
    ----------
    findings, closures, bearings, advice, islands, pairs
        What the search found; no pairs where they were not searched.
    pulled
        Stations that pull the compass, and what was read there put right.
    is_shown
        True where a mistake is likelier than not and lies in the legs: suspects are then shown.
    """

    findings: Findings
    closures: Sequence[Closure]
    bearings: BearingSlips
    advice: Sequence[Advice]
    islands: tuple[Island, ...]
    pairs: PairFindings | None
    pulled: PulledStations
    is_shown: bool


def search_log(
    log: TravelLog,
    walker: Walker,
    known: KnownPlaces,
    *,
    prior: float = DEFAULT_PRIOR,
    route_prior: bool = False,
    most_work: float = MOST_WORK,
    plan: TravelLog | None = None,
) -> Findings:
    """The suspects of a log, with all that it holds and a map told.

    Raises
    ------
    NoAnswerComplaint
        The log is too long to be searched.
    """
    found = find_mistakes(
        log,
        walker,
        frame=known.frame,
        prior=prior,
        placed=known.placed,
        route_prior=route_prior,
        most_work=most_work,
        plan=plan,
    )
    return with_one_correction(found)


def search_of(estimate: Estimate) -> Findings:
    """The suspects of a log of which the estimate is known: what was searched once is not searched again.

    Raises
    ------
    NoAnswerComplaint
        The log is too long to be searched.
    """
    found = estimate.findings
    if found is None or found.posterior.frame != estimate.known.frame:
        return search_log(estimate.log, estimate.walker, estimate.known)
    return with_one_correction(found)


def is_finding(findings: Findings) -> bool:
    """Whether a mistake is likelier than not."""
    return findings.observed and findings.verdict != "none"


def answer_closing(findings: Findings, *, two: bool = False) -> Closing:
    """All that a searched log says of itself.

    Parameters
    ----------
    findings
        Of the search.
    two
        Search for two slips also in a long log.
    """
    posterior = findings.posterior
    log, last = posterior.log, posterior.model.states.size
    # While a reading is what is wrong, whatever is said of the legs follows from it.
    is_shown = is_finding(findings) and findings.wrong_reading is None
    return Closing(
        findings=findings,
        closures=find_closures(log, as_written(findings), posterior.observations),
        bearings=find_bearing_slips(posterior),
        advice=best_of_each(advise(posterior)),
        islands=find_islands(posterior, last),
        pairs=find_pairs(posterior) if two or (is_shown and last <= LEGS_FOR_PAIRS) else None,
        pulled=find_pulled(findings),
        is_shown=is_shown,
    )


def as_written(findings: Findings) -> Reckoning:
    """The stations as the pencil has them, in the frame of the search."""
    posterior = findings.posterior
    return reckon(posterior.log, posterior.walker, posterior.frame)


def corrected_stations(
    findings: Findings, most: int, least_chance: float
) -> tuple[tuple[Reckoning, float], ...]:
    """The stations as the likeliest suspects would have them, each with its chance."""
    posterior = findings.posterior
    made = []
    for suspect in findings.suspects[:most]:
        if suspect.probability < least_chance:
            break
        # A wrong reading moves no leg, but where a station pulled the compass.
        moves = suspect.reading is None or suspect.reading.reading == "station"
        if moves and suspect.is_told:
            # A missing leg is drawn at the first of its places.
            after = suspect.after_legs[0] if suspect.after_legs is not None else None
            corrected = accept_suspect(posterior.log, suspect, after)
            made.append((reckon(corrected, posterior.walker, posterior.frame), suspect.probability))
    return tuple(made)


def closures_of(log: TravelLog, walker: Walker, frame: Frame, placed: MapPlaces) -> tuple[Closure, ...]:
    """How a log closes, without a search for what may have gone wrong."""
    observations = find_observations(log, walker, frame, placed)
    return find_closures(log, reckon(log, walker, frame), observations)


def adjust_log(estimate: Estimate, known: KnownPlaces | None = None, *, robust: bool = False) -> Adjustment:
    """A log adjusted as a whole by least squares, by what the estimate holds to be right.

    A reading that is wrong, likelier than not, is left out. While the mistake lies in a leg nothing is spread
    over the others: the stations stand as written, as in every other answer, unless an outlying leg may pull
    less.

    Parameters
    ----------
    estimate
        Where the log stands.
    known
        The frame to adjust in and the places known in it; by default those of the estimate.
    robust
        Let an outlying leg, bearing or place pull less.

    Raises
    ------
    Complaint
        The frame has no pace count, or the bearings do not settle on one figure.
    """
    known, log, walker = known or estimate.known, estimate.log, estimate.walker
    reckoning = reckon(log, walker, known.frame)
    observations = find_observations(log, walker, known.frame, known.placed)
    if estimate.wrong_reading is not None:
        observations = set_aside(estimate.wrong_reading, observations)
    bias_sd_deg = walker.compass.bias_sd_deg
    if not estimate.is_condemned or robust:
        return adjust_reckoning(reckoning, observations, bias_sd_deg, robust=robust)
    bare = replace(observations, ties=(), fixes=(), bearings=(), back_azimuths=(), goals={})
    stands = estimate.stations(known.frame.kind)
    legs_alone = adjust_reckoning(reckoning, bare, bias_sd_deg)
    return replace(legs_alone, place=stands.place, held=stands.covariances())


def adjust_by_textbook(
    log: TravelLog, walker: Walker, known: KnownPlaces, rule: TraverseRule
) -> RuleAdjustment:
    """A log adjusted by a textbook rule, in the frame of its known places: the working, not the estimate.

    Raises
    ------
    MissingComplaint
        The frame has no pace count.
    """
    return adjust_by_rule(log, walker, known.frame, rule=rule, placed=known.placed)


def adjust_to_learn(
    log: TravelLog, walker: Walker, known: KnownPlaces, *, robust: bool = False
) -> Adjustment:
    """A log adjusted with all that it holds: what a walker's figures are learnt from, once nothing bars it.

    Raises
    ------
    Complaint
        The frame has no pace count, or the bearings do not settle on one figure.
    """
    return adjust(log, walker, known.frame, placed=known.placed, robust=robust)


def chance_that_bars_learning(
    log: TravelLog, walker: Walker, frame: Frame, placed: MapPlaces
) -> float | None:
    """The chance of a mistake in a log that is not to be learnt from; None where it may be."""
    try:
        found = find_mistakes(log, walker, frame=frame, placed=placed)
    except NoAnswerComplaint:
        # Too long to be searched: how badly it fits must tell.
        return None
    return found.mistake_probability if is_finding(found) else None


def pulled_stations(estimate: Estimate) -> PulledStations | None:
    """Stations of a log that pull the compass, as `check` names them; None where none does."""
    if not pulls_somewhere(estimate.log, estimate.walker):
        return None
    if estimate.findings is None:
        return find_unsearched(estimate.log, estimate.walker)
    return find_pulled(with_one_correction(estimate.findings))
