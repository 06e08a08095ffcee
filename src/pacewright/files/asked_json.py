"""The keys of --json of questions without a log: legs by map, ranging, the norths, pace trials."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pacewright.answers.ranging import RangeAnswer
from pacewright.answers.stated_norths import StatedNorths
from pacewright.core.pace.pace_table import OutlyingRun, PaceTable, TrialClass
from pacewright.core.pace.walker import Walker
from pacewright.files.result_json import tally_keys
from pacewright.ground.north import MapDeclination
from pacewright.ground.norths_at import NorthsAt
from pacewright.route.map_leg import MapLeg, PacedLength


def leg_keys(legs: Sequence[MapLeg]) -> dict[str, Any]:
    """Legs by map as keys; a single one stands at the top as well."""
    keys = [_leg_keys(leg) for leg in legs]
    return {**(keys[0] if len(keys) == 1 else {}), "legs": keys}


def _leg_keys(leg: MapLeg) -> dict[str, Any]:
    return {
        "azimuth_deg": leg.azimuth_deg,
        "azimuth_reference": leg.north,
        "back_azimuth_deg": leg.back_azimuth_deg,
        **length_keys(leg.length),
    }


def length_keys(length: PacedLength) -> dict[str, Any]:
    """A length as it is walked, as keys."""
    return {
        "metres": length.metres,
        "count": length.count,
        "tally": tally_keys(length.tally),
        "minutes": length.minutes,
    }


def range_keys(answer: RangeAnswer) -> dict[str, Any]:
    """A distance that was ranged, and the row it becomes, as keys."""
    found, row = answer.found, answer.row
    return {
        "method": found.method,
        "distance": found.distance,
        "distance_sd": found.distance_sd,
        "unit": found.unit,
        "low": found.low,
        "high": found.high,
        "probability": found.probability,
        "rule_of_thumb": found.rule_of_thumb,
        "rule_off_pct": found.rule_off_pct,
        "row": {"azimuth": row.azimuth_text, "count": row.count_text, "notes": row.notes},
        "facts": dict(found.facts),
    }


def north_keys(here: NorthsAt) -> dict[str, Any]:
    """The norths at a place as keys."""
    found, relation, position = here.found, here.relation, here.position
    return {
        "declination_deg": found.declination_deg,
        "declination_sd_deg": found.declination_sd_deg,
        "annual_change_deg": found.annual_change_deg,
        "convergence_deg": relation.convergence_deg,
        "grid_magnetic_deg": relation.grid_magnetic_deg,
        "model": found.model,
        "valid_to": found.valid_to.isoformat(),
        "latitude_deg": position.latitude_deg,
        "longitude_deg": position.longitude_deg,
        "place": {"form": position.form, "precision_m": position.precision_m, "remarks": position.remarks},
        "year": found.year,
        "grid": str(here.zone),
        "grid_scale": here.turn.scale,
        "inclination_deg": found.inclination_deg,
        "horizontal_nt": found.horizontal_nt,
        "north_nt": found.north_nt,
        "east_nt": found.east_nt,
        "down_nt": found.down_nt,
        "total_nt": found.total_nt,
        "compass_zone": found.compass_zone,
    }


def stated_north_keys(stated: StatedNorths) -> dict[str, Any]:
    """The norths as they were stated, as keys."""
    relation = stated.relation
    return {
        "declination_deg": relation.declination_deg if stated.has_true else None,
        "convergence_deg": relation.convergence_deg if stated.has_true and stated.has_grid else None,
        "grid_magnetic_deg": relation.grid_magnetic_deg if stated.has_grid else None,
    }


def old_map_keys(brought: MapDeclination, here: NorthsAt | None) -> dict[str, Any]:
    """The declination of an old map brought to today, as keys."""
    return {
        "printed_deg": brought.printed_deg,
        "annual_change_deg": brought.annual_change_deg,
        "years": brought.year - brought.printed_year,
        "declination_deg": brought.brought_deg,
        "differs_deg": None if here is None else brought.brought_deg - here.found.declination_deg,
    }


def calibration_keys(
    table: PaceTable, ordinary: TrialClass, walker: Walker, target_pct: float
) -> dict[str, Any]:
    """What pace trials come to as the keys of --json."""
    return {
        "unit": "pace",
        "probability": table.probability,
        "run_sd_pct": table.run_sd_pct,
        "scatter_assumed": table.scatter_assumed,
        "ordinary": ordinary.label,
        "pin_pct": target_pct,
        "classes": [
            {
                "class": one.label,
                "ground": one.ground,
                "slope": one.slope,
                "load_kg": one.load_kg,
                "runs": one.runs,
                "per_100_m": one.per_100_m,
                "interval": [one.low, one.high],
                "sd_pct": one.sd_pct,
                "run_sd_pct": one.run_sd_pct,
                "pace_m": one.pace_m,
                "borrowed": one.borrowed,
                "own_per_100_m": one.own_per_100_m,
                "own_share": one.own_share,
                "runs_more": one.runs_more_for(target_pct),
            }
            for one in table.classes
        ],
        "outlying": [_outlying_json(one) for one in table.outlying],
        "walker": {
            "name": walker.name,
            "per_100_m": walker.per_100_m,
            "scale_sd_pct": walker.count.scale_sd_pct,
            "count_sd_pct": walker.count.count_sd_pct,
            "count_floor": walker.count.count_floor,
        },
    }


def _outlying_json(one: OutlyingRun) -> dict[str, Any]:
    return {
        "line": one.run.line,
        "class": one.label,
        "count": one.run.count,
        "distance_m": one.run.distance_m,
        "per_100_m": one.run.per_100_m,
        "others_per_100_m": one.others_per_100_m,
        "p_value": one.p_value,
        "slip": one.slip,
        "class_per_100_m": one.per_100_m,
        "class_per_100_m_without": one.per_100_m_without,
        "run_sd_pct": one.run_sd_pct,
        "run_sd_pct_without": one.run_sd_pct_without,
    }
