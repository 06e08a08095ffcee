"""What is known of the land, typed by hand: `track: PLACE; PLACE`, `hut = PLACE`, `keep off: PLACE; ...`."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np
from numpy.typing import NDArray

from pacewright.answers.plan_question import Named
from pacewright.exceptions import ValueComplaint
from pacewright.files.plan_features import Features
from pacewright.route.planning.lines import Line

Place = tuple[float, float]
ReadPlace = Callable[[str], Place]

KEEP_OFF = "keep off"


def read_line(text: str, place: ReadPlace) -> Line:
    """The line of `KIND: PLACE; PLACE...`.

    Raises
    ------
    ValueComplaint
        It has no kind, or fewer than two places.
    """
    kind, _, rest = text.partition(":")
    corners = [place(one) for one in rest.split(";") if one.strip()]
    if not kind.strip() or len(corners) < 2:
        raise ValueComplaint(
            f"{text[:60]} is no line", 'Write KIND: PLACE; PLACE, such as "track: local 0 500; local 900 520"'
        )
    return Line(kind.strip().casefold(), np.array(corners), has_bends=True)


def read_point(text: str, place: ReadPlace) -> Named:
    """The sight of `NAME = PLACE`.

    Raises
    ------
    ValueComplaint
        It has no name.
    """
    name, sign, rest = text.partition("=")
    if not sign or not name.strip():
        raise ValueComplaint(f"{text[:60]} is no sight", 'Write NAME = PLACE, such as "hut = local 300 400"')
    return Named(name.strip(), place(rest))


def read_area(text: str, place: ReadPlace) -> tuple[str, NDArray[np.float64]]:
    """The area of `PLACE; PLACE; PLACE...`, to be kept off.

    Raises
    ------
    ValueComplaint
        It has fewer than three places.
    """
    corners = [place(one) for one in text.split(";") if one.strip()]
    if len(corners) < 3:
        raise ValueComplaint(f"{text[:60]} is no area", "Write three places or more, with ; between")
    return "barred area", np.array(corners)


def read_known(texts: Iterable[str], place: ReadPlace) -> Features:
    """What is known of the land, each text a line, a sight or an area to keep off.

    Raises
    ------
    ValueComplaint
        One is none of them.
    """
    lines: list[Line] = []
    points: list[Named] = []
    areas: list[tuple[str, NDArray[np.float64]]] = []
    for text in texts:
        kind, sign, rest = text.partition(":")
        if sign and kind.strip().casefold() == KEEP_OFF:
            areas.append(read_area(rest, place))
        elif "=" in text:
            points.append(read_point(text, place))
        else:
            lines.append(read_line(text, place))
    return Features(tuple(lines), tuple(points), tuple(areas))
