"""The posterior over every single slip on every leg, and `no mistake`, given all that was observed.

    log P(slip | log) = log of how often its kind and place happen
                        + log p(lengths and directions without it) - log p(as written)
                        + log N(observed - reckoned without it; 0, its own covariance)

The covariance is that of the log without the slip; the own scatter of the walker enters at several
sizes, for it is the one belief that decides how many clean logs are accused.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.leg_prior import (
    LengthPrior,
    RoutePrior,
    fit_length_prior,
    fit_route_prior,
    log_lengths,
)
from pacewright.core.slips.leg_state import LegStates, leg_states
from pacewright.core.slips.missing_leg import Gap, MissingLegs, weigh_missing_legs
from pacewright.core.slips.normal_batch import log_sum
from pacewright.core.slips.observation_rows import observation_rows
from pacewright.core.slips.page_doubts import PageDoubts, find_page_doubts
from pacewright.core.slips.plan_prior import PlanPrior, fit_plan_prior
from pacewright.core.slips.pulled_stations import best_pulls, find_places_read_at
from pacewright.core.slips.reading_slips import ReadingSlip, find_reading_slips, reading_trials
from pacewright.core.slips.residuals import log_evidence
from pacewright.core.slips.slip_marks import find_marks
from pacewright.core.slips.slip_trials import slip_trials
from pacewright.core.slips.slips import PAGE_MISREAD, AnySlip, detour_sense, find_slips, likely_kinds
from pacewright.core.slips.trial_logs import NOTHING, LogModel, Trials
from pacewright.core.way.frames import Frame, choose_frame
from pacewright.core.way.observations import MapPlaces, Observations, find_observations, units_per_metre
from pacewright.exceptions import NoAnswerComplaint, ValueComplaint

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

DEFAULT_PRIOR: Final = 0.5
"""The share of logs with a mistake among those that somebody brings because they do not close."""

SCATTER_LEVELS: Final = tuple(float(level) for level in np.exp(0.25 * np.array([-1.5, -0.5, 0.5, 1.5])))
LEVEL_SHARES: Final = (0.159, 0.341, 0.341, 0.159)
"""A walker's scatter is believed to within a quarter: four sizes of a lognormal, with its quartiles'
shares. With one size, twice as many clean logs are accused when the scatter was believed wrongly."""

MOST_LEGS: Final = 2000
MOST_WORK: Final = 3e6
"""The search takes seconds for every million of legs times observed numbers squared, and memory with
it; a long log with a single closure takes ten seconds at so many legs. Beyond either it is refused."""


@dataclass(frozen=True, slots=True, eq=False)
class SlipPosterior:
    """What the search found, slip by slip.

    Attributes
    ----------
    log, walker, frame, observations
        What was searched.
    placed
        Places that a map gave for known points.
    model
        The log laid out for trials.
    slips, trials
        Every slip on a row or on the whole log, h of them, and the log without it.
    missing
        The missing legs, g gaps.
    readings, reading_trials
        Every slip in a reading, r of them, and the log without it: those of one reading first, those of
        pulled stations after them.
    prior
        The share of logs with a mistake, before looking; what the reader of the page doubts is in it.
    none_probability
        Of no mistake.
    slip_probability, gap_probability
        Of each slip, shape (h,), and of a leg missing in each gap, shape (g,).
    reading_probability
        Of each slip in a reading, shape (r,). All sum to 1.
    bayes_factor
        How many times likelier the log is with a mistake in it than without.
    levels, level_share
        Sizes of the own scatter, and the chance of each given the log, shape (levels,).
    mark
        By how many standard deviations each slip shows in what was observed, shape (h,).
    slip_log_prior, reading_log_prior
        Log of how often each slip happens, with what it does to lengths and directions, shapes (h,), (r,).
    none_evidence, single_evidence
        Log evidence of no mistake, and of a single one, over all sizes of the own scatter.
    """

    log: TravelLog
    walker: Walker
    frame: Frame
    observations: Observations
    placed: MapPlaces
    model: LogModel
    slips: tuple[AnySlip, ...]
    trials: Trials
    missing: MissingLegs
    readings: tuple[ReadingSlip, ...]
    reading_trials: tuple[Trials, Trials]
    prior: float
    none_probability: float
    slip_probability: Array
    gap_probability: Array
    reading_probability: Array
    bayes_factor: float
    levels: Array
    level_share: Array
    mark: Array
    slip_log_prior: Array
    reading_log_prior: Array
    none_evidence: float
    single_evidence: float

    @property
    def mistake_probability(self) -> float:
        """Of any mistake at all."""
        return 1.0 - self.none_probability

    @property
    def leg_probability(self) -> float:
        """Of a mistake in a leg, a leg left out, or the whole log."""
        return float(self.slip_probability.sum() + self.gap_probability.sum())

    def places_struck(self) -> Ints:
        """A number for what each slip strikes, then each slip in a reading: its leg, or one beyond."""
        numbers: dict[object, int] = {}
        beyond = self.model.states.size + 1
        return np.array(
            [
                *(slip.legs[0] if slip.legs else 0 for slip in self.slips),
                *(beyond + numbers.setdefault(slip.where, len(numbers)) for slip in self.readings),
            ],
            dtype=np.int64,
        )

    @property
    def gaps(self) -> tuple[Gap, ...]:
        """Where a leg can be missing."""
        return self.missing.gaps


@dataclass(frozen=True, slots=True, eq=False)
class _Priors:
    lengths: LengthPrior
    route: RoutePrior | None
    plan: PlanPrior | None


def _refuse_too_long(legs: int, observed: int, most_work: float) -> None:
    if legs > MOST_LEGS or legs * observed**2 > most_work:
        raise NoAnswerComplaint(
            f"a log of {legs} legs that holds so much beside them is too long to be searched slip by slip"
            if observed
            else f"a log of {legs} legs is too long to be searched slip by slip",
            "Give a part of it, from one marker to another",
        )


def search_slips(
    log: TravelLog,
    walker: Walker | None = None,
    *,
    frame: Frame | None = None,
    prior: float = DEFAULT_PRIOR,
    placed: MapPlaces | None = None,
    route_prior: bool = False,
    length_prior: LengthPrior | None = None,
    levels: Sequence[float] = SCATTER_LEVELS,
    level_shares: Sequence[float] = LEVEL_SHARES,
    most_work: float = MOST_WORK,
    plan: TravelLog | None = None,
) -> SlipPosterior:
    """Weigh every single slip on every leg of a log, and no mistake.

    Parameters
    ----------
    log, walker
        The log and the one who walked it.
    frame
        By default paces, until log and walker hold a pace count and a known point.
    prior
        The share of logs with a mistake, before looking: more than 0 and less than 1.
    placed
        Places of known points that only a map can tell, metres east and north from the start.
    route_prior
        Also hold legs against the general direction, or the steady turn of a loop.
    length_prior
        What is known of the traveller's legs beside this log; by default only this log tells.
    levels, level_shares
        Sizes of the own scatter against the walker's figures, and the share of each.
    most_work
        Legs times the square of what was observed, beyond which the search is refused.
    plan
        The legs as planned, whose cards were walked: row by row what the log was to be.

    Raises
    ------
    ValueComplaint
        The prior is none.
    NoAnswerComplaint
        The log is too long, or holds too much beside its legs, to be searched slip by slip.
    MissingComplaint
        The map frame has no pace count, the pace table lacks a class that the log names, or the plan is
        of another walk.

    References
    ----------
    C. M. Bishop, Pattern Recognition and Machine Learning (2006), sec. 3.4 (from memory).
    """
    if not 0 < prior < 1:
        raise ValueComplaint(
            f"{prior:g} is not a share of logs with a mistake",
            "Give more than 0 and less than 1, such as 0.5",
        )
    walker = walker or Walker()
    frame = frame or choose_frame(log.heading, walker)
    _refuse_too_long(len(log.legs), 0, most_work)
    observations = find_observations(log, walker, frame, placed)
    states = leg_states(log, walker, frame)
    model = LogModel(states, observation_rows(log, observations, states.size), walker)
    _refuse_too_long(states.size, model.rows.size, most_work)
    metre, sizes = units_per_metre(walker, frame), np.array(levels)
    plan_prior = None if plan is None else fit_plan_prior(log, plan, walker, frame)
    priors = _fit_priors(log, metre, observations, states, route_prior, length_prior, plan_prior)
    walked = find_slips(log, follows_plan=plan is not None)
    doubts = find_page_doubts(log, detour_sense(log), observations)
    slips = (*walked, *doubts.slips)
    trials = slip_trials(slips, model, frame)
    readings, of_readings = _find_readings(log, model, observations, metre, doubts)
    own = sum(one.weight for one in readings if one.kind != PAGE_MISREAD)
    shares = np.array(likely_kinds(log, walked, own))
    log_prior = _place_weights(slips) + _prior_ratio(slips, trials, model, priors)
    log_prior[: len(walked)] += shares[: len(walked)]
    if model.rows.is_empty:
        # Lengths alone must not accuse a log of which nothing else is known.
        log_prior[: len(walked)] -= log_sum(log_prior[: len(walked)]) - np.log1p(-np.exp(shares[-2]))
        log_prior[len(walked) :] = _place_weights(doubts.slips)
    # A reader's odds are against the number as it stands; mistakes of walkers are a share of all logs.
    misread = (1.0 - prior) * doubts.odds
    as_read, of_walkers = np.log((1.0 - prior) / (prior + misread)), np.log(prior / (prior + misread))
    log_prior += np.where(np.arange(len(slips)) < len(walked), of_walkers, as_read)
    shares += of_walkers
    prior = (prior + misread) / (1.0 + misread)
    missing = weigh_missing_legs(model, observations, priors.lengths, priors.route, sizes)
    reading_log_prior = np.log([one.weight for one in readings])
    reading_log_prior += [as_read if one.kind == PAGE_MISREAD else shares[-1] for one in readings]
    none = log_evidence(model, NOTHING, sizes)
    slip = log_evidence(model, trials, sizes) + log_prior
    gap = missing.log_evidence + missing.place_weight + shares[-2]
    reading = np.concatenate([log_evidence(model, one, sizes) for one in of_readings], axis=1)
    reading = reading + reading_log_prior
    chances = _chances(prior, none, (slip, gap, reading), np.log(np.array(level_shares)))
    return SlipPosterior(
        log=log,
        walker=walker,
        frame=frame,
        observations=observations,
        placed=placed or MapPlaces(),
        model=model,
        slips=slips,
        trials=trials,
        missing=missing,
        readings=readings,
        reading_trials=of_readings,
        prior=prior,
        none_probability=chances.none,
        slip_probability=chances.mistakes[0],
        gap_probability=chances.mistakes[1],
        reading_probability=chances.mistakes[2],
        bayes_factor=chances.bayes_factor,
        levels=sizes,
        level_share=chances.level_share,
        mark=find_marks(model, trials),
        slip_log_prior=log_prior,
        reading_log_prior=reading_log_prior,
        none_evidence=chances.none_evidence,
        single_evidence=chances.single_evidence,
    )


def _place_weights(slips: Sequence[AnySlip]) -> Array:
    return np.array([slip.place_weight for slip in slips])


def _find_readings(
    log: TravelLog,
    model: LogModel,
    observations: Observations,
    units_per_metre: float,
    doubts: PageDoubts,
) -> tuple[tuple[ReadingSlip, ...], tuple[Trials, Trials]]:
    """Every slip in a reading, and the log without each: of one reading first, then of stations."""
    single = (*find_reading_slips(log, model, observations, units_per_metre), *doubts.bearings)
    pulled, pull_trials = best_pulls(find_places_read_at(log.station_names(), model, observations), model)
    return (*single, *pulled), (reading_trials(single, model, observations), pull_trials)


@dataclass(frozen=True, slots=True, eq=False)
class _Chances:
    """What all hypotheses come to once they are held against each other; mistakes batch by batch."""

    none: float
    mistakes: tuple[Array, ...]
    bayes_factor: float
    level_share: Array
    none_evidence: float
    single_evidence: float


def _chances(prior: float, none: Array, mistakes: Sequence[Array], level_weight: Array) -> _Chances:
    """Put the parts together; none and every batch of mistakes have shape (levels, their number)."""
    single = np.concatenate(mistakes, axis=1) + level_weight[:, None]
    nothing = none + level_weight[:, None]
    everything = np.concatenate([nothing + np.log1p(-prior), single + np.log(prior)], axis=1)
    total = float(log_sum(everything.ravel()))
    probability = np.exp(log_sum(everything, axis=0) - total)
    none_evidence, single_evidence = float(log_sum(nothing[:, 0])), float(log_sum(single.ravel()))
    with np.errstate(over="ignore"):
        bayes_factor = float(np.exp(single_evidence - none_evidence))
    ends = np.cumsum([batch.shape[1] for batch in mistakes])
    return _Chances(
        none=float(probability[0]),
        mistakes=tuple(np.split(probability[1:], ends[:-1])),
        bayes_factor=bayes_factor,
        level_share=np.exp(log_sum(everything, axis=1) - total),
        none_evidence=none_evidence,
        single_evidence=single_evidence,
    )


def _fit_priors(
    log: TravelLog,
    units_to_metre: float,
    observations: Observations,
    states: LegStates,
    route_prior: bool,
    lengths: LengthPrior | None,
    plan: PlanPrior | None,
) -> _Priors:
    detours = detour_sense(log)
    counted = np.array([not detours.is_offset(leg) for leg in range(1, states.size + 1)])
    lengths = lengths or fit_length_prior(states.length, counted, units_to_metre)
    if not route_prior:
        return _Priors(lengths, None, plan)
    closes = any(tie.first == 0 and tie.second == states.size for tie in observations.ties)
    return _Priors(lengths, fit_route_prior(states.azimuth_rad, closes, counted), plan)


def _prior_ratio(slips: Sequence[AnySlip], trials: Trials, model: LogModel, priors: _Priors) -> Array:
    """How much likelier lengths and directions are without each slip than as written.

    Where a plan says what the rows were to be, it says all of it.
    """
    ratio = np.zeros(trials.size)
    for change in trials.changes:
        at = np.flatnonzero(change.leg < model.states.size)
        leg = change.leg[at]
        east, north, _ = model.steps[:, leg] + change.shift[:, at]
        was = model.states.length[leg]
        length = np.hypot(east, north)
        if priors.plan is not None:
            ratio[at] += priors.plan.log_ratio(leg, np.arctan2(east, north), log_lengths(length))
            continue
        same = np.isclose(length, was, rtol=1e-9, atol=1e-9)
        longer = priors.lengths.log_ratio(leg, log_lengths(length))
        ratio[at] += np.where(same, 0.0, longer)
        if priors.route is not None:
            ratio[at] += priors.route.log_ratio(leg, np.arctan2(east, north))
    return ratio if priors.plan is None else priors.plan.finish(slips, ratio)
