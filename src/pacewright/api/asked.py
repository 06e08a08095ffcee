"""Questions without a log: legs by map, norths, sun, ranging, fixes, pace trials, plans, a class."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from pacewright.answers.fixing import PlacedFix, fix_own_place, fix_seen_place
from pacewright.answers.map_legs import LegsAsked, answer_map_legs
from pacewright.answers.plan import PlanAnswer, answer_plan
from pacewright.answers.plan_question import PlanAsked
from pacewright.answers.ranging import RangeAnswer, RangeAsked, answer_range
from pacewright.answers.sunlight import SunAnswer, SunAsked, answer_sun
from pacewright.api.answered import Answered
from pacewright.core.bearings.fix_entries import parse_bearing_from, parse_bearing_to
from pacewright.core.bearings.intersection import Intersection
from pacewright.core.bearings.resection import Resection
from pacewright.core.compass import AzimuthReference
from pacewright.core.log.log_heading import parse_declination
from pacewright.core.pace.pace_table import PaceTable
from pacewright.core.pace.pace_trials import PaceRun
from pacewright.core.pace.pace_walker import ordinary_class, walker_from
from pacewright.core.pace.pacing import fit_pace_table
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.walker import Slope, Walker
from pacewright.core.ranging.range_result import RangeMethod
from pacewright.core.written_dates import parse_date
from pacewright.course.class_report import ClassReport
from pacewright.course.class_report import class_report as report_of
from pacewright.course.learner_model import fit_class
from pacewright.course.marking import ready_rule, usual_rule
from pacewright.drawing.charts import draw_pace_trials
from pacewright.drawing.class_charts import draw_target
from pacewright.drawing.north_diagram import draw_norths
from pacewright.drawing.plan_map import draw_plan_map
from pacewright.drawing.ranging_diagrams import draw_ranging
from pacewright.drawing.sun_diagram import draw_sun_day
from pacewright.files.asked_json import calibration_keys, leg_keys, north_keys, range_keys
from pacewright.files.clock_text import parse_moment, parse_zone
from pacewright.files.course_toml import read_course
from pacewright.files.disk import read_bytes
from pacewright.files.field_model import bundled_field_model
from pacewright.files.fix_json import intersection_keys, resection_keys
from pacewright.files.grade_json import report_keys
from pacewright.files.handed_csv import beside, read_class
from pacewright.files.log_csv import read_log
from pacewright.files.plan_files import plan_keys
from pacewright.files.plan_land import open_map, open_north
from pacewright.files.sun_json import sun_keys
from pacewright.files.walker_toml import read_walker
from pacewright.ground.grid_text import format_place, parse_place
from pacewright.ground.norths_at import NorthsAt
from pacewright.ground.norths_at import norths_at as find_norths
from pacewright.route.map_leg import MapLeg, Walking
from pacewright.wording.fix_answer import say_placed_fix
from pacewright.wording.map_legs import say_map_legs
from pacewright.wording.norths import say_norths
from pacewright.wording.pacing import say_calibration
from pacewright.wording.planning import say_plan
from pacewright.wording.ranging import say_range
from pacewright.wording.sun_answer import say_sun
from pacewright.wording.teaching import CAUTION, say_class, say_grade, say_learner, say_rule

PIN_PCT = 3.0
"""How well a pace count is said to be pinned, as in `pacewright calibrate`."""


def legs_by_map(
    places: Sequence[str],
    walker: Walker | None = None,
    *,
    north: AzimuthReference = "magnetic",
    date: str,
    declination: str = "",
    ground: str | None = None,
    slope: Slope | None = None,
) -> Answered[list[MapLeg]]:
    """The legs from each place to the next: azimuth, metres, own paces, time; a row a leg.

    Parameters
    ----------
    places
        Such as "37.4521 -119.2984", UTM, MGRS, or "local 300 400" in metres.
    date, declination
        Of the declination by the model; or the declination itself, such as "5.5 E".
    """
    stated = parse_declination(declination) if declination else None
    walking = Walking(walker or Walker(), ground, slope)
    found = answer_map_legs(bundled_field_model(), LegsAsked(tuple(places), walking, {}, north, date, stated))
    keys = leg_keys(found)
    return Answered(found, tuple(say_map_legs(found, places).sentences), keys, keys["legs"])


def norths(place: str, date: str, height_m: float = 0.0) -> Answered[NorthsAt]:
    """Declination with its uncertainty, grid convergence and grid-magnetic angle at a place on a date."""
    found = find_norths(bundled_field_model(), parse_place(place), date, height_m)
    draw = partial(draw_norths, found.relation, f"{format_place(found.position)}, {date}")
    return Answered(found, tuple(say_norths(found)), north_keys(found), svg=draw)


def sun(place: str, date: str, time: str = "", zone: str = "UTC") -> Answered[SunAnswer]:
    """Rise, set and twilight of a day, and where the sun stands at a time of it."""
    where, day, (clock, zone_name) = parse_place(place), parse_date(date), parse_zone(zone)
    when = parse_moment(day, time, clock) if time else None
    found = answer_sun(SunAsked(where.latitude_deg, where.longitude_deg, day, clock, when=when), Walker())
    draw = partial(draw_sun_day, where.latitude_deg, where.longitude_deg, found.day, zone_name)
    said = say_sun(found, zone_name, Walker())
    return Answered(found, said.sentences, sun_keys(found, zone_name), svg=draw)


def ranged(
    method: RangeMethod,
    walker: Walker | None = None,
    probability: float = DEFAULT_PROBABILITY,
    **readings: Any,
) -> Answered[RangeAnswer]:
    """A distance that cannot be walked, by one of the six ways.

    Parameters
    ----------
    method
        right_angle, base_line, stakes, mils, thumb or sound.
    readings
        What was measured, by the names of that way's function in `core/ranging`.
    """
    walker = walker or Walker()
    found = answer_range(RangeAsked(method, readings), walker, probability)
    said = say_range(found.found, count_unit=found.count_unit, walker=walker)
    return Answered(found, tuple(said), range_keys(found), svg=partial(draw_ranging, found.found))


def own_place(bearings: Sequence[str], walker: Walker | None = None) -> Answered[PlacedFix[Resection]]:
    """Your own place from bearings, each as "NAME=PLACE=AZIMUTH"."""
    found = fix_own_place([parse_bearing_to(one) for one in bearings], walker or Walker())
    return Answered(found, tuple(say_placed_fix(found, "degrees")), resection_keys(found.fix, None))


def seen_place(bearings: Sequence[str], walker: Walker | None = None) -> Answered[PlacedFix[Intersection]]:
    """The place of something seen, from bearings taken at known places, each as "PLACE=AZIMUTH"."""
    found = fix_seen_place([parse_bearing_from(one) for one in bearings], walker or Walker())
    return Answered(found, tuple(say_placed_fix(found, "degrees")), intersection_keys(found.fix, None))


def calibrated(runs: Sequence[PaceRun], name: str = "") -> Answered[tuple[PaceTable, Walker]]:
    """Pace trials as a pace table and the walker they make; a row a class of ground, slope and load."""
    table = fit_pace_table(runs)
    chosen = ordinary_class(table)
    walker = walker_from(table, name, ordinary=chosen)
    keys = calibration_keys(table, chosen, walker, PIN_PCT)
    draw = partial(draw_pace_trials, table, f"Pace trials, {name}" if name else "Pace trials")
    return Answered(
        (table, walker), tuple(say_calibration(table, chosen, PIN_PCT)), keys, keys["classes"], draw
    )


def planned(
    start: str,
    goal: str,
    terrain: str,
    walker: Walker | None = None,
    *,
    date: str,
    features: Sequence[str] = (),
    declination: str | None = None,
    miss: float = 0.05,
    seed: int = 1,
) -> Answered[PlanAnswer]:
    """Legs from one place to another that can be held by compass and count; a row a leg.

    Parameters
    ----------
    start, goal
        Places of the earth.
    terrain, features
        A file of heights, and files of your own lines, points and areas to keep off.
    date, declination
        Of the declination by the model; or the declination itself.
    miss
        The chance of missing that is allowed.
    seed
        Of the made walkers that walk it first.
    """
    places = [("start", parse_place(start)), ("goal", parse_place(goal))]
    held, (begin, end) = open_map(terrain, features, places)
    assert held.terrain is not None
    north = open_north("magnetic", places[0][1], held.terrain.crs, date, declination)
    asked = PlanAsked(begin, end, miss=miss, north=north)
    found = answer_plan(held, walker or Walker(), asked, np.random.default_rng(seed))
    keys = plan_keys(found)
    return Answered(found, tuple(say_plan(found)), keys, keys["legs"], lambda: draw_plan_map(found, _MAP)[0])


_MAP = (180.0, 180.0)


def graded(
    course: str | os.PathLike[str], handed: str | os.PathLike[str], rule: str = ""
) -> Answered[ClassReport]:
    """A class on a course: marks, what explains each miss, what to practise; a row a learner.

    Parameters
    ----------
    course, handed
        The course, and the table of what was handed in; its logs and walkers are named from its own folder.
    rule
        Name of a ready rule; the usual one of the kind of course if left out.
    """
    set_course = read_course(read_bytes(os.fspath(course)), os.fspath(course))
    folder = Path(handed).parent
    table = read_class(
        read_bytes(os.fspath(handed)),
        os.fspath(handed),
        course=set_course,
        open_log=lambda name: read_log(read_bytes(beside(folder, name)), name),
        open_walker=lambda name: read_walker(read_bytes(beside(folder, name)), name),
    )
    if table.refused:
        raise table.refused[0]
    marking = ready_rule(rule) if rule else usual_rule(set_course.kind)
    report = report_of(fit_class(table.handed, set_course, marking))
    keys = report_keys(report, say_grade, say_learner)
    sentences = (say_rule(marking), *say_class(report.fit), CAUTION)
    return Answered(report, sentences, keys, _learner_rows(keys), partial(draw_target, report))


def _learner_rows(keys: Mapping[str, Any]) -> Sequence[Mapping[str, Any]]:
    rows: Sequence[Mapping[str, Any]] = keys["learners"]
    return rows
