"""All that is said of the sun at a place: the day, the moment, the compass, daylight for the way back."""

from __future__ import annotations

from pacewright.answers.sunlight import SunAnswer
from pacewright.core.pace.walker import Walker
from pacewright.route.travel_cost import find_rule
from pacewright.wording.adjusted_answer import Said
from pacewright.wording.sun import (
    hours_table,
    rules_table,
    say_compass_check,
    say_daylight,
    say_daylight_check,
    say_declination_used,
    say_no_time_to_set_out,
    say_sun_day,
    say_sun_now,
    say_way_time,
)
from pacewright.wording.walk import Rows, say_assumed
from pacewright.wording.way_answer import say_doubt


def say_sun(answer: SunAnswer, zone_name: str, walker: Walker) -> Said:
    """Say all of an answer of the sun, with its tables.

    Parameters
    ----------
    answer
        What was found.
    zone_name
        What the clock is called.
    walker
        Whose way back it is.
    """
    asked, used = answer.asked, answer.asked.declination
    declination_deg = None if used is None else used.deg
    told = say_sun_day(answer.day, zone_name)
    if used is not None:
        told.append(say_declination_used(used.deg, used.sd_deg, used.origin))
    hours = hours_table(answer.hours, answer.track, declination_deg)
    tables: list[Rows] = [hours] if hours[1] else []
    if answer.now is not None and answer.light is not None and asked.when is not None:
        told += [say_sun_now(answer.now, asked.when, declination_deg), say_daylight(answer.light)]
    if answer.check is not None:
        told += say_compass_check(answer.check, asked.probability)
    more, rules = _back(answer, walker)
    return Said((*told, *more), (*tables, *rules))


def _back(answer: SunAnswer, walker: Walker) -> tuple[list[str], list[Rows]]:
    timed, check, back = answer.timed, answer.enough, answer.asked.back
    if timed is None or check is None or back is None:
        return [], []
    said = [
        *say_doubt(timed.answer),
        *say_assumed(timed.answer.log, walker),
        say_way_time(timed, find_rule(back.rule), back.off_path, back.climb_m, back.descent_m),
    ]
    if timed.is_there:
        return said, []
    verdict = say_no_time_to_set_out(timed) if timed.is_doubted else say_daylight_check(check)
    return [*said, *verdict], [rules_table(timed.times)]
