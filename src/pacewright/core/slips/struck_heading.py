"""The heading put right: a declination mirrored, a known place struck out or taken as less sure.

What stood there stays below as prose, without its colon: `# was declination 5.5 E`, `# was known Barn = ..`.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final

from pacewright.core.log.log_heading import parse_heading
from pacewright.core.log.travel_log import Page, TravelLog, compose_log
from pacewright.exceptions import MissingComplaint, ValueComplaint

_DECLINATION_LINE: Final = re.compile(r"(\W*#\W*declination\s*:\s*)([^\r\n\",;\t]*[^\s\",;])", re.IGNORECASE)
_WAS_DECLINATION: Final = re.compile(r"\W*#\s*was declination ([^\r\n]*\S)\s*", re.IGNORECASE)
_KNOWN_LINE: Final = re.compile(r"(\W*#\W*)(known)\s*:(\s*([^=]*?)\s*=.*)", re.IGNORECASE | re.DOTALL)
_WAS_KNOWN: Final = re.compile(r"(\W*#\W*)was (known)(\s*([^=]*?)\s*=.*)", re.IGNORECASE | re.DOTALL)
_DOUBT: Final = re.compile(r"\s*(\+-|\+/-|±)\s*\d+(\.\d+)?\s*m", re.IGNORECASE)


def mirror_declination(log: TravelLog) -> TravelLog:
    """The log with its declination on the other side.

    Raises
    ------
    ValueComplaint
        The heading lies on no page.
    """
    declination_deg = log.heading.declination_deg or 0.0
    side = "W" if declination_deg > 0 else "E"
    found = _declination_line(log)
    if log.page is None or found is None:
        raise ValueComplaint(
            "the declination of this log stands on no page and cannot be struck out there",
            f"Write its heading anew with {abs(declination_deg):g} {side}",
        )
    place, line, match = found
    mirrored = f"{match[1]}{abs(declination_deg):g} {side}{line[match.end() :]}"
    struck = f"# was declination {match[2]}{log.page.newline}"
    heading = replace(log.heading, declination_deg=-declination_deg)
    return compose_log(heading, log.rows, _with_lines(log.page, place, 1, (mirrored, struck)))


def unmirror_declination(log: TravelLog) -> TravelLog:
    """The log with a declination that was mirrored put back; the same log where none was."""
    found = _declination_line(log)
    if log.page is None or found is None:
        return log
    place, line, match = found
    after = log.page.lines[place + 1 : place + 2]
    struck = _WAS_DECLINATION.fullmatch(after[0]) if after and isinstance(after[0], str) else None
    if struck is None:
        return log
    restored = match[1] + struck[1] + line[match.end() :]
    heading = replace(log.heading, declination_deg=-(log.heading.declination_deg or 0.0))
    return compose_log(heading, log.rows, _with_lines(log.page, place, 2, (restored,)))


def strike_place(log: TravelLog, name: str, sd_m: float | None) -> TravelLog:
    """The log with a known place struck out, or with another doubt.

    Parameters
    ----------
    log
        The log.
    name
        Of the place.
    sd_m
        Its doubt from now on, in metres; None strikes the place out.

    Raises
    ------
    ValueComplaint
        The heading lies on no page, or the line of the place cannot stand as prose.
    """
    found = [(place, match) for place, match in _matches(log, _KNOWN_LINE) if match[4] == name]
    # Prose in a heading holds no colon.
    if log.page is None or not found or ":" in found[0][1][3]:
        raise ValueComplaint(
            f"the known place of {name} cannot be struck out in the heading",
            "Write its line anew, or take it away",
        )
    place, match = found[0]
    lines: tuple[str, ...] = (f"{match[1]}was {match[2]}{match[3]}",)
    if sd_m is not None:
        end = _end_of(match[0])
        lines = (f"{_DOUBT.sub('', match[0][:end])} +-{sd_m:.10g} m{match[0][end:]}", *lines)
    known = tuple(
        point if point.name != name else replace(point, sd_m=sd_m or 0.0)
        for point in log.heading.known
        if point.name != name or sd_m is not None
    )
    return compose_log(replace(log.heading, known=known), log.rows, _with_lines(log.page, place, 1, lines))


def restore_place(log: TravelLog, name: str) -> TravelLog:
    """The log with a struck known place put back.

    Raises
    ------
    MissingComplaint
        No such place is struck out.
    """
    found = [(place, match) for place, match in _matches(log, _WAS_KNOWN) if match[4] == name]
    if log.page is None or not found:
        raise MissingComplaint(f"no known place of {name} is struck out", "Look at the heading of the log")
    place, match = found[0]
    blank = "" if match[3].startswith((" ", "\t")) else " "
    restored = f"{match[1]}{match[2]}:{blank}{match[3]}"
    live = [at for at, one in _matches(log, _KNOWN_LINE) if one[4] == name]
    first, lines = (place, 1) if not live else (live[0], 2)
    words = match[0][match.start(3) - match.start() : _end_of(match[0])]
    point = parse_heading([(1, "known", words)]).known[0]
    others = [one for one in log.heading.known if one.name != name]
    above = sum(at < first for at, _ in _matches(log, _KNOWN_LINE))
    known = (*others[:above], point, *others[above:])
    page = _with_lines(log.page, first, lines, (restored,))
    return compose_log(replace(log.heading, known=known), log.rows, page)


def struck_places(log: TravelLog) -> tuple[str, ...]:
    """The names of the known places that stand struck out in the heading."""
    return tuple(dict.fromkeys(match[4] for _, match in _matches(log, _WAS_KNOWN)))


def is_heading_struck(log: TravelLog) -> bool:
    """Whether anything in the heading is struck out."""
    return bool(struck_places(log)) or bool(_matches(log, _WAS_DECLINATION))


def _end_of(text: str) -> int:
    """Where the words of a heading line end; what a spreadsheet put behind them stands after."""
    bare = text.rstrip(' \t\r\n,;"' if text.lstrip().startswith('"') else " \t\r\n,;")
    return len(bare)


def _with_lines(page: Page, place: int, gone: int, lines: tuple[str, ...]) -> Page:
    return replace(page, lines=(*page.lines[:place], *lines, *page.lines[place + gone :]))


def _matches(log: TravelLog, pattern: re.Pattern[str]) -> list[tuple[int, re.Match[str]]]:
    """The lines of the page that a pattern fits, each with its place."""
    lines = log.page.lines if log.page else ()
    found = ((place, pattern.fullmatch(line)) for place, line in enumerate(lines) if isinstance(line, str))
    return [(place, match) for place, match in found if match is not None]


def _declination_line(log: TravelLog) -> tuple[int, str, re.Match[str]] | None:
    for place, line in enumerate(log.page.lines if log.page else ()):
        match = _DECLINATION_LINE.match(line) if isinstance(line, str) else None
        if match is not None and isinstance(line, str):
            return place, line, match
    return None
