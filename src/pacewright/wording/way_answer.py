"""A way back, said: what to walk first, then its doubt, how sure it is, the search, leg by leg."""

from __future__ import annotations

from pacewright.answers.way import Doubt, WayAnswer
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.way.search_pattern import ExpandingSquare, LineSearch
from pacewright.core.way.way_back import WayBack
from pacewright.exceptions import NoAnswerComplaint
from pacewright.wording.findings import (
    Rows,
    say_again,
    say_islands,
    say_percent,
    say_reading,
    say_taken_as_written,
    say_unsearched,
)
from pacewright.wording.numbers import say_odds, say_whole
from pacewright.wording.searching import say_line_search, say_square, search_table
from pacewright.wording.walk import (
    CAUTION,
    retrace_table,
    say_aiming_off,
    say_answer_line,
    say_assumed,
    say_at_line,
    say_from_to,
    say_map_figure,
    say_no_way,
    say_not_possible,
    say_not_to_walk,
    say_retrace,
    say_way_back,
    say_way_end,
)


def say_way(answer: WayAnswer) -> tuple[str, ...]:
    """Say all of a way, what to walk alone in the first line and the caution last."""
    parts = [*_say_walk(answer), *say_searched(answer), *say_retraced(answer)]
    return (*parts, *say_note(answer), *say_assumed(answer.log, answer.walker), CAUTION)


def _say_walk(answer: WayAnswer) -> tuple[str, ...]:
    log, way, aim = answer.log, answer.way, answer.aimed
    if aim is None and (way.is_there or way.count == 0):
        first, *more = say_no_way(way)
        return (first, *say_doubt(answer), *more, *say_aimed(answer))
    line = say_answer_line(log, way, aim)
    where = f"{say_from_to(way)}{', aiming off' if aim else ''} ({way.azimuth_reference})."
    if aim is not None:
        return (f"{line}  to the line", *say_doubt(answer), where, *say_at_line(log, aim, way))
    on_map = () if way.to_station is None else say_map_figure(log, way, answer.walker)[:1]
    return (line, *say_doubt(answer), where, *say_way_end(log, way, answer.turn), *on_map, *say_aimed(answer))


def explain_way(answer: WayAnswer) -> tuple[str, ...]:
    """Say what the figures of a way rest on: the frame, and why the figure in metres differs."""
    way = answer.way
    if way.is_there or way.count == 0:
        return ()
    figure = () if way.to_station is None else say_map_figure(answer.log, way, answer.walker)[1:]
    is_as_counted = abs(way.counts_per_unit - 1.0) < 1e-9
    ground = "nothing is converted" if is_as_counted else "only the ground changes the count"
    return (
        f"The way is in your own {way.unit}s and by your own compass (the walker's frame): {ground}. The "
        "doubt holds the scatter of every leg and of walking back.",
        *figure,
    )


def brief_way(answer: WayAnswer) -> tuple[str, ...]:
    """Say what to walk, when to look and stop, and the caution, a line each; a doubt takes the place of the region."""
    log, way, aim = answer.log, answer.way, answer.aimed
    short = _short_doubt(answer.doubt)
    if aim is None and (way.is_there or way.count == 0):
        return (say_no_way(way)[0], *([short] if short else []), CAUTION)
    look_from, stop_at = (
        (answer.turn.look_from, answer.turn.stop_at) if aim is None else (aim.line_from, aim.line_by)
    )
    look = f"Look from {look_from}, stop at {stop_at}."
    sure = (
        short
        or f"Within {say_whole(way.along)} along, {say_whole(way.across)} across ({say_odds(way.probability)})."
    )
    to_line = "" if aim is None else f"  to the line, then turn {aim.turn}"
    return (f"{say_answer_line(log, way, aim)}{to_line}", f"{look} {sure}", CAUTION)


def _short_doubt(doubt: Doubt) -> str:
    if doubt.elsewhere is not None:
        return f"Take care: a mistake elsewhere ({say_percent(doubt.elsewhere)})."
    if doubt.left_out is not None:
        return "Take care: one reading was left out."
    if not doubt.is_warned:
        return ""
    likely = "" if doubt.chance is None else f" ({say_percent(doubt.chance)})"
    return f"Take care: it may hold a mistake{likely}."


