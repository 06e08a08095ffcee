"""The keys of `plan --json`, and a plan as a travel log that a walk can be checked against."""

from __future__ import annotations

import json
from typing import Any

from pacewright.answers.plan import CountedLeg, PlanAnswer
from pacewright.answers.plan_daylight import PlanByDay
from pacewright.core.compass import back_azimuth, from_degrees
from pacewright.core.plain_text import clean_text
from pacewright.files.result_json import tally_keys
from pacewright.route.planning.proving import ProvedPlan
from pacewright.wording.planning import dialled_in, say_leg_of_plan


def plan_keys(answer: PlanAnswer, by_day: PlanByDay | None = None) -> dict[str, Any]:
    """A plan as the keys of `plan --json`; lengths in metres, azimuths by the plan's north."""
    plan = answer.plan
    return {
        "from": answer.asked.start.name,
        "from_mistake_probability": answer.asked.start_mistake,
        "to": answer.asked.goal.name,
        "azimuth_reference": answer.asked.north.name,
        "holds": answer.holds,
        "miss_asked": answer.asked.miss,
        "miss": None if plan is None else plan.walked.missed,
        "miss_said": None if plan is None else 1.0 - plan.said,
        "walkers": 0 if plan is None else plan.walked.walkers,
        "minutes": answer.minutes,
        "legs": [_leg_keys(answer, k) for k in range(len(answer.legs))],
        "straight": _plan_keys(answer.straight),
        "others": [_plan_keys(one) for one in answer.others],
        "nearest_line_m": answer.nearest_line_m,
        "daylight": None if by_day is None else _day_keys(by_day),
        "remarks": list(answer.remarks),
    }


def write_plan_log(answer: PlanAnswer, date: str | None = None) -> bytes:
    """A plan as a travel log: a row a leg, what to do on it as its notes."""
    asked = answer.asked
    north = asked.north.name if asked.north.name in ("magnetic", "true", "grid") else "magnetic"
    in_paces = answer.walker.per_100_m is not None
    heading = [
        f"# title: {_prose(f'Plan from {asked.start.name} to {asked.goal.name}')}",
        *([f"# walker: {_prose(answer.walker.name)}"] if answer.walker.name else []),
        *([f"# date: {date}"] if date else []),
        f"# azimuth: {north} {dialled_in(answer)}",
        f"# count: {'paces' if in_paces else 'metres'}",
        f"# start: {_prose(asked.start.name)}",
        "azimuth,count,notes",
    ]
    rows = []
    for k, one in enumerate(answer.legs):
        count = one.length.count if in_paces else round(one.length.metres)
        at = f"[at {_prose(asked.goal.name)}] " if k == len(answer.legs) - 1 else ""
        boxes = "".join(
            f"[box {box.side} {_out(one, box.out_m, in_paces=in_paces)}] "
            for box in one.told.in_the_way.boxes
        )
        notes = (at + boxes + _prose(say_leg_of_plan(answer, k))).replace('"', "'")
        dialled = from_degrees(one.told.leg.dial_deg, dialled_in(answer))
        rows.append(f'{round(dialled, 1 if one.told.leg.follows else 3):g},{count},"{notes}"')
    return ("\n".join([*heading, *rows]) + "\n").encode("utf-8")


def write_plan_geojson(answer: PlanAnswer) -> bytes:
    """The legs of a plan as lines in longitude and latitude."""
    from pyproj import Transformer

    to_degrees = Transformer.from_crs(answer.land.terrain.crs, "EPSG:4326", always_xy=True).transform
    features = []
    for k, one in enumerate(answer.legs):
        leg = one.told.leg
        ends = [[round(x, 7) for x in to_degrees(*place)] for place in (leg.from_m, leg.to_m)]
        properties: dict[str, Any] = {
            "leg": k + 1,
            "azimuth_deg": leg.dial_deg,
            "length_m": round(leg.length_m, 1),
        }
        properties["says"] = say_leg_of_plan(answer, k)
        features.append(
            {
                "type": "Feature",
                "properties": properties,
                "geometry": {"type": "LineString", "coordinates": ends},
            }
        )
    return json.dumps({"type": "FeatureCollection", "features": features}, indent=1).encode("utf-8")


def _out(one: CountedLeg, out_m: float, *, in_paces: bool) -> int:
    share = 1.0 if not in_paces or one.length.count is None else one.length.count / one.told.leg.length_m
    return max(1, round(out_m * share))


def _prose(text: str) -> str:
    """Text that holds no remark and no line end."""
    return " ".join(clean_text(text).replace("[", "(").replace("]", ")").split())


def _leg_keys(answer: PlanAnswer, number: int) -> dict[str, Any]:
    one: CountedLeg = answer.legs[number]
    leg, told = one.told.leg, one.told
    return {
        "leg": number + 1,
        "ends": leg.ends,
        "follows": told.end_kind if leg.follows else None,
        "azimuth_deg": leg.dial_deg,
        "back_azimuth_deg": back_azimuth(leg.dial_deg),
        "count": one.length.count,
        "tally": tally_keys(one.length.tally),
        "metres": leg.length_m,
        "slope": one.slope,
        "climb_m": told.climb_m,
        "descent_m": told.descent_m,
        "minutes": leg.minutes,
        "from": list(leg.from_m),
        "end": list(leg.to_m),
        "line": told.end_kind or None,
        "sight": told.sight or None,
        "met": [{"kind": met.kind, "metres": met.at_m} for met in told.met],
        "steep": [list(stretch) for stretch in told.in_the_way.steep],
        "boxed": [
            {"what": box.what, "metres": box.at_m, "side": box.side, "out_m": box.out_m}
            for box in told.in_the_way.boxes
        ],
        "look_from_m": leg.look_m,
        "too_far_m": leg.stop_m,
        "too_far_count": one.too_far.count,
        "aims_off_m": told.aims_off_to_m if told.aims_off_deg is not None else None,
        "bail_out": None
        if told.bail_out is None
        else {
            "azimuth_deg": told.bail_out.dial_deg,
            "to": told.bail_out.kind,
            "within_m": told.bail_out.within_m,
        },
        "barred_at_m": told.barred_at_m,
        "probability": told.chance,
        "says": say_leg_of_plan(answer, number),
    }


def _plan_keys(plan: ProvedPlan) -> dict[str, Any]:
    return {"legs": len(plan.legs), "minutes": plan.minutes, "miss": plan.walked.missed}


def _day_keys(by_day: PlanByDay) -> dict[str, Any]:
    return {
        "before_dark": by_day.is_before_dark,
        "sunset": None if by_day.sunset is None else by_day.sunset.isoformat(),
        "stations": [
            {
                "arrive": one.arrive.isoformat(),
                "turn_back_by": None if one.turn_back_by is None else one.turn_back_by.isoformat(),
            }
            for one in by_day.stations
        ],
    }
