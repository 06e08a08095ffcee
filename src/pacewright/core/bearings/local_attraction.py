"""Where the compass was pulled: stations with local attraction, from forward and back readings.

Iron, ore or a power line at a station turns every bearing read at that station by the same amount, and
no other. A line whose forward and back readings differ by half a circle has two clean ends; from there
the correction goes from station to station. The angles between readings at one station stay right.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.bearings.sightings import chance_of
from pacewright.core.compass import back_azimuth, normal_azimuth, turn_deg
from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.observations import reading_sd_deg
from pacewright.exceptions import MissingComplaint, ValueComplaint

Array = NDArray[np.float64]

WITHIN_SD: Final = 2.0
"""Readings that differ from half a circle by no more than so many sds agree (common practice)."""
NOT_TURNED_FROM_DEG: Final = 150.0
"""A back reading so far off, or farther, is one that was not turned round (assumed)."""
_EXACT_DEG: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Line:
    """A line between two stations, read from both ends.

    Attributes
    ----------
    first, last
        The stations' names.
    forward_deg, back_deg
        Read at `first` towards `last`, and at `last` towards `first`.
    sd_deg
        Scatter of the two readings' difference; 0 where the readings are taken to the letter.
    """

    first: str
    last: str
    forward_deg: float
    back_deg: float
    sd_deg: float = 0.0

    @property
    def disagreement_deg(self) -> float:
        """The back reading less the one that the forward reading calls for."""
        return turn_deg(back_azimuth(self.forward_deg), self.back_deg)


@dataclass(frozen=True, slots=True)
class Pull:
    """What a station does to the compass.

    Attributes
    ----------
    station
        Its name.
    correction_deg, correction_sd_deg
        To add to every reading taken there.
    held
        True where the readings of a line at this station agree, so that it was taken as clean.
    pulled
        True where the correction is beyond ordinary scatter.
    """

    station: str
    correction_deg: float
    correction_sd_deg: float
    held: bool
    pulled: bool


@dataclass(frozen=True, slots=True)
class LocalAttraction:
    """Which stations pull the compass, by how much, and the readings without it.

    Attributes
    ----------
    pulls
        One for every station that the held ones lead to, in the order of the lines.
    lines
        The lines as read.
    corrected
        The same lines with each station's correction applied to the readings taken there.
    assumed
        True where no line agrees, so that the line that disagrees least was held at the mean of its two
        readings for want of a better one.
    unreached
        Stations that no chain of lines joins to the held ones.
    rivals
        Other groups of stations, as large as the held one, that agree among themselves.
    p_value
        How often scatter alone makes the corrected lines disagree as much; None with nothing to spare
        or with readings taken to the letter.
    set_aside
        Lines of a log that tell nothing of pulls, for a reading of theirs is wrong by itself.
    """

    pulls: tuple[Pull, ...]
    lines: tuple[Line, ...]
    corrected: tuple[Line, ...]
    assumed: bool
    unreached: tuple[str, ...]
    rivals: tuple[tuple[str, ...], ...]
    p_value: float | None
    set_aside: tuple[Line, ...] = ()

    @property
    def agreeing(self) -> tuple[Line, ...]:
        """The lines whose two readings differ by half a circle, within their scatter."""
        return tuple(line for line in self.lines if _agrees(line))

    @property
    def disagreeing_clean(self) -> tuple[Line, ...]:
        """The lines between two clean stations whose readings differ all the same."""
        held = {pull.station for pull in self.pulls if pull.held}
        ends = ((line, line.first in held and line.last in held) for line in self.lines)
        return tuple(line for line, is_clean in ends if is_clean and not (self.assumed or _agrees(line)))

    def correction_deg(self, station: str) -> float:
        """What to add to the readings taken at a station.

        Raises
        ------
        MissingComplaint
            The station is not among those that were judged.
        """
        for pull in self.pulls:
            if pull.station == station:
                return pull.correction_deg
        known = ", ".join(pull.station for pull in self.pulls)
        raise MissingComplaint(f"nothing is known of the readings at {station}", f"Name one of {known}")


def find_local_attraction(lines: Iterable[Line]) -> LocalAttraction:
    """The stations where the compass was pulled, and by how much.

    Parameters
    ----------
    lines
        Lines read from both ends, an open traverse, a loop or a net.

    Raises
    ------
    MissingComplaint
        There is no line.
    ValueComplaint
        A line has both ends at one station, or a reading is no azimuth.

    Notes
    -----
    The ends of the lines whose readings agree within `WITHIN_SD` are held as clean; where several groups
    agree, the largest is held. The other corrections are found by least squares, which in an open
    traverse is the textbook's walk from station to station.

    References
    ----------
    Correction station by station: common practice of compass surveying.

    Examples
    --------
    >>> found = find_local_attraction([Line("A", "B", 40, 220), Line("B", "C", 100, 283)])
    >>> [(pull.station, pull.correction_deg, pull.pulled) for pull in found.pulls]
    [('A', 0.0, False), ('B', 0.0, False), ('C', -3.0, True)]
    """
    read = tuple(lines)
    check_lines(read)
    groups = _groups([line for line in read if _agrees(line)])
    held = dict.fromkeys(groups[0], 0.0) if groups else _least_of_all(read)
    stations = _reached(read, held)
    corrections, sds, chi2, redundancy = _corrections(read, held, stations)
    pulls = tuple(
        Pull(
            station,
            corrections[station],
            sds[station],
            station in held,
            _is_pulled(corrections[station], sds[station]),
        )
        for station in stations
    )
    return LocalAttraction(
        pulls=pulls,
        lines=read,
        corrected=tuple(_correct(line, corrections) for line in read if line.first in corrections),
        assumed=not groups,
        unreached=tuple(station for station in _stations(read) if station not in corrections),
        rivals=tuple(tuple(group) for group in groups[1:] if len(group) == len(groups[0])),
        p_value=None if any(line.sd_deg == 0 for line in read) else chance_of(chi2, redundancy),
    )


def find_log_attraction(
    log: TravelLog, walker: Walker | None = None, left_out: Collection[int] = ()
) -> LocalAttraction:
    """The stations of a log where the compass was pulled, from the legs read both ways.

    Parameters
    ----------
    log
        Legs with `[back ..]`; a marker met again is one station.
    walker
        For the scatter of readings.
    left_out
        Legs, from 1, of which a reading is known to be wrong by itself.

    Raises
    ------
    MissingComplaint
        No leg of the log was read from both ends.
    """
    compass = (walker or Walker()).compass
    names = place_names(log)
    lines: list[Line] = []
    set_aside: list[Line] = []
    for k, leg in enumerate(log.legs):
        back = leg.find(BackReading)
        if back is None or names[k] == names[k + 1]:
            continue
        # The leg was walked, and its far end lies off the azimuth by the scatter of walking.
        forward_sd_deg = reading_sd_deg(
            leg.cells.azimuth, compass.azimuth_sd_deg, compass.reading_interval_deg
        )
        back_sd_deg = reading_sd_deg(back.text, compass.sighting_sd_deg, compass.reading_interval_deg)
        sd_deg = math.hypot(forward_sd_deg, back_sd_deg)
        line = Line(names[k], names[k + 1], leg.azimuth_deg, back.azimuth_deg, sd_deg)
        # Nothing pulls a compass half round: such a reading was not turned round, and tells nothing here.
        is_wrong = k + 1 in left_out or abs(line.disagreement_deg) >= NOT_TURNED_FROM_DEG
        (set_aside if is_wrong else lines).append(line)
    return replace(find_local_attraction(lines), set_aside=tuple(set_aside))


def place_names(log: TravelLog) -> list[str]:
    """What every station is called here; a marker met again is one place."""
    return [name or (f"station {k}" if k else "the start") for k, name in enumerate(log.station_names())]


def check_lines(lines: Sequence[Line]) -> None:
    """Refuse lines that are none.

    Raises
    ------
    MissingComplaint
        There is no line.
    ValueComplaint
        A line has both ends at one station, or a reading is no azimuth.
    """
    if not lines:
        raise MissingComplaint(
            "no leg was read from both ends, so the compass cannot be checked at any station",
            "Look back along a leg and write the reading as [back 126]",
        )
    for line in lines:
        if line.first == line.last:
            raise ValueComplaint(f"a line runs from {line.first} to itself", "Name two stations")
        if not all(math.isfinite(one) for one in (line.forward_deg, line.back_deg, line.sd_deg)):
            raise ValueComplaint(
                f"a reading of the line from {line.first} to {line.last} is not a number", "Correct it"
            )


def _agrees(line: Line) -> bool:
    return abs(line.disagreement_deg) <= max(WITHIN_SD * line.sd_deg, _EXACT_DEG)


def _is_pulled(correction_deg: float, sd_deg: float) -> bool:
    return abs(correction_deg) > max(WITHIN_SD * sd_deg, _EXACT_DEG)


def _stations(lines: Iterable[Line]) -> list[str]:
    return list(dict.fromkeys(station for line in lines for station in (line.first, line.last)))


def _groups(lines: Sequence[Line]) -> list[list[str]]:
    """The stations that lines join, group by group, the largest and best agreeing group first."""
    left = _stations(lines)
    groups = []
    while left:
        group = _reached(lines, left[:1])
        left = [station for station in left if station not in group]
        groups.append(group)

    def misfit(group: list[str]) -> float:
        inside = [abs(line.disagreement_deg) for line in lines if line.first in group]
        return sum(inside) / len(inside)

    return sorted(groups, key=lambda group: (-len(group), misfit(group)))


def _reached(lines: Sequence[Line], origin: Iterable[str]) -> list[str]:
    reached = set(origin)
    while True:
        more = {
            station
            for line in lines
            if line.first in reached or line.last in reached
            for station in (line.first, line.last)
        }
        if more <= reached:
            return [station for station in _stations(lines) if station in reached]
        reached |= more


def _least_of_all(lines: Sequence[Line]) -> dict[str, float]:
    # With no clean end anywhere the best line's mean is the common way out.
    best = min(lines, key=lambda line: abs(line.disagreement_deg))
    return {best.first: best.disagreement_deg / 2.0, best.last: -best.disagreement_deg / 2.0}


def _corrections(
    lines: Sequence[Line], held: Mapping[str, float], stations: Sequence[str]
) -> tuple[dict[str, float], dict[str, float], float, int]:
    """Every station's correction and its sd, what the lines leave over, and how many are to spare."""
    free = [station for station in stations if station not in held]
    used = [
        line for line in lines if line.first in stations and not (line.first in held and line.last in held)
    ]
    slope, wanted = np.zeros((len(used), len(free))), np.zeros(len(used))
    for row, line in enumerate(used):
        wanted[row] = line.disagreement_deg
        for station, sign in ((line.first, 1.0), (line.last, -1.0)):
            if station in held:
                wanted[row] -= sign * held[station]
            else:
                slope[row, free.index(station)] = sign
    letter = any(line.sd_deg == 0 for line in used)
    weight = np.array([1.0 if letter else 1.0 / line.sd_deg for line in used])
    corrections, sds = dict(held), dict.fromkeys(stations, 0.0)
    if not free:
        return corrections, sds, 0.0, 0
    inverse = np.linalg.inv((slope * weight[:, None]).T @ (slope * weight[:, None]))
    solved = inverse @ (slope.T @ (wanted * weight**2))
    left = (wanted - slope @ solved) * weight
    for k, station in enumerate(free):
        corrections[station] = float(solved[k])
        sds[station] = 0.0 if letter else math.sqrt(inverse[k, k])
    return corrections, sds, float(left @ left), len(used) - len(free)


def _correct(line: Line, corrections: Mapping[str, float]) -> Line:
    return replace(
        line,
        forward_deg=normal_azimuth(line.forward_deg + corrections[line.first]),
        back_deg=normal_azimuth(line.back_deg + corrections[line.last]),
    )
