"""Slips in what was read beside the legs: back azimuths, bearings, known places, markers, pulled stations.

Each changes what was observed and no leg: a residual shifts, or an observation is set aside by widening
its scatter. All are weighed against one factor of the log as written, so that they cost next to nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.slips.normal_batch import log_sum
from pacewright.core.slips.residuals import Laid
from pacewright.core.slips.slip_entries import Reading, misread, other_quadrants, swapped, turned
from pacewright.core.slips.trial_logs import LogModel
from pacewright.core.way.observations import Observations

Array = NDArray[np.float64]

ReadingKind = Literal[
    "back_not_turned", "back_misread", "bearing_misread", "place_wrong", "marker_mistaken", "station_pulled"
]
ReadingOf = Literal["back", "bearing", "place", "marker", "station"]
READING_KINDS: Final[tuple[ReadingKind, ...]] = (
    "back_not_turned",
    "back_misread",
    "bearing_misread",
    "place_wrong",
    "marker_mistaken",
    "station_pulled",
)

NOT_TURNED_WEIGHT: Final = 5.0
"""A back azimuth written as it stands and not turned round: five times as often as any other slip of one
written number, for it is the commonest slip of learners (assumed)."""
RATE_OF_PLACE: Final = 0.04
"""A known place, a marker, or a station that pulls the compass is wrong 1 time in 50 (assumed), beside a
mistake in every second log that is brought."""
PLACE_SD_M: Final = 200.0
PLACE_DOUBT_TIMES: Final = 3.0
"""A known place is misplaced by some 200 m in each coordinate, or its stated doubt is three times too
small (assumed)."""
MARKER_SHARE: Final = 0.1
MARKER_LEAST_M: Final = 50.0
"""A marker mistaken for another lies a tenth of what was walked since it was last met aside, and at least
50 m (assumed)."""
PULL_SD_DEG: Final = 12.0
PULL_STEP_DEG: Final = 6.0
_PULLS_DEG: Final = np.arange(-36.0, 36.1, PULL_STEP_DEG)
_ANY_ANGLE_SD_RAD: Final = 10.0
"""So wide that an azimuth set aside says nothing."""


@dataclass(frozen=True, slots=True)
class ReadingSlip:
    """One slip in a reading, and what it may have read instead.

    Attributes
    ----------
    kind, reading
        Which slip, of what.
    leg, station, name
        The leg of a back azimuth, the station of a bearing, a marker or a pull, the thing or the place.
    row
        The row of the log that a bearing stands in, from 0; None for the rest.
    instead
        What would have been read, as the pencil writes it; None where nothing tells.
    rows
        The observed numbers that the slip touches.
    """

    kind: ReadingKind
    reading: ReadingOf
    leg: int | None
    station: int | None
    name: str | None
    row: int | None
    instead: str | None
    rows: tuple[int, ...]

    @property
    def where(self) -> tuple[ReadingOf, int | str | None]:
        """What it strikes, whatever it does there."""
        at = self.leg if self.reading == "back" else self.name if self.reading == "place" else self.station
        return (self.reading, self.row if self.reading == "bearing" else at)


@dataclass(frozen=True, slots=True, eq=False)
class WeighedReadings:
    """How well each slip in a reading explains the log, h of them.

    Attributes
    ----------
    slips
        The slips.
    log_evidence
        Shape (levels, h), the slip's own weight in it.
    total_weight
        Of all of them, beside the weights of the kinds that strike legs.
    """

    slips: tuple[ReadingSlip, ...]
    log_evidence: Array
    total_weight: float


@dataclass(frozen=True, slots=True, eq=False)
class _Try:
    """A slip, what it adds to the residuals (m,) and to their covariance (m, 2), and what it gains."""

    slip: ReadingSlip
    weight: float
    shift: Array
    widen: Array
    gain: float


def weigh_readings(
    log: TravelLog,
    model: LogModel,
    observations: Observations,
    nothing: Laid,
    levels: Sequence[float],
    units_per_metre: float,
    leg_weight: float,
) -> WeighedReadings:
    """Weigh every slip in a reading of a log.

    Parameters
    ----------
    log, model, observations
        The log, laid out.
    nothing
        The log as written, laid against what was observed.
    levels
        Sizes of the own scatter.
    units_per_metre
        Of the frame.
    leg_weight
        The weights of the kinds that strike legs, summed.
    """
    m = model.rows.size
    tries = [
        *_back_slips(log, observations, nothing, m),
        *_bearing_slips(log, observations, nothing, m),
        *_place_slips(observations, m, units_per_metre, leg_weight),
        *_marker_slips(model, observations, m, units_per_metre, leg_weight),
        *_pulls(log, model, observations, nothing, m, leg_weight),
    ]
    if not tries:
        return WeighedReadings((), np.zeros((len(levels), 0)), 0.0)
    shift = np.stack([one.shift for one in tries], axis=1)
    widen = np.stack([one.widen for one in tries])
    gain = np.array([one.gain + math.log(one.weight) for one in tries])
    evidence = np.stack([_evidence(nothing, level, shift, widen) for level in levels]) + gain
    return _joined(tries, evidence)


def _evidence(nothing: Laid, level: float, shift: Array, widen: Array) -> Array:
    """Log evidence of shifted residuals with widened covariances, by one factor, shape (h,)."""
    m = shift.shape[0]
    lower = np.linalg.cholesky(nothing.covariance(level)[:, :, 0] + 1e-12 * np.eye(m))
    white = np.linalg.solve(lower, nothing.residual + shift)
    wide = np.linalg.solve(lower, widen.transpose(1, 0, 2).reshape(m, -1)).reshape(m, -1, 2)
    inner = np.einsum("mha,mhb->hab", wide, wide) + np.eye(2)
    pull = np.einsum("mha,mh->ha", wide, white)
    solved = np.linalg.solve(inner, pull[..., None])[..., 0]
    square = np.einsum("mh,mh->h", white, white) - np.einsum("ha,ha->h", pull, solved)
    half = np.log(np.diag(lower)).sum() + 0.5 * np.linalg.slogdet(inner)[1]
    density: Array = -0.5 * square - half - 0.5 * m * math.log(2.0 * math.pi) + nothing.extra
    return density


def _joined(tries: Sequence[_Try], evidence: Array) -> WeighedReadings:
    """Sum the tries that are one slip: the sizes of a pull, and of a misplaced place."""
    groups: dict[ReadingSlip, list[int]] = {}
    for number, one in enumerate(tries):
        groups.setdefault(one.slip, []).append(number)
    summed = np.stack([log_sum(evidence[:, numbers], axis=1) for numbers in groups.values()], axis=1)
    return WeighedReadings(tuple(groups), summed, sum(one.weight for one in tries))


def _first_back(observations: Observations) -> int:
    return 2 * (len(observations.ties) + len(observations.fixes))


def _first_bearing(observations: Observations) -> int:
    return _first_back(observations) + len(observations.back_azimuths)


def _back_slips(log: TravelLog, observations: Observations, nothing: Laid, m: int) -> Iterator[_Try]:
    first, unit, legs = _first_back(observations), log.heading.azimuth_unit, log.legs
    each = 1.0 / len(legs) if legs else 0.0
    for k, back in enumerate(observations.back_azimuths):
        read = legs[back.leg - 1].find(BackReading)
        if read is None:
            continue
        row, written = first + k, Reading(read.text, read.azimuth_deg)
        found: list[tuple[ReadingKind, Reading, float]] = [
            ("back_not_turned", turned(written, 180, unit), NOT_TURNED_WEIGHT)
        ]
        for others, weight in (
            (misread(written, unit), 1.0),
            (swapped(written, unit), 0.5),
            (other_quadrants(written, unit), 1.0),
        ):
            found += [("back_misread", one, weight / len(others)) for one in others]
        for kind, one, weight in found:
            slip = ReadingSlip(kind, "back", back.leg, None, None, None, one.text, (row,))
            residual = float(nothing.residual[row, 0]) + math.radians(one.azimuth_deg - read.azimuth_deg)
            shift = np.zeros(m)
            shift[row] = (residual + math.pi) % (2.0 * math.pi) - math.pi - nothing.residual[row, 0]
            yield _Try(slip, weight * each, shift, np.zeros((m, 2)), 0.0)
        slip = ReadingSlip("back_misread", "back", back.leg, None, None, None, None, (row,))
        gain = math.log(_ANY_ANGLE_SD_RAD / math.sqrt(2.0 * math.pi))
        yield _Try(slip, each, np.zeros(m), _wide(m, row, _ANY_ANGLE_SD_RAD), gain)


def _bearing_slips(log: TravelLog, observations: Observations, nothing: Laid, m: int) -> Iterator[_Try]:
    first, each = _first_bearing(observations), 1.0 / max(1, len(log.legs))
    for k, bearing in enumerate(observations.bearings):
        row = first + k
        slip = ReadingSlip(
            "bearing_misread", "bearing", None, bearing.station, bearing.name, bearing.row, None, (row,)
        )
        # So many times wider than all that the row could miss by, it says nothing.
        sd = 100.0 * math.sqrt(
            float(nothing.covariance()[row, row, 0]) + float(nothing.residual[row, 0]) ** 2
        )
        gain = math.log(sd / math.sqrt(2.0 * math.pi)) - float(nothing.bearing_gain[k, 0])
        yield _Try(slip, 3.5 * each, np.zeros(m), _wide(m, row, sd), gain)


def _place_slips(
    observations: Observations, m: int, units_per_metre: float, leg_weight: float
) -> Iterator[_Try]:
    first = 2 * len(observations.ties)
    weight = RATE_OF_PLACE * leg_weight / 2.0
    for k, fix in enumerate(observations.fixes):
        rows = (first + 2 * k, first + 2 * k + 1)
        slip = ReadingSlip("place_wrong", "place", None, fix.station, fix.name, None, None, rows)
        for sd in (PLACE_SD_M * units_per_metre, math.sqrt(PLACE_DOUBT_TIMES**2 - 1.0) * fix.sd):
            yield _Try(slip, weight, np.zeros(m), _wide_pair(m, rows, sd), 0.0)
    seen: dict[str, list[int]] = {}
    for k, bearing in enumerate(observations.bearings):
        if bearing.landmark is not None:
            seen.setdefault(bearing.name, []).append(k)
    start = _first_bearing(observations)
    for name, which in seen.items():
        touched = tuple(start + k for k in which)
        slip = ReadingSlip("place_wrong", "place", None, None, name, None, None, touched)
        widen = np.zeros((m, 2))
        for k in which:
            azimuth_rad = math.radians(observations.bearings[k].azimuth_deg)
            widen[start + k] = math.cos(azimuth_rad), -math.sin(azimuth_rad)
        yield _Try(slip, 2.0 * weight, np.zeros(m), PLACE_SD_M * units_per_metre * widen, 0.0)


def _marker_slips(
    model: LogModel, observations: Observations, m: int, units_per_metre: float, leg_weight: float
) -> Iterator[_Try]:
    walked = np.concatenate([[0.0], np.cumsum(model.states.length)])
    for k, tie in enumerate(observations.ties):
        rows = (2 * k, 2 * k + 1)
        since = float(walked[tie.second] - walked[tie.first])
        slip = ReadingSlip("marker_mistaken", "marker", None, tie.second, tie.name, None, None, rows)
        sd = max(MARKER_SHARE * since, MARKER_LEAST_M * units_per_metre)
        yield _Try(slip, RATE_OF_PLACE * leg_weight, np.zeros(m), _wide_pair(m, rows, sd), 0.0)


def _pulls(
    log: TravelLog, model: LogModel, observations: Observations, nothing: Laid, m: int, leg_weight: float
) -> Iterator[_Try]:
    """A station that turns the forward azimuth set out on there and every reading taken there.

    Only where two lines could show it; what one reading alone tells is that reading's own slip.
    """
    first, start = _first_back(observations), _first_bearing(observations)
    row_of = {back.leg: first + k for k, back in enumerate(observations.back_azimuths)}
    at: dict[int, list[int]] = {}
    for k, bearing in enumerate(observations.bearings):
        at.setdefault(bearing.station, []).append(start + k)
    share = np.exp(-0.5 * (_PULLS_DEG / PULL_SD_DEG) ** 2)
    share /= share.sum()
    rows = model.rows
    for station in range(1, len(log.legs)):
        read_here = [*([row_of[station]] if station in row_of else []), *at.get(station, [])]
        if len(read_here) + (station + 1 in row_of) < 2:
            continue
        step = model.steps[:, station]
        enters = rows.sign[:, station]
        touched = tuple(read_here) + ((row_of[station + 1],) if station + 1 in row_of else ())
        slip = ReadingSlip("station_pulled", "station", None, station, None, None, None, touched)
        for pull_deg, part in zip(_PULLS_DEG.tolist(), share.tolist(), strict=True):
            pull_rad = math.radians(pull_deg)
            sine, cosine = math.sin(pull_rad), math.cos(pull_rad)
            moved = np.array(
                [cosine * step[0] + sine * step[1], cosine * step[1] - sine * step[0], step[2] + pull_rad]
            )
            lever = -enters * (rows.part @ np.array([moved[1], -moved[0], 1.0]))
            shift = -enters * (rows.part @ (moved - step))
            for row in read_here:
                reach = 1.0 if row < start else float(nothing.bearing_range[row - start, 0])
                sign = 1.0 if row < start else -1.0
                shift[row] += sign * reach * pull_rad
                lever[row] += sign * reach
            widen = np.zeros((m, 2))
            widen[:, 0] = lever * math.radians(PULL_STEP_DEG) / math.sqrt(12.0)
            yield _Try(slip, RATE_OF_PLACE * leg_weight * part, shift, widen, 0.0)


def _wide(m: int, row: int, sd: float) -> Array:
    widen = np.zeros((m, 2))
    widen[row, 0] = sd
    return widen


def _wide_pair(m: int, rows: tuple[int, int], sd: float) -> Array:
    widen = np.zeros((m, 2))
    widen[rows[0], 0] = widen[rows[1], 1] = sd
    return widen
