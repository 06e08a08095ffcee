"""Where a log fits on a terrain, said in plain sentences: the answer first, the caution last."""

from __future__ import annotations

from typing import Final

from pacewright.answers.locate import LocateAnswer
from pacewright.answers.located_walk import position_at
from pacewright.core.compass import format_azimuth
from pacewright.core.log.travel_log import Leg, TravelLog
from pacewright.core.log.written_remarks import format_remark
from pacewright.ground.grid_text import format_place
from pacewright.ground.locate.advice import Advice
from pacewright.ground.locate.fitting import RemarkFit
from pacewright.wording.numbers import say_azimuth, say_length, say_whole
from pacewright.wording.walk import say_way_back

LOCATE_CAUTION: Final = (
    "Caution: a place found so is a guess, to be checked on the ground before you rely on it. If you are lost, stay "
    "where you are or do what qualified instruction taught you; local rules and rescue services come first."
)
_SPEAKS_AGAINST: Final = 0.5
_NOTES: Final = {
    "faces": "note the side to which the slope faces here",
    "lie": "note whether you stand on a ridge, in a valley or on the slope between",
    "slope": "note how steep the ground is here",
    "altitude": "read an altimeter here",
}


def say_located(answer: LocateAnswer) -> list[str]:
    """Say where the walker is, how sure that is, and what to do about it."""
    if not answer.agrees:
        return [*_say_disagreement(answer), *_say_assumptions(answer), LOCATE_CAUTION]
    return [
        *_say_verdict(answer),
        *_say_places(answer),
        *say_advice(answer)[:3],
        *([] if not answer.can_tell else _say_worst_of_fit(answer)),
        *_say_way(answer),
        *_say_assumptions(answer),
        LOCATE_CAUTION,
    ]


def say_advice(answer: LocateAnswer) -> list[str]:
    """Say what to note next, the best first; each with the share of the places that it is expected to leave."""
    if not answer.agrees:
        return []
    first = True
    said = []
    for one in answer.advice:
        says = _advice(answer, one)
        said.append(
            f"{'Best next: ' if first else 'Or: '}{says}, which cuts what is left to about {100 * 2.0**-one.bits:.0f} %."
        )
        first = False
    return said


def say_worst(answer: LocateAnswer) -> str | None:
    """Name the remark that fits the likeliest place worst; None where none speaks against it."""
    if not answer.worst or (answer.agrees and answer.worst[0].ratio > _SPEAKS_AGAINST):
        return None
    return _remark_text(answer.log, answer.worst[0])


def say_chance_of(probability: float) -> str:
    """Write the chance of a place in per cent, never as certainty.

    >>> say_chance_of(0.9996), say_chance_of(0.874), say_chance_of(0.003)
    ('more than 99 %', '87 %', 'less than 1 %')
    """
    if probability > 0.99:
        return "more than 99 %"
    return "less than 1 %" if probability < 0.01 else f"{100 * probability:.0f} %"


def place_rows(answer: LocateAnswer) -> tuple[list[str], list[list[str]]]:
    """The likely places as a table: chance, where now and where it began, in every form."""
    heading = ["place", "chance", "", "east", "north", "latitude, longitude", "MGRS", "UTM"]
    rows = []
    for number, one in enumerate(answer.candidates, 1):
        for what, metres, place in (("now", one.now_m, one.now), ("start", one.start_m, one.start)):
            is_first = what == "now"
            rows.append(
                [
                    str(number) if is_first else "",
                    say_chance_of(one.probability) if is_first else "",
                    what,
                    f"{metres[0]:.0f}",
                    f"{metres[1]:.0f}",
                    format_place(place),
                    format_place(place, "mgrs"),
                    format_place(place, "polar" if abs(place.latitude_deg) > 84 else "utm"),
                ]
            )
    return heading, rows


def _say_verdict(answer: LocateAnswer) -> list[str]:
    area = _area(answer.region.km2)
    if answer.can_tell:
        best = answer.candidates[0]
        return [
            f"You are most likely at {format_place(best.now, 'mgrs')}, {format_place(best.now)}: the chance of being "
            f"within 100 m of it is {say_chance_of(best.probability)}.",
            f"You set out from {format_place(best.start, 'mgrs')}, {format_place(best.start)}.",
            f"The region that holds you with {say_chance_of(answer.region.holds)} is {area}.",
        ]
    strong = [one for one in answer.candidates if one.probability >= 0.1]
    if len(strong) > 1 and answer.region.km2 <= 1.0:
        return [
            f"Can't tell yet: {len(strong)} places fit about as well. The region that holds you is {area}."
        ]
    return [f"Can't tell: {area} are left, anywhere in which you may be."]


def _say_places(answer: LocateAnswer) -> list[str]:
    if answer.can_tell or not answer.candidates:
        return []
    return ["The likeliest places are in the table below; none of them is likely enough to walk by."]


