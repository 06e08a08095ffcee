"""Which stations pull the compass, and what was read there put right: one correction in every answer.

Where forward and back readings tell of a pull, theirs is the correction; else the one that the search for
slips found. A reading that the search holds to be wrong by itself tells nothing of pulls.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace

from pacewright.core.bearings.included_angles import IncludedAngles, find_included_angles
from pacewright.core.bearings.local_attraction import LocalAttraction, find_log_attraction, place_names
from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import Leg, Sighting, TravelLog
from pacewright.core.log.written_azimuths import Fineness, finest_of
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.mistakes import Findings
from pacewright.core.slips.struck_readings import turn_station
from pacewright.core.slips.suspects import Suspect
from pacewright.exceptions import MissingComplaint, ValueComplaint


@dataclass(frozen=True, slots=True, eq=False)
class PulledStations:
    """What back readings say of stations that pull the compass.

    Attributes
    ----------
    log
        As written.
    attraction, angles
        Station by station, and the angles of the loop; None where nothing tells.
    corrected
        The log with all that was read at those stations put right; None where no correction is proposed.
    fineness
        How finely its azimuths were read.
    """

    log: TravelLog
    attraction: LocalAttraction | None
    angles: IncludedAngles | None
    corrected: TravelLog | None
    fineness: Fineness


def find_pulled(findings: Findings) -> PulledStations:
    """The stations that pull the compass, and what was read there put right.

    Parameters
    ----------
    findings
        Of the search, made with `with_one_correction`.
    """
    posterior = findings.posterior
    wrong = findings.wrong_reading
    also = None
    if wrong is not None and wrong.slip.reading == "station":
        readings = (one.reading for one in findings.suspects if one.reading is not None)
        also = next(one for one in readings if one.where == wrong.slip.where)
    turned = {} if also is None else {also.station or 0: also.turn_deg}
    return _pulled(posterior.log, posterior.walker, _wrong_by_itself(findings), turned)


def find_unsearched(log: TravelLog, walker: Walker) -> PulledStations:
    """The same of a log that was not searched."""
    return _pulled(log, walker, frozenset(), {})


def pulls_somewhere(log: TravelLog, walker: Walker) -> bool:
    """Whether back readings tell of a station that pulls the compass, before any search."""
    attraction = _attraction(log, walker, frozenset())
    return attraction is not None and any(pull.pulled for pull in attraction.pulls)


def with_one_correction(findings: Findings) -> Findings:
    """The findings with stations corrected by what their back readings say, where those say it."""
    posterior = findings.posterior
    if not any(one.reading == "station" for one in posterior.readings):
        return findings
    attraction = _attraction(posterior.log, posterior.walker, _wrong_by_itself(findings))
    if attraction is None:
        return findings
    names = place_names(posterior.log)
    by_name = {pull.station: pull.correction_deg for pull in attraction.pulls if pull.pulled}

    def corrected(suspect: Suspect) -> Suspect:
        slip = suspect.reading
        if slip is None or slip.reading != "station":
            return suspect
        turn = by_name.get(names[slip.station or 0], slip.turn_deg)
        return replace(suspect, reading=replace(slip, turn_deg=turn))

    return replace(findings, suspects=tuple(map(corrected, findings.suspects)))


def _pulled(
    log: TravelLog, walker: Walker, left_out: frozenset[int], turned: dict[int, float]
) -> PulledStations:
    attraction, angles = _attraction(log, walker, left_out), None
    if attraction is not None:
        # What the angles add up to is a check of all that was read, whatever is wrong in it.
        whole = attraction if not left_out else _attraction(log, walker, frozenset())
        with suppress(ValueComplaint):
            angles = find_included_angles((whole or attraction).lines)
        names = place_names(log)
        turned = turned | {
            names.index(pull.station): pull.correction_deg for pull in attraction.pulls if pull.pulled
        }
    corrected = log
    for station, by_deg in turned.items():
        corrected = turn_station(corrected, station, by_deg)
    return PulledStations(
        log, attraction, angles, None if corrected == log else corrected, fineness_of_log(log)
    )


def fineness_of_log(log: TravelLog) -> Fineness:
    """How finely the azimuths of a log were read."""
    texts = [row.cells.azimuth.strip() for row in log.rows if isinstance(row, Leg | Sighting)]
    backs = (leg.find(BackReading) for leg in log.legs)
    return finest_of([*texts, *(back.text for back in backs if back is not None)], log.heading.azimuth_unit)


def _attraction(log: TravelLog, walker: Walker, left_out: frozenset[int]) -> LocalAttraction | None:
    try:
        return find_log_attraction(log, walker, left_out)
    except MissingComplaint:
        return None


def _wrong_by_itself(findings: Findings) -> frozenset[int]:
    """The legs of which the search holds one reading alone to be wrong, likelier than not."""
    wrong = findings.wrong_reading
    if wrong is not None and wrong.slip.reading == "back" and wrong.slip.leg is not None:
        return frozenset((wrong.slip.leg,))
    legs = (one for one in findings.by_leg if one.leg is not None and one.probability > 0.5)
    return frozenset(one.leg for one in legs if one.leg is not None)
