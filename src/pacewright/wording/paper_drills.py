"""Paper drills in words: the question, what is asked, the answer and how near counts, and where the kind is from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from pacewright.course.drills.dialled import SIDES
from pacewright.course.drills.problem import Answer, PaperDrill, Problem

TITLES: Final[dict[PaperDrill, str]] = {
    "plot": "Plot the log and give the way back",
    "slip": "Find the slip",
    "back": "Back azimuths",
    "cord": "Settings of the tally cord",
    "declination": "From one north to another",
    "box": "Round an obstacle",
    "aim_off": "Aiming off",
    "range": "Distances that cannot be walked",
    "resection": "Where am I? Resection by protractor",
}
HOW: Final[dict[PaperDrill, str]] = {
    "plot": "Draw each leg with protractor and ruler, 10 mm for 50 paces, north up the page (print at 100 %). Then read the way from the "
    "last station back to the start.",
    "slip": "Each log should come back to its start and does not: one row holds a slip. Work out how far and which way it "
    "misses, and find the row that explains it.",
    "back": "Write the back azimuth.",
    "cord": "A lower bead is a hundred paces, an upper bead a thousand.",
    "declination": "East declination: the needle points to the right of true north. Draw the norths before you reckon.",
    "box": "Only what goes forward counts on the leg.",
    "aim_off": "The line (a road, a stream) runs square to your way. Aimed to one side, you know which way to turn on it.",
    "range": "Give the distance. A mil is a 6400th of the circle; sound goes 340 m in a second.",
    "resection": "Draw the back azimuth from each mark, 10 mm for 200 m, grid north up the page (print at 100 %). You stand where the lines "
    "meet; with three, in the middle of the small triangle.",
}
SOURCES: Final[dict[PaperDrill, str]] = {
    "plot": "Kind of problem: plotting a traverse by protractor and scale, common practice of surveying classes (from memory).",
    "slip": "Kind of problem: finding the blunder by the direction and length of the misclosure, common practice of "
    "surveying classes (from memory).",
    "back": "Kind of problem: TC 3-25.26, Map Reading and Land Navigation (2013), back azimuths (from memory).",
    "cord": "Kind of problem: the tally cord, common practice.",
    "declination": "Kind of problem: NAVEDTRA 14069, ch. 13; TC 3-25.26 (2013), declination conversion (from memory).",
    "box": "Kind of problem: FM 3-25.26, Map Reading and Land Navigation (2001), 9-5 (from memory).",
    "aim_off": "Kind of problem: FM 3-25.26 (2001), deliberate offset (from memory).",
    "range": "Kinds of problem: TM 9-1240-407-12-P, the mil relation; FM 5-34, the 45-degree method (from memory); sound and "
    "thumb, common practice.",
    "resection": "Kind of problem: J. P. Cole and O. Schoonmaker, Military Instructors Manual (1917), resection (authors from memory).",
}
NUMBERS_OWN: Final = "The numbers are made up for this sheet."
ACCURACY: Final = (
    "Where something is drawn, an answer is right within what a protractor read to half a degree and a ruler to half a "
    "millimetre leave open."
)
SLIPS: Final = {
    "tally_lost": "a hundred not tallied",
    "azimuth_reversed": "azimuth read from the wrong end",
    "digits_swapped": "last two digits swapped",
}
ASKED: Final = {
    "way_azimuth": "Azimuth back",
    "way_count": "Paces back",
    "leg": "Leg",
    "slip": "What happened",
    "back_azimuth": "Back azimuth",
    "thousands": "Upper beads",
    "hundreds": "Lower beads",
    "paces": "Paces over",
    "count": "Count",
    "magnetic_azimuth": "Magnetic",
    "true_azimuth": "True",
    "grid_azimuth": "Grid",
    "out_azimuth": "Azimuth out",
    "return_azimuth": "Azimuth back to the line",
    "still_to_go": "Paces still to go",
    "aimed_azimuth": "Azimuth to walk",
    "beside": "Paces beside the target",
    "turn": "Turn on the line",
    "angle": "Degrees to aim off",
    "distance": "Distance",
    "east": "East m",
    "north": "North m",
}
_UNITS: Final = {"deg": "deg", "mils": "mils", "pace": "paces", "m": "m", "number": "", "word": ""}
_MARKS: Final = "ABC"


def say_problem(problem: Problem) -> str:
    """Say the question of a problem."""
    return _SAY[problem.kind](problem)


def say_asked(answer: Answer) -> str:
    """Say what is asked, with its unit."""
    unit = _UNITS[answer.unit]
    named = ASKED[answer.asks]
    return named if not unit or unit in named.split() or unit in named.lower() else f"{named}, {unit}"


def say_choices(answer: Answer) -> tuple[str, ...]:
    """Say the words to choose from; nothing where a number is asked."""
    return tuple(SLIPS.get(choice, choice) for choice in answer.choices)


def say_value(answer: Answer) -> str:
    """Write an answer.

    >>> say_value(Answer("leg", 3.0, "number")), say_value(Answer("true_azimuth", 327.5, "deg"))
    ('3', '327.5 deg')
    """
    if answer.choices:
        return say_choices(answer)[int(answer.value)]
    unit = _UNITS[answer.unit]
    return f"{_number(answer.value)}{' ' if unit else ''}{unit}"


def say_within(answer: Answer) -> str:
    """Write how far off still counts.

    >>> say_within(Answer("leg", 3.0, "number")), say_within(Answer("way_azimuth", 68.3, "deg", 4.0))
    ('exactly', 'within 4')
    """
    return f"within {answer.within:g}" if answer.within else "exactly"


def say_marked(answer: Answer, typed: float) -> str:
    """Say whether an answer that was typed is right."""
    if answer.is_right(typed):
        return f"Right: {say_value(answer)}." if answer.within else "Right."
    if answer.choices or not answer.within:
        return "Not yet: try again."
    unit = _UNITS[answer.unit]
    return f"Not yet: off by {_number(answer.off(typed))} {unit}, and {answer.within:g} would still be right."


def _number(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _plot(problem: Problem) -> str:
    return "The way from the end of this log back to its start:"


def _slip(problem: Problem) -> str:
    if problem.variant == "1":
        return "On one leg a hundred was not tallied. Which?"
    return "One row holds a slip. Which, and what happened?"


def _back(problem: Problem) -> str:
    return f"{problem.given['azimuth']:g} {problem.variant}"


def _cord(problem: Problem) -> str:
    given = problem.given
    if problem.variant == "set":
        return f"{given['count']:g} paces"
    return f"{_beads(given['thousands'], 'upper')} and {_beads(given['hundreds'], 'lower')} down, {given['paces']:g} paces since"


def _beads(number: float, name: str) -> str:
    return f"{number:g} {name} bead{'' if number == 1 else 's'}"


def _declination(problem: Problem) -> str:
    given = problem.given
    here, there = problem.variant.split("_to_")
    side = "east" if given["declination"] > 0 else "west"
    said = f"{here.capitalize()} azimuth {given['azimuth']:g} deg, declination {abs(given['declination']):g} deg {side}"
    if given["convergence"]:
        grid = "east" if given["convergence"] > 0 else "west"
        said += f", grid north {abs(given['convergence']):g} deg {grid} of true north"
    return f"{said}: the {there} azimuth?"


def _box(problem: Problem) -> str:
    given = problem.given
    side = SIDES[int(given["side"])]
    leg = f"A leg of {given['azimuth']:g} deg, {given['count']:g} paces. At {given['at']:g} paces a pond."
    if problem.variant == "detour":
        return f"{leg} You go round it to the {side} by two sides of a triangle, each {given['past']:g} paces, 60 deg off the leg."
    return f"{leg} You box it to the {side}: {given['offset']:g} paces out, {given['past']:g} past, {given['offset']:g} back."


def _aim_off(problem: Problem) -> str:
    given = problem.given
    side = SIDES[int(given["side"])]
    way = f"The bridge lies on {given['azimuth']:g} deg, {given['count']:g} paces."
    if problem.variant == "angle":
        return f"{way} You want to meet the road {given['offset']:g} paces to the {side} of it."
    return f"{way} You aim off {given['off']:g} deg to the {side}."


_RANGED: Final[dict[str, Callable[[Mapping[str, float]], str]]] = {
    "right_angle": lambda g: (
        f"A tree on the far bank bears {g['start']:g} deg. You walk {g['base']:g} paces square to that, until it bears {g['end']:g} deg."
    ),
    "tangent": lambda g: (
        f"A tree on the far bank bears {g['start']:g} deg. After {g['base']:g} paces square to that it bears {g['end']:g} deg."
    ),
    "sound": lambda g: f"From the flash to the bang you count {g['delay']:g} seconds.",
    "thumb": lambda g: (
        f"Arm out, one eye and then the other: your thumb jumps {g['jump']:g} m along a far fence. Arm's length is ten times "
        "the space between your eyes."
    ),
    "mils": lambda g: f"A hut known to be {g['size']:g} m wide fills {g['angle']:g} mils.",
    "base_line": lambda g: (
        f"A base line from A to B is {g['base']:g} paces on {g['along']:g} deg. The tower bears {g['from_a']:g} deg from A and "
        f"{g['from_b']:g} deg from B. How far is it from A?"
    ),
}


def _range(problem: Problem) -> str:
    return _RANGED[problem.variant](problem.given)


def _resection(problem: Problem) -> str:
    given = problem.given
    north = "grid" if problem.variant == "grid" else "magnetic"
    seen = [
        f"{letter} (east {given[f'east_{k}']:g}, north {given[f'north_{k}']:g}) bears {given[f'azimuth_{k}']:g} deg"
        for k, letter in enumerate(_MARKS, start=1)
        if f"east_{k}" in given
    ]
    turn = given["declination"]
    told = f" Grid = magnetic {'+' if turn > 0 else '-'} {abs(turn):g} deg." if turn else ""
    return f"By {north} azimuths: {'; '.join(seen)}.{told}"


_SAY: Final[dict[PaperDrill, Callable[[Problem], str]]] = {
    "plot": _plot,
    "slip": _slip,
    "back": _back,
    "cord": _cord,
    "declination": _declination,
    "box": _box,
    "aim_off": _aim_off,
    "range": _range,
    "resection": _resection,
}