def _say_disagreement(answer: LocateAnswer) -> list[str]:
    said = [
        "Log and map disagree: there is no place on this terrain that this log fits better than one put together at "
        "random."
    ]
    worst = say_worst(answer)
    if worst is not None:
        said.append(f"At the place that fits least badly, {worst} fits worst.")
    return [*said, "Check that the terrain covers the walk, the north of the azimuths, and the pace count."]


def _say_worst_of_fit(answer: LocateAnswer) -> list[str]:
    worst = say_worst(answer)
    return [] if worst is None else [f"What fits that place worst is {worst}: look at it again."]


def _say_way(answer: LocateAnswer) -> list[str]:
    if not answer.can_tell:
        return []
    best = answer.candidates[0]
    unit = answer.log.heading.azimuth_unit
    on_map = (
        f"On the map the start lies at grid azimuth {say_azimuth(best.back_azimuth_deg, unit)}, "
        f"{say_length(best.back_m, 'metre')} from there."
    )
    return [on_map, *say_way_back(answer.log, answer.way.way, answer.way.turn)]


def _say_assumptions(answer: LocateAnswer) -> list[str]:
    return [_sentence(one) for one in (*answer.remarks, *answer.terrain.remarks)]


def _advice(answer: LocateAnswer, advice: Advice) -> str:
    if advice.what in _NOTES:
        return _NOTES[advice.what]
    if advice.what == "bearing":
        return _bearing_advice(answer, advice)
    if advice.what == "together":
        return ", and ".join(_advice(answer, one) for one in advice.parts)
    assert advice.azimuth_deg is not None and advice.length_m is not None
    unit = answer.log.heading.azimuth_unit
    paces = advice.length_m / answer.walker.pace_m() if answer.walker.per_100_m else None
    length = say_length(advice.length_m, "metre") if paces is None else f"{say_whole(round(paces, -1))} paces"
    azimuth = say_azimuth(advice.azimuth_deg, unit)
    return (
        f"walk {length} on grid azimuth {azimuth}, if the ground allows, and note up, level or down and the side that "
        "its end faces"
    )


def _bearing_advice(answer: LocateAnswer, advice: Advice) -> str:
    assert advice.sight is not None
    sight = advice.sight
    if sight.name:
        return f"take a bearing to {sight.name}, if you see it"
    place = format_place(position_at(answer.terrain.crs, sight.east_m, sight.north_m), "mgrs")
    height = "" if sight.height_m is None else f" ({sight.height_m:.0f} m)"
    return f"take a bearing to the summit at {place}{height}, if you see it and are sure which it is"


def _remark_text(log: TravelLog, fit: RemarkFit) -> str:
    unit = log.heading.azimuth_unit
    number, remarks = 0, []
    for row in log.rows:
        number += type(row) is Leg
        wanted = fit.leg if fit.leg is not None else fit.station
        if number == wanted and (fit.leg is None or type(row) is Leg):
            remarks += [format_remark(one, unit) for one in row.remarks if _is_of(one, fit)]
    where = f"of leg {fit.leg}" if fit.leg is not None else f"at station {fit.station}"
    return f"{' '.join(remarks) or 'the remark'} {where}"


def _is_of(remark: object, fit: RemarkFit) -> bool:
    of_leg = type(remark).__name__ in ("LegSlope", "CrossStream", "NoStream")
    of_station = type(remark).__name__ in ("Faces", "Flat", "StationOn", "Steepness", "Altitude")
    return of_leg if fit.leg is not None else of_station


def _area(km2: float) -> str:
    """Write an area as one would say it.

    >>> _area(37.4), _area(0.036), _area(1.24)
    ('37 km2', '0.04 km2 (4 hectares)', '1.2 km2')
    """
    if km2 >= 10:
        return f"{km2:.0f} km2"
    return f"{km2:.1f} km2" if km2 >= 0.5 else f"{km2:.2f} km2 ({max(1, round(100 * km2))} hectares)"


def _sentence(text: str) -> str:
    return text if text.endswith(".") else f"{text}."


def say_look_for(answer: LocateAnswer, number: int) -> list[str]:
    """Say below a map of a place what it is and what to look for there."""
    place = answer.candidates[number]
    azimuth = format_azimuth(place.back_azimuth_deg)
    said = [
        f"If this is the place, you are at {format_place(place.now, 'mgrs')} and set out from "
        f"{format_place(place.start, 'mgrs')}, {place.back_m:.0f} m on grid azimuth {azimuth}. The chance of that is "
        f"{say_chance_of(place.probability)}.",
        "Hold the land about you against this map: the side the slope faces, what rises and falls, where water runs. "
        "One thing that does not fit speaks against the place.",
    ]
    return [*said, *say_advice(answer)[:1]]