def say_order(answer: WayAnswer) -> tuple[str, ...]:
    """Say the one way to walk: aimed off where a line was given and can be aimed off by, else the direct one."""
    if answer.aimed is None:
        return (*say_direct(answer), *say_aimed(answer))
    return (*say_assumed(answer.log, answer.walker), *say_aimed(answer))


def say_note(answer: WayAnswer) -> tuple[str, ...]:
    """Say what the way does not rest on, and the direct way where that is not the one to walk."""
    direct = () if answer.aimed is None else (say_not_to_walk(answer.log, answer.way),)
    return (*answer.unused, *direct)


def say_doubt(answer: WayAnswer) -> tuple[str, ...]:
    """Warn where the legs of a way may hold a mistake; nothing where none shows."""
    return say_doubt_of(answer.log, answer.way, answer.doubt)


def say_doubt_of(log: TravelLog, way: WayBack, doubt: Doubt) -> tuple[str, ...]:
    """Warn where the legs of a way may hold a mistake, and say where the walker may stand."""
    if doubt.elsewhere is not None:
        return (
            f"Take care: this log may hold a mistake ({say_percent(doubt.elsewhere)}), though hardly in what "
            "this rests on. Search first (pacewright check).",
        )
    if doubt.left_out is not None:
        return (
            f"Take care: {say_reading(doubt.left_out, log)} is probably wrong, and this way does not rest on it. "
            f"{say_again(doubt.left_out)} (pacewright check).",
        )
    if not doubt.is_warned:
        return ()
    if doubt.chance is None:
        return tuple(say_unsearched(doubt.unexplained))
    islands = say_islands(doubt.islands, log, way.from_station, way.unit, way.to_station or 0)
    return (*say_taken_as_written(doubt.chance), *islands)


def say_direct(answer: WayAnswer) -> tuple[str, ...]:
    """Say the way itself, what was assumed, and the same on the map."""
    log, way = answer.log, answer.way
    said = (*say_assumed(log, answer.walker), *say_way_back(log, way, answer.turn))
    # A goal that only the map knows is said in own paces alone.
    is_bare = way.is_there or way.to_station is None
    return said if is_bare else (*said, *say_map_figure(log, way, answer.walker))


def say_short(answer: WayAnswer) -> tuple[str, ...]:
    """Say the warning and the way, as under a drawing."""
    return (*say_doubt(answer), *say_way_back(answer.log, answer.way, answer.turn))


def say_aimed(answer: WayAnswer) -> tuple[str, ...]:
    """Say how to aim off, or why not; nothing where it was not asked for."""
    if isinstance(answer.aim, NoAnswerComplaint):
        return () if answer.way.is_there else tuple(say_not_possible("aiming off", answer.aim))
    return () if answer.aim is None else tuple(say_aiming_off(answer.log, answer.aim, answer.way))


def say_searched(answer: WayAnswer) -> tuple[str, ...]:
    """Say how to search, or why not; nothing where it was not asked for or nothing is to be walked."""
    search = answer.square
    if search is None or answer.way.is_there:
        return ()
    if isinstance(search, NoAnswerComplaint):
        return tuple(say_not_possible("search", search))
    if isinstance(search, ExpandingSquare):
        return tuple(say_square(search, answer.way))
    assert answer.aimed is not None
    return tuple(say_line_search(answer.log, search, answer.aimed))


def say_retraced(answer: WayAnswer) -> tuple[str, ...]:
    """Say what walking back leg by leg is worth; nothing where it was not asked for."""
    back = answer.retraced
    if back is None:
        return ()
    return tuple(say_retrace(answer.way.unit, back.log, back.along, back.across, answer.way.probability))


def search_of(answer: WayAnswer) -> ExpandingSquare | LineSearch | None:
    """The search of an answer, where there is one to walk."""
    search = answer.square
    return None if answer.way.is_there or isinstance(search, NoAnswerComplaint) else search


def way_tables(answer: WayAnswer) -> list[Rows]:
    """The tables below the sentences: the search, and the way leg by leg."""
    tables = []
    if (search := search_of(answer)) is not None:
        tables.append(search_table(answer.log, search, answer.way))
    if answer.retraced is not None:
        tables.append(retrace_table(answer.retraced.log))
    return tables
