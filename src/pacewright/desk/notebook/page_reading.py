"""Read a kept page with the reader of the commands, and lay its answer out for a page of the desk."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from pacewright.core.log.travel_log import Cells, TravelLog
from pacewright.core.log.typed_page import TypedPage, read_typed
from pacewright.core.pace.walker import Walker
from pacewright.core.way.aiming_off import AimingOff
from pacewright.core.way.way_back import WayBack
from pacewright.desk.models import KeptLog
from pacewright.desk.serving.habits import HABITS
from pacewright.exceptions import Complaint

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate, KnownPlaces
    from pacewright.drawing.walk_map import WalkParts
    from pacewright.ground.grid_text import Position

PROBABILITY: Final = 0.95
STRUCK: Final = "Struck out: it counts no more. To write in it, take the stroke away."
FIGURE_MM: Final = (130.0, 130.0)
"""Smaller than a sheet of paper, so that its lettering is large enough on a phone."""


@dataclass(frozen=True, slots=True)
class RowMark:
    """What the margin shows beside a row; `other` holds by cell what was sent where something else stood."""

    id: str
    azimuth: str
    count: str
    notes: str
    struck: bool
    says: str
    wrong: str
    column: str
    other: dict[str, list[str]]


@dataclass(frozen=True, slots=True)
class PageAnswer:
    """What a page says so far: sentences and the drawing, or why there is none yet.

    Attributes
    ----------
    position, back, on_map
        Sentences: where the last station lies; the way back; the same in the map frame.
    doubt
        Sentences that warn of a mistake in the legs.
    short
        The way back in one line: azimuth and count.
    figure
        SVG.
    not_yet
        Why there is no answer.
    upto
        The row, from 1, at which understanding ends; None where the whole page is understood.
    goals, goal
        Number and name of every station that the way may lead to, and the one it leads to.
    caution
        What stands under every way back.
    """

    position: tuple[str, ...] = ()
    back: tuple[str, ...] = ()
    on_map: tuple[str, ...] = ()
    doubt: tuple[str, ...] = ()
    short: str = ""
    figure: WalkParts | None = None
    not_yet: str = ""
    upto: int | None = None
    goals: tuple[tuple[int, str], ...] = ()
    goal: int = 0
    caution: str = ""


def read_page(log: KeptLog) -> TypedPage:
    """What a kept page means; struck rows count no more."""
    cells = [Cells(row["azimuth"], row["count"], row["notes"]) for row in standing_rows(log)]
    return read_typed(log.heading.splitlines(), cells)


def heading_says(page: TypedPage) -> str:
    """In one line how a page is read."""
    if page.heading_complaint is not None:
        return "Heading: not understood"
    heading = page.heading
    start = f", from {heading.start}" if heading.start else ""
    return f"Heading: {heading.azimuth_reference} {heading.azimuth_unit}, {heading.count_unit}{start}"


def standing_rows(log: KeptLog) -> list[dict[str, Any]]:
    """The rows that are not struck out."""
    return [row for row in log.rows if not row["struck"]]


def walker_of(log: KeptLog) -> Walker:
    """The walker of a kept log, or the walker of the defaults.

    Raises
    ------
    Complaint
        The walker's file is none.
    """
    if log.walker is None or not log.walker.toml:
        return Walker()
    from pacewright.files.walker_toml import read_walker

    return read_walker(log.walker.toml.encode("utf-8"), log.walker.name)


def mark_rows(log: KeptLog, page: TypedPage) -> list[RowMark]:
    """Every row with what it was understood as, or what is wrong with it."""
    from pacewright.wording.typed_rows import say_typed

    sayings = iter(say_typed(page.rows, page.heading.azimuth_unit, page.heading.start))
    typed = iter(page.rows)
    marks = []
    for row in log.rows:
        cells = (row["id"], row["azimuth"], row["count"], row["notes"])
        other = row.get("other", {})
        if row["struck"]:
            marks.append(RowMark(*cells, struck=True, says=STRUCK, wrong="", column="", other=other))
            continue
        said, complaint = next(sayings), next(typed).complaint
        wrong = complaint.sentence if complaint else ""
        column = (complaint.where.column or "") if complaint else ""
        says = HABITS.get().text(said)
        marks.append(RowMark(*cells, struck=False, says=says, wrong=wrong, column=column, other=other))
    return marks


def answer_page(log: KeptLog, page: TypedPage, goal: int | None = None) -> PageAnswer:
    """Position, way back and figure of a page as far as it is understood."""
    upto = None if page.understood == len(page.rows) else _number_on_page(log, page.understood)
    if page.heading_complaint is not None:
        wrong = page.heading_complaint
        return PageAnswer(not_yet=f"The heading is not understood: {wrong.sentence}", upto=upto)
    if page.log is None:
        return PageAnswer(
            not_yet="Type the first leg: azimuth, count, and the answer stands here.", upto=upto
        )
    try:
        return _answer(log, page.log, goal, upto)
    except Complaint as complaint:
        return PageAnswer(not_yet=complaint.sentence, upto=upto)


def _number_on_page(log: KeptLog, standing: int) -> int:
    return [at for at, row in enumerate(log.rows, start=1) if not row["struck"]][standing]


def known_of(kept: KeptLog, log: TravelLog, walker: Walker) -> KnownPlaces:
    """What a map tells of a kept log, the place that was given for its start among it."""
    from pacewright.files.known_places import open_known

    return open_known(log, walker, None, _start_of(kept), kept.start_sd_m)


def estimate_of(kept: KeptLog, log: TravelLog, walker: Walker) -> Estimate:
    """A kept log put together: the one estimate behind all its pages and files."""
    from pacewright.files.known_places import open_estimate

    return open_estimate(log, walker, _start_of(kept), kept.start_sd_m)


def _start_of(kept: KeptLog) -> Position | None:
    from pacewright.ground.grid_text import parse_place

    return parse_place(kept.start_place) if kept.start_place else None


def _answer(kept: KeptLog, log: TravelLog, goal: int | None, upto: int | None) -> PageAnswer:
    from pacewright.answers.way import WayAsked, answer_way
    from pacewright.core.way.regions import named_regions
    from pacewright.drawing.walk_map import walk_parts
    from pacewright.drawing.walk_of import walk_of
    from pacewright.wording.walk import CAUTION, say_assumed, say_map_figure, say_reckoning, say_way_back
    from pacewright.wording.way_answer import say_doubt

    walker = walker_of(kept)
    estimate = estimate_of(kept, log, walker)
    reckoning = estimate.stations("walker")
    last = reckoning.last
    to_station = goal if goal is not None and 0 <= goal < last else 0
    found = answer_way(estimate, WayAsked(last, to_station, PROBABILITY))
    way = found.way
    figure = walk_of(log, reckoning, regions=named_regions(reckoning, PROBABILITY), way=way)
    return PageAnswer(
        position=(*say_assumed(log, walker), *say_reckoning(log, reckoning, PROBABILITY)),
        back=tuple(say_way_back(log, way, found.turn)),
        on_map=() if way.is_there else tuple(say_map_figure(log, way, walker)),
        doubt=say_doubt(found),
        short=short_way(log, way),
        figure=walk_parts(figure, FIGURE_MM),
        upto=upto,
        goals=_goals(reckoning.names),
        goal=to_station,
        caution=CAUTION,
    )


def short_way(log: TravelLog, way: WayBack, aim: AimingOff | None = None) -> str:
    """A way in one line, azimuth and count, to be read at arm's length.

    To a place where the log says that the walker stands already there is no way: what the legs miss by is
    nothing to walk.
    """
    from pacewright.wording.numbers import say_azimuth, say_length, say_place

    if way.is_there:
        return f"at {say_place(way.to_name, way.to_station or 0)}"
    if way.count == 0:
        return ""
    if aim is not None:
        azimuth = say_azimuth(aim.azimuth_deg, log.heading.azimuth_unit)
        return f"{azimuth}, {say_length(aim.count, aim.unit)}, to the line"
    return f"{say_azimuth(way.azimuth_deg, log.heading.azimuth_unit)}, {say_length(way.count, way.unit)}"


def _goals(names: tuple[str | None, ...]) -> tuple[tuple[int, str], ...]:
    from pacewright.wording.numbers import say_place

    return tuple((station, say_place(name, station)) for station, name in enumerate(names[:-1]))
