"""Slips in what was read or met beside the legs: back azimuths, bearings, known places, markers.

Each changes what was observed and no leg: the reading would have been another, or it tells nothing; the
place lies elsewhere by a normal variable. The log without it is one more trial beside those of the legs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import AzimuthUnit, turn_deg
from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.slips.slip_entries import Reading, misread, other_quadrants, swapped, turned
from pacewright.core.slips.slips import KIND_WEIGHT, PageKind
from pacewright.core.slips.trial_logs import BearingChange, LogModel, Moved, Trials
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

NUMBER_WEIGHT: Final = 1.0
"""One number written, one chance: each way of misreading a back azimuth or a bearing strikes it as often as
a kind of slip strikes the azimuth of a leg (assumed)."""
NOT_TURNED_WEIGHT: Final = 5.0
"""A back azimuth not turned round: five times as often as any other slip of one written number, for it is
the commonest slip of learners (assumed)."""
RATE_OF_PLACE: Final = 1.0 / 50.0
"""A known place, a marker, or a station that pulls the compass is wrong 1 time in 50 (assumed)."""
PLACE_WEIGHT: Final = RATE_OF_PLACE / 0.5 * (sum(KIND_WEIGHT.values()) - KIND_WEIGHT["rows_exchanged"])
"""The same beside the weights of the kinds that strike legs, which together strike every second log that is
brought."""
PLACE_SD_M: Final = 200.0
PLACE_DOUBT_TIMES: Final = 3.0
"""A known place is misplaced by some 200 m in each coordinate, or its stated doubt is three times too
small (assumed)."""
MARKER_SHARE: Final = 0.1
MARKER_LEAST_M: Final = 50.0
"""A marker mistaken for another lies a tenth of what was walked since it was last met aside, and at least
50 m (assumed)."""


@dataclass(frozen=True, slots=True)
class ReadingSlip:
    """One slip in a reading, and what it may have read instead.

    Attributes
    ----------
    kind, reading
        Which slip, of what.
    weight
        How often it happens, beside the weights of the kinds that strike legs.
    leg, station, name
        The leg of a back azimuth, the station of a bearing, a marker or a pull, the thing or the place.
    row
        The row of the log that a bearing stands in, from 0; None for the rest.
    instead
        What would have been written: a reading, or for a known place its doubt; None where nothing tells.
    turn_deg
        What is added to the reading; for a station, to all of its readings.
    spread
        Standard deviation by which a place or a marker lies elsewhere, in frame units; 0 for the rest.
    """

    kind: ReadingKind | PageKind
    reading: ReadingOf
    weight: float
    leg: int | None = None
    station: int | None = None
    name: str | None = None
    row: int | None = None
    instead: str | None = None
    turn_deg: float = 0.0
    spread: float = 0.0

    @property
    def where(self) -> tuple[ReadingOf, int | str | None]:
        """What it strikes, whatever it does there."""
        at = self.leg if self.reading == "back" else self.name if self.reading == "place" else self.station
        return (self.reading, self.row if self.reading == "bearing" else at)


def set_aside(wrong: ReadingSlip, observations: Observations) -> Observations:
    """All that was observed but what one wrong reading says."""
    station, leg = wrong.station, wrong.leg
    if wrong.reading == "back":
        kept = tuple(one for one in observations.back_azimuths if one.leg != leg)
        return replace(observations, back_azimuths=kept)
    if wrong.reading == "bearing":
        seen = tuple(one for one in observations.bearings if one.row != wrong.row)
        return replace(observations, bearings=seen)
    if wrong.reading == "marker":
        return replace(observations, ties=tuple(one for one in observations.ties if one.second != station))
    if wrong.reading == "place":
        fixes = tuple(one for one in observations.fixes if one.name != wrong.name)
        seen = tuple(one for one in observations.bearings if one.name != wrong.name or one.landmark is None)
        return replace(observations, fixes=fixes, bearings=seen)
    # The readings at the ends of the lines that the pull is told by: the far end tells the line's azimuth.
    kept = tuple(one for one in observations.back_azimuths if one.leg != station)
    seen = tuple(one for one in observations.bearings if one.station != station)
    return replace(observations, back_azimuths=kept, bearings=seen)


def find_reading_slips(
    log: TravelLog, model: LogModel, observations: Observations, units_per_metre: float
) -> tuple[ReadingSlip, ...]:
    """Every slip in a back azimuth, a bearing, a known place or a marker; pulled stations left out.

    Parameters
    ----------
    log, model, observations
        The log, laid out.
    units_per_metre
        Of the frame.
    """
    return (
        *_back_slips(log, observations),
        *_bearing_slips(log, observations),
        *_place_slips(log, model, observations, units_per_metre),
        *_marker_slips(log, model, observations, units_per_metre),
    )


def reading_trials(slips: Sequence[ReadingSlip], model: LogModel, observations: Observations) -> Trials:
    """The log without each of the slips, in order."""
    h = len(slips)
    change = model.unchanged(h)
    turn_rad = np.radians([slip.turn_deg for slip in slips])
    none = model.states.size
    leg = np.array([none if slip.leg is None else slip.leg - 1 for slip in slips], dtype=np.int64)
    is_off = np.array([slip.instead is None and slip.spread == 0 for slip in slips], dtype=bool)
    is_back = leg < none
    change = replace(change, leg=leg, back_turn=np.where(is_back, turn_rad, 0.0), back_off=is_back & is_off)
    rows = {bearing.row: number for number, bearing in enumerate(observations.bearings)}
    turn, off = np.zeros((len(rows), h)), np.zeros((len(rows), h), dtype=bool)
    enters = np.zeros((model.rows.pair_sign.shape[0], h))
    for number, slip in enumerate(slips):
        if slip.row is not None:
            turn[rows[slip.row], number] = turn_rad[number]
            off[rows[slip.row], number] = is_off[number]
        elif slip.spread:
            enters[_moved_by(slip, model, observations), number] = 1.0
    variance = np.array([slip.spread**2 for slip in slips])
    bearings = BearingChange(turn, off) if rows else None
    return Trials((change,), np.zeros(h), bearings, (Moved(enters, variance),))


def _moved_by(slip: ReadingSlip, model: LogModel, observations: Observations) -> list[int]:
    """The pairs and bearings that hold the place of a slip, by their number."""
    ties, fixes, seen = observations.ties, observations.fixes, observations.bearings
    first_fix, first_seen = len(ties), len(ties) + len(fixes)
    if slip.reading == "place":
        if slip.station == observations.origin_station:
            known = first_seen + np.flatnonzero(model.rows.bearings.is_known)
            return [*range(first_fix, first_seen), *known.tolist()]
        return [
            *(first_fix + k for k, fix in enumerate(fixes) if fix.name == slip.name),
            *(first_seen + k for k, one in enumerate(seen) if one.name == slip.name and one.landmark),
        ]
    return [
        *(k for k, tie in enumerate(ties) if slip.station in (tie.first, tie.second)),
        *(first_fix + k for k, fix in enumerate(fixes) if fix.station == slip.station),
        *(first_seen + k for k, one in enumerate(seen) if one.target_station == slip.station),
    ]


def _back_slips(log: TravelLog, observations: Observations) -> Iterator[ReadingSlip]:
    unit, legs = log.heading.azimuth_unit, log.legs
    for back in observations.back_azimuths:
        read = legs[back.leg - 1].find(BackReading)
        if read is None:
            continue
        written = Reading(read.text, read.azimuth_deg)
        one_of = ReadingSlip("back_misread", "back", NUMBER_WEIGHT / len(legs), leg=back.leg)
        around = turned(written, 180, unit)
        not_turned = NOT_TURNED_WEIGHT / len(legs)
        yield replace(one_of, kind="back_not_turned", weight=not_turned, instead=around.text, turn_deg=180.0)
        for one, ways in (*_digits(written, unit), *((one, 2) for one in other_quadrants(written, unit))):
            turn = turn_deg(read.azimuth_deg, one.azimuth_deg)
            yield replace(one_of, weight=one_of.weight / ways, instead=one.text, turn_deg=turn)
        yield one_of


def _bearing_slips(log: TravelLog, observations: Observations) -> Iterator[ReadingSlip]:
    unit, weight = log.heading.azimuth_unit, NUMBER_WEIGHT / len(log.legs)
    for bearing in observations.bearings:
        text = log.rows[bearing.row].cells.azimuth.strip()
        written = Reading(text, bearing.azimuth_deg)
        one_of = ReadingSlip(
            "bearing_misread", "bearing", weight, station=bearing.station, name=bearing.name, row=bearing.row
        )
        for one, ways in (*_digits(written, unit), (turned(written, 180, unit), 1)):
            turn = turn_deg(bearing.azimuth_deg, one.azimuth_deg)
            yield replace(one_of, weight=weight / ways, instead=one.text, turn_deg=turn)
        # Of another thing, or misread in no way that is known.
        yield one_of


def _digits(written: Reading, unit: AzimuthUnit) -> Iterator[tuple[Reading, int]]:
    """What misread or swapped digits may have been, and in how many ways each could have gone wrong."""
    for one in misread(written, unit):
        yield one, max(1, len(misread(one, unit)))
    for one in swapped(written, unit):
        yield one, max(1, len(swapped(one, unit)))


def _place_slips(
    log: TravelLog, model: LogModel, observations: Observations, units_per_metre: float
) -> Iterator[ReadingSlip]:
    stations = {fix.name: fix.station for fix in observations.fixes}
    sighted = {one.name for one in observations.bearings if one.landmark}
    sd = {point.name: point.sd_m for point in log.heading.known}
    names = [name for name in sd if name in stations or name in sighted]
    origin = log.name_of(observations.origin_station)
    if names and origin in sd:
        stations[str(origin)] = observations.origin_station
        names.append(str(origin))
    for name in names:
        one = ReadingSlip("place_wrong", "place", PLACE_WEIGHT / 2.0, station=stations.get(name), name=name)
        yield replace(one, spread=PLACE_SD_M * units_per_metre)
        doubt = math.sqrt(PLACE_DOUBT_TIMES**2 - 1.0) * sd[name] * units_per_metre
        yield replace(one, spread=doubt, instead=f"+-{PLACE_DOUBT_TIMES * sd[name]:.10g} m")


def _marker_slips(
    log: TravelLog, model: LogModel, observations: Observations, units_per_metre: float
) -> Iterator[ReadingSlip]:
    walked = np.concatenate([[0.0], np.cumsum(model.states.length)])
    last: dict[str, int] = {}
    firsts: dict[str, int] = {}
    for station, name in enumerate(log.station_names()):
        if not name:
            continue
        if name in last:
            since = float(walked[station] - walked[last[name]])
            yield _marker(station, name, since, units_per_metre)
        firsts.setdefault(name, station)
        last[name] = station
    for name, station in firsts.items():
        slip = _marker(station, name, float(walked[last[name]] - walked[station]), units_per_metre)
        touched = _moved_by(slip, model, observations)
        # What touches one pair alone is that pair's own slip already; the start is where the walk began.
        if station > 0 and last[name] > station and len(touched) > 1:
            yield slip


def _marker(station: int, name: str, since: float, units_per_metre: float) -> ReadingSlip:
    spread = max(MARKER_SHARE * since, MARKER_LEAST_M * units_per_metre)
    return ReadingSlip("marker_mistaken", "marker", PLACE_WEIGHT, station=station, name=name, spread=spread)
