"""The keys of `check`: closures, suspects, what would not show, advice."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from pacewright.answers.plan_kept import PlanKept
from pacewright.answers.pulled_stations import PulledStations
from pacewright.core.adjust.closure import Closure
from pacewright.core.log.remarks import BackReading
from pacewright.core.slips.advice import Advice
from pacewright.core.slips.bearing_slips import BearingSlips
from pacewright.core.slips.mistakes import Findings
from pacewright.core.slips.place_mixture import Island
from pacewright.core.slips.plan_checks import PlanCheck
from pacewright.core.slips.reading_slips import ReadingSlip
from pacewright.core.slips.slip_pairs import PairFindings
from pacewright.core.slips.suspects import LegChance, ReadingChance, Suspect


def findings_keys(findings: Findings, says: Callable[[Suspect], str]) -> dict[str, Any]:
    """What the search for a mistake found; `says` writes the sentence of a suspect."""
    posterior = findings.posterior
    return {
        "frame": posterior.frame.kind,
        "unit": posterior.frame.unit,
        "prior": posterior.prior,
        "mistake_probability": findings.mistake_probability,
        "none_probability": posterior.none_probability,
        "bayes_factor": findings.bayes_factor,
        "verdict": findings.verdict,
        "by_leg": [_leg_keys(chance) for chance in findings.by_leg],
        "by_reading": [_reading_keys(chance) for chance in findings.by_reading],
        "by_kind": [{"kind": kind, "probability": chance} for kind, chance in findings.by_kind],
        "suspects": [_suspect_keys(suspect, says(suspect)) for suspect in findings.suspects],
        "unseen": list(findings.unseen),
        "unused": list(posterior.observations.unused),
    }


def closure_keys(closures: Sequence[Closure]) -> list[dict[str, Any]]:
    """Closures as keys."""
    return [
        {
            "at": one.at,
            "legs": list(one.legs),
            "east": one.east,
            "north": one.north,
            "length": one.length,
            "ratio": one.ratio,
            "mahalanobis2": one.mahalanobis2,
            "p_value": one.p_value,
            "verdict": one.verdict,
        }
        for one in closures
    ]


def bearing_slip_keys(slips: BearingSlips) -> list[dict[str, Any]]:
    """The bearings that may be wrong as keys, the likeliest first; `row` counts from 0."""
    return [
        {"row": one.row, "station": one.station, "name": one.name, "probability": one.probability}
        for one in slips.wrong
    ]


def advice_keys(advice: Sequence[Advice]) -> list[dict[str, Any]]:
    """Advice as keys."""
    return [
        {"observe": one.observe, "station": one.station, "target": one.target, "bits": one.bits}
        for one in advice
    ]


def plan_kept_keys(kept: PlanKept) -> dict[str, Any]:
    """A walk against its plan; azimuths in degrees, counts as counted, `off` in the log's unit."""
    return {
        "unit": kept.unit,
        "common_turn_deg": kept.common_turn_deg,
        "common_longer": kept.common_longer,
        "legs": [
            {
                "leg": one.leg,
                "planned": {"azimuth_deg": one.planned_deg, "count": one.planned_count},
                "walked": {"azimuth_deg": one.walked_deg, "count": one.walked_count},
                "sds": one.sds,
                "differs": one.differs,
                "off": one.off,
            }
            for one in kept.legs
        ],
    }


def plan_keys(checks: Sequence[PlanCheck]) -> list[dict[str, Any]]:
    """What to plan as keys."""
    return [
        {"plan": one.plan, "station": one.station, "target": one.target, "bits": one.bits} for one in checks
    ]


def pair_keys(pairs: PairFindings | None) -> dict[str, Any] | None:
    """The search for two slips as keys; None where it was not made."""
    if pairs is None:
        return None
    return {
        "two_probability": pairs.two_probability,
        "log_ratio": pairs.log_ratio,
        "legs": [
            {
                "legs": list(one.legs),
                "readings": [
                    _struck_keys(slip) if isinstance(slip, ReadingSlip) else None for slip in one.slips
                ],
                "probability": one.probability,
                "kinds": [slip.kind for slip in one.slips],
            }
            for one in pairs.pairs
        ],
    }


def island_keys(islands: Sequence[Island]) -> list[dict[str, Any]]:
    """The places where a station may lie as keys."""
    return [
        {
            "probability": one.probability,
            "east": float(one.center[0]),
            "north": float(one.center[1]),
            "covariance": one.covariance.tolist(),
            "back_azimuth_deg": one.azimuth_deg,
            "back_distance": one.distance,
        }
        for one in islands
    ]


def _leg_keys(chance: LegChance) -> dict[str, Any]:
    if chance.after_leg is not None:
        return {"after_leg": chance.after_leg, "probability": chance.probability}
    return {"leg": chance.leg, "probability": chance.probability}


def _reading_keys(chance: ReadingChance) -> dict[str, Any]:
    return _struck_keys(chance.slip) | {"probability": chance.probability}


def _struck_keys(slip: ReadingSlip) -> dict[str, Any]:
    keys: dict[str, Any] = {"reading": slip.reading}
    for key, value in (("leg", slip.leg), ("station", slip.station), ("name", slip.name)):
        if value is not None:
            keys[key] = value
    return keys


def _suspect_keys(suspect: Suspect, says: str) -> dict[str, Any]:
    entries = [{"azimuth": entry.azimuth, "count": entry.count} for entry in suspect.entries]
    keys: dict[str, Any] = {
        "probability": suspect.probability,
        "kind": suspect.kind,
        "kinds": list(suspect.kinds),
    }
    if suspect.reading is not None:
        one = suspect.reading
        keys |= {"reading": one.reading, "leg": one.leg, "station": one.station, "name": one.name, "legs": []}
    elif suspect.after_legs is not None:
        keys |= {"after_leg": suspect.after_legs[0], "after_legs": list(suspect.after_legs)}
    else:
        keys |= {"leg": suspect.legs[0] if suspect.legs else None, "legs": list(suspect.legs)}
    return keys | {
        "entry": entries[0] if entries else None,
        "entries": entries,
        "turn_deg": suspect.turn_deg,
        "says": says,
    }


def pull_keys(pulled: PulledStations) -> dict[str, Any] | None:
    """What back readings say of stations that pull the compass; None where none was taken.

    `corrected` holds every leg and bearing of which a reading is to be corrected: `row` counts from 0, texts
    are as the pencil would have written them.
    """
    found = pulled.attraction
    if found is None:
        return None
    return {
        "p_value": found.p_value,
        "assumed_clean": found.assumed,
        "unreached": found.unreached,
        "stations": [
            {
                "station": pull.station,
                "correction_deg": pull.correction_deg,
                "correction_sd_deg": pull.correction_sd_deg,
                "clean": pull.held,
                "pulled": pull.pulled,
            }
            for pull in found.pulls
        ],
        "corrected": _corrected_keys(pulled),
    }


def _corrected_keys(pulled: PulledStations) -> list[dict[str, Any]]:
    if pulled.corrected is None:
        return []
    pairs = zip(pulled.log.rows, pulled.corrected.rows, strict=True)
    return [
        {"row": number, "azimuth": new.cells.azimuth.strip(), "back": back.text if back is not None else None}
        for number, (row, new) in enumerate(pairs)
        for back in [new.find(BackReading)]
        if row.cells != new.cells
    ]
