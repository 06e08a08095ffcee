"""Before a trip: where a bearing, a known place or a crossing of one's own track would tell most.

Every slip that could strike the planned legs moves what would be observed by so much; two slips that
move it alike cannot be told apart. The bits are a lower bound on what the observation tells about the
leg, taken as if the walk went as planned.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.core.log.log_heading import DEFAULT_KNOWN_SD_M
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.advice import landmark_places
from pacewright.core.slips.mistake_search import SlipPosterior, search_slips
from pacewright.core.slips.normal_batch import factor, log_sum
from pacewright.core.slips.observation_rows import station_signs
from pacewright.core.slips.residuals import lay
from pacewright.core.slips.trial_logs import NOTHING, LogModel
from pacewright.core.way.frames import Frame
from pacewright.core.way.observations import MapPlaces, units_per_metre

Array = NDArray[np.float64]

Planned = Literal["sighting", "known_place", "crossing"]

CROSSING_APART: Final = 3
"""Legs between two stations that are worth joining to one marker."""


@dataclass(frozen=True, slots=True)
class PlanCheck:
    """One thing to plan.

    Attributes
    ----------
    plan
        `sighting`: a bearing from the station to the target. `known_place`: let the station be a place
        the map knows. `crossing`: let the station be the marker of an earlier one.
    station
        Its number.
    target
        The landmark, or the earlier station's number as text; None for a known place.
    bits
        What it tells about which leg a mistake is in, beyond what the plan already holds.
    """

    plan: Planned
    station: int
    target: str | None
    bits: float


def plan_checks(
    log: TravelLog,
    walker: Walker | None = None,
    frame: Frame | None = None,
    placed: MapPlaces | None = None,
) -> tuple[PlanCheck, ...]:
    """What to plan on a route so that a mistake could be found, the best first.

    Parameters
    ----------
    log
        The planned legs, with the markers and known places the plan already holds.
    walker, frame, placed
        As for the search for mistakes.

    References
    ----------
    Bound on the entropy of a mixture: A. Kolchinsky & B. D. Tracey, Entropy 19 (2017) 361.
    """
    posterior = search_slips(log, walker, frame=frame, placed=placed)
    moves = _Moves(posterior)
    before = moves.bits(np.zeros((0, moves.legs + 1)), np.zeros((0, 3)), np.zeros(0))
    found = []
    for station in range(1, moves.legs):
        sign = station_signs(np.array([station, station]), moves.legs)
        flat = np.eye(3)[:2]
        for name, (east, north, sd) in landmark_places(posterior).items():
            row, noise = _line_row(posterior, station, east, north, sd)
            bits = moves.bits(sign[:1], row, np.array([noise])) - before
            found.append(PlanCheck("sighting", station, name, bits))
        known = np.full(2, (DEFAULT_KNOWN_SD_M * moves.metre) ** 2)
        found.append(PlanCheck("known_place", station, None, moves.bits(sign, flat, known) - before))
        for earlier in _near_before(posterior, station):
            between = sign - station_signs(np.array([earlier, earlier]), moves.legs)
            bits = moves.bits(between, flat, np.full(2, moves.metre**2)) - before
            found.append(PlanCheck("crossing", station, str(earlier), bits))
    return tuple(sorted(found, key=lambda check: -check.bits))


class _Moves:
    """How every slip would move the rows of a plan."""

    def __init__(self, posterior: SlipPosterior) -> None:
        self._posterior = posterior
        self._model = posterior.model
        self.legs = posterior.model.states.size
        self.metre = units_per_metre(posterior.walker, posterior.frame)
        chance = np.exp(posterior.slip_log_prior - log_sum(posterior.slip_log_prior))
        self._chance = chance
        self._leg = np.array([slip.legs[0] if slip.legs else 0 for slip in posterior.slips])
        self._sign, self._part, self._noise = _planned_rows(self._model)

    def bits(self, sign: Array, part: Array, noise: Array) -> float:
        """The bits about the leg when these rows are observed as well."""
        model = self._model
        every = np.concatenate([self._sign, sign])
        parts = np.concatenate([self._part, np.pad(part, ((0, 0), (0, 3 - part.shape[1])))])
        covariance = np.einsum("in,ia,abn,jb,jn->ij", every, parts, model.own, parts, every, optimize=True)
        for lever, variance in zip(_levers(model), model.shared_variance, strict=True):
            shared = np.einsum("in,ia,an->i", every, parts, lever)
            covariance += variance * np.outer(shared, shared)
        m = len(self._noise)
        covariance[:m, :m] += self._noise
        covariance[range(m, m + noise.size), range(m, m + noise.size)] += noise
        moved = np.zeros((m + noise.size, self._leg.size))
        for change in self._posterior.trials.changes:
            moved += every[:, change.leg] * (parts @ change.shift)
        white = factor(covariance[:, :, None]).whiten(moved[:, :, None])[:, :, 0] if len(moved) else moved
        return self._information(white)

    def _information(self, white: Array) -> float:
        square = (white**2).sum(axis=0)
        distance2 = np.maximum(square[:, None] + square[None] - 2.0 * white.T @ white, 0.0)
        near = np.exp(-distance2 / 8.0)
        chance = self._chance
        information = -float(chance @ np.log(near @ chance))
        for leg in np.unique(self._leg):
            mine = self._leg == leg
            share = chance[mine].sum()
            within = near[np.ix_(mine, mine)] @ (chance[mine] / share)
            information += float(chance[mine] @ np.log(within))
        return max(0.0, information) / math.log(2.0)


def _planned_rows(model: LogModel) -> tuple[Array, Array, Array]:
    """How legs enter all rows, back azimuths among them, by which part, and the rows' own covariance."""
    rows, p = model.rows, model.rows.pairs
    legs = rows.backs.legs
    back_sign = np.zeros((legs.size, rows.pair_sign.shape[1]))
    back_sign[np.arange(legs.size), legs] = 1.0
    sign = np.concatenate([rows.sign, back_sign])
    part = np.zeros((rows.size + legs.size, 3))
    part[: rows.size, :2] = rows.part
    part[rows.size :, 2] = 1.0
    noise = np.zeros((len(sign), len(sign)))
    noise[: 2 * p, : 2 * p] = np.kron(rows.place_variance[:p, :p], np.eye(2))
    sight = lay(model, NOTHING).sight
    if sight is not None:
        across = sight.across[:, :, 0]
        placed = model.place_variance[p:, p:] * (across.T @ across)
        placed += np.diag((sight.distance[:, 0] * rows.bearings.sd_rad) ** 2)
        noise[2 * p : rows.size, 2 * p : rows.size] = placed
    noise[range(rows.size, len(sign)), range(rows.size, len(sign))] = rows.backs.variance[legs]
    return sign, part, noise


