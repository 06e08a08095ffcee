"""What the laptop says of a page, laid out as `pocket_driver.js` lays out what the phone says."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from pacewright.answers.estimate import Estimate, KnownPlaces, find_estimate
from pacewright.answers.way import Doubt, WayAnswer, WayAsked, answer_way
from pacewright.core.adjust.closure import find_closures, find_unexplained
from pacewright.core.adjust.standing import Standing
from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import Cells, Page, TravelLog
from pacewright.core.log.typed_page import read_typed
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import walker_frame
from pacewright.core.way.observations import find_observations
from pacewright.core.way.reckoning import reckon
from pacewright.core.way.regions import station_region
from pacewright.exceptions import Complaint
from pacewright.files.log_csv import COLUMN_LINE, format_cells, read_log
from pacewright.wording.closure import say_closures
from pacewright.wording.walk import say_reckoning, station_table
from pacewright.wording.way_answer import explain_way, say_way, way_tables
from support.pocket_logs import MadePage


def csv_of(page: MadePage) -> str:
    """The page as a file, written by the laptop."""
    lines = [f"# {line}\n" for line in page.heading]
    rows = [format_cells(Cells(*row), Page()) for row in page.rows]
    return "".join([*lines, COLUMN_LINE + "\n", *rows])


def expected(page: MadePage, text: str | None = None) -> dict[str, Any]:
    """All that the laptop says of a page."""
    typed = read_typed(page.heading, [Cells(*row) for row in page.rows])
    text = csv_of(page) if text is None else text
    found: dict[str, Any] = {
        "heading": _said(typed.heading_complaint),
        "rows": [_said(one.complaint) for one in typed.rows],
        "understood": typed.understood,
        "csv": text,
    }
    try:
        log = read_log(text.encode("utf-8"))
    except Complaint as complaint:
        return {**found, "file": str(complaint)}
    return {**found, "file": None, **_answered(log, page.walker, page.asked)}


def _said(complaint: Complaint | None) -> str | None:
    return None if complaint is None else str(complaint)


def is_plain(log: TravelLog) -> bool:
    """Whether a log holds nothing but its legs that moves the laptop's answer."""
    names = [name for name in log.station_names() if name]
    backs = any(leg.find(BackReading) for leg in log.legs)
    return not (log.heading.known or any(log.sightings()) or backs or len(set(names)) < len(names))


def estimate_of(log: TravelLog, walker: Walker) -> Estimate:
    """The laptop's own estimate of a plain log; of any other its legs as written, judged by what closes."""
    if is_plain(log):
        return find_estimate(log, walker)
    frame = walker_frame(log.heading, walker)
    written = reckon(log, walker, frame)
    seen = replace(find_observations(log, walker, frame), fixes=())
    unexplained = find_unexplained(find_closures(log, written, seen))
    return Estimate(log, walker, KnownPlaces(frame), Standing(log, walker, written, None), None, unexplained)


def _answered(log: TravelLog, walker: Walker, asked: dict[str, Any]) -> dict[str, Any]:
    try:
        estimate = estimate_of(log, walker)
    except Complaint as complaint:
        return {"estimate": str(complaint)}
    written, stations = estimate.written, estimate.stations("walker")
    frame = written.frame
    closures = find_closures(log, written, replace(find_observations(log, walker, frame), fixes=()))
    region = station_region(stations, stations.last, asked["probability"])
    found: dict[str, Any] = {
        "estimate": None,
        "places": written.place.tolist(),
        "covariances": written.covariances().tolist(),
        "stations": stations.place.tolist(),
        "station_covariances": stations.covariances().tolist(),
        "region": [region.shape, *region.center.tolist(), *(one**2 for one in region.half_widths(30.0))],
        "closures": [
            [one.at, list(one.legs), one.east, one.north, one.p_value, one.verdict] for one in closures
        ],
        "unexplained": [one.at for one in estimate.unexplained],
        "closing": say_closures(log, closures, frame.unit),
        "reckoning": say_reckoning(log, stations, asked["probability"]),
        "table": _plain(station_table(log, stations, asked["probability"])),
    }
    try:
        answer = answer_way(estimate, WayAsked(**asked))
    except Complaint as complaint:
        return {**found, "way": str(complaint)}
    return {**found, "way": None, **_way(answer)}


def _way(answer: WayAnswer) -> dict[str, Any]:
    way, figure, aim, square = answer.way, answer.way.map_figure, answer.aim, answer.square
    return {
        "way_back": [way.from_station, way.to_station, way.azimuth_deg, way.distance, way.count],
        "covariance": way.covariance.tolist(),
        "sure": [way.along, way.across, answer.turn.look_from, answer.turn.stop_at],
        "center": way.region.center.tolist(),
        "map": None
        if figure is None
        else [figure.azimuth_deg, figure.length_m, figure.along_m, figure.across_m],
        "aim": _said(aim)
        if isinstance(aim, Complaint) or aim is None
        else [
            aim.azimuth_deg,
            aim.count,
            aim.offset,
            aim.turn,
            aim.line_from,
            aim.line_by,
            aim.follow_to,
            aim.wrong_side_chance,
        ],
        "search": _said(square)
        if isinstance(square, Complaint) or square is None
        else [[leg.azimuth_deg, leg.length, leg.total, leg.seen_share] for leg in square.legs],
        "retraced": None
        if answer.retraced is None
        else [answer.retraced.along, answer.retraced.across, np.asarray(answer.retraced.covariance).tolist()],
        # What may be wrong and what is not used the page says in its own words: it does not search.
        "says": list(say_way(replace(answer, doubt=Doubt(), unused=()))),
        "explains": list(explain_way(answer)),
        "tables": _plain(way_tables(answer)),
    }


def _plain(value: Any) -> Any:
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    return value


def walker_figures(walker: Walker) -> dict[str, Any]:
    """The walker as the page carries one."""
    from pacewright.pocket.carried import figures_of

    return figures_of(walker)


def differences(mine: Any, theirs: Any, where: str = "", within: float = 1e-9) -> list[str]:
    """Where two answers differ: numbers by more than a part in a thousand million, all else at all."""
    if isinstance(mine, dict) and isinstance(theirs, dict):
        keys = mine.keys() | theirs.keys()
        return [
            one
            for key in sorted(keys)
            for one in differences(mine.get(key), theirs.get(key), f"{where}.{key}", within)
        ]
    if isinstance(mine, list) and isinstance(theirs, list) and len(mine) == len(theirs):
        return [
            one
            for k, pair in enumerate(zip(mine, theirs, strict=True))
            for one in differences(*pair, f"{where}[{k}]", within)
        ]
    if _is_number(mine) and _is_number(theirs):
        near = abs(mine - theirs) <= within * max(1.0, abs(mine), abs(theirs))
        return [] if near else [f"{where}: {mine!r} and {theirs!r}"]
    return [] if mine == theirs else [f"{where}: {mine!r} and {theirs!r}"]


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