def _levers(model: LogModel) -> list[Array]:
    """What one unit of each shared error adds to east, north and azimuth of the legs, (3, n + 1)."""
    east, north, _ = model.steps
    flat = np.zeros_like(east)
    # What is read backward carries the compass's own share as its leg does: it drops out there.
    turns = [np.stack([north, -east, flat]), np.stack([north, -east, np.ones_like(east)])]
    return [*turns, *(np.stack([east, north, flat]) * on for on in (1.0, *model.class_of_leg))]


def _line_row(
    posterior: SlipPosterior, station: int, east: float, north: float, sd: float
) -> tuple[Array, float]:
    place = posterior.model.steps[:2, :station].sum(axis=1)
    to_east, to_north = east - place[0], north - place[1]
    distance = max(1.0, math.hypot(to_east, to_north))
    row = np.array([[to_north / distance, -to_east / distance, 0.0]])
    walker = posterior.walker.compass
    variance_deg2 = walker.sighting_sd_deg**2 + walker.reading_interval_deg**2 / 12.0
    return row, (math.radians(1.0) * distance) ** 2 * variance_deg2 + sd**2


def _near_before(posterior: SlipPosterior, station: int) -> list[int]:
    """The earlier stations that the plan passes close by, so that they could be met again."""
    steps = posterior.model.steps[:2]
    places = np.concatenate([np.zeros((2, 1)), np.cumsum(steps, axis=1)], axis=1)
    away = np.hypot(*(places - places[:, station : station + 1]))
    usual = float(np.median(np.hypot(*steps)))
    tied = {(tie.first, tie.second) for tie in posterior.observations.ties}
    return [
        earlier
        for earlier in range(0, station - CROSSING_APART + 1)
        if away[earlier] < usual and (earlier, station) not in tied
    ]
