"""What a worker does for the page that plans: the plan, or the plan with ends moved, drawn and told."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from pacewright.core.pace.walker import Walker
from pacewright.desk.models import Ground, KeptLog, KeptWalker
from pacewright.desk.notebook.ground_keeping import terrain_of
from pacewright.desk.walkers.keeping import walker_in
from pacewright.desk.workers.lending import lend_more

if TYPE_CHECKING:
    from pacewright.answers.plan import PlanAnswer
    from pacewright.answers.plan_daylight import PlanByDay
    from pacewright.drawing.plan_board import Board
    from pacewright.files.plan_land import StandingAfter

PLAN_MB: Final = 900
"""What a plan takes beyond other answers, where its inner loops are compiled for the first time."""
_SEED: Final = 1
_MAP_MM: Final = (180.0, 190.0)
_CHART_MM: Final = 100.0
"""So narrow that its letters are read on a phone; two stand side by side where there is room."""


@dataclass(frozen=True)
class Held:
    """What of the desk's own is asked with: the ground, who walks, the log that a plan goes on from, and
    lines and areas as GeoJSON."""

    ground: Ground
    walker: KeptWalker | None = None
    after: KeptLog | None = None
    features: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Worked:
    """A plan, and the same by the clock where that was asked."""

    answer: PlanAnswer
    by_day: PlanByDay | None


@dataclass(frozen=True)
class Wanted:
    """What is asked, as it was typed and read: its `repr` says all of it.

    Attributes
    ----------
    start, goal
        Places as typed; either may be empty.
    miss, steepest_deg, within_min
        In hundred, in degrees, in minutes.
    via, known
        Lines as typed.
    north, date
        Of the azimuths.
    leave
        When one sets out; None where that is not asked.
    ends
        Where legs end that were moved by hand; empty for a plan of the tool's own.
    """

    start: str
    goal: str
    miss: float
    steepest_deg: float
    within_min: float | None
    via: tuple[str, ...]
    known: tuple[str, ...]
    north: str
    date: str
    leave: datetime.datetime | None
    ends: tuple[tuple[float, float, bool], ...]


def plan_page(held: Held, wanted: Wanted) -> dict[str, Any]:
    """What the page shows: sentences, tables and drawings of a plan, or the land where places are missing.

    Raises
    ------
    Complaint
        A place or a line cannot be read, or lies where nobody goes.
    """
    from pacewright.drawing.plan_board import draw_land_board, draw_plan_board

    lend_more(PLAN_MB)
    if not ((wanted.start or held.after) and wanted.goal):
        drawing, board = draw_land_board(terrain_of(held.ground), _MAP_MM)
        return {"drawing": drawing, "board": _board(board), "handles": _given(held, wanted)}
    worked = _worked(held, wanted)
    answer = worked.answer
    if not answer.legs:
        drawing, board = draw_land_board(terrain_of(held.ground), _MAP_MM)
    else:
        drawing, board = draw_plan_board(answer, _MAP_MM)
    return {"drawing": drawing, "board": _board(board), "handles": _handles(answer), **_told(worked)}


def plan_sheet_pdf(held: Held, wanted: Wanted, paper_name: str, printed_on: str) -> bytes:
    """The sheets of a plan as a PDF.

    Raises
    ------
    Complaint
        There is no plan to print.
    """
    from pacewright.sheets.paper import PAPERS
    from pacewright.sheets.plan_sheets import plan_sheets
    from pacewright.sheets.typesetting import print_sheets

    lend_more(PLAN_MB)
    paper = PAPERS[paper_name]  # type: ignore[index]
    worked = _worked(held, wanted)
    sheets = plan_sheets(worked.answer, paper, worked.by_day)
    return print_sheets(sheets, paper, printed_on=printed_on).pdf


def plan_log_csv(held: Held, wanted: Wanted) -> bytes:
    """A plan as a travel log, which a walk is later set beside."""
    from pacewright.files.plan_files import write_plan_log

    lend_more(PLAN_MB)
    return write_plan_log(_worked(held, wanted).answer, wanted.date)


def _worked(held: Held, wanted: Wanted) -> Worked:
    import numpy as np

    from pacewright.answers.plan import answer_plan, prove_through
    from pacewright.answers.plan_daylight import plan_by_day
    from pacewright.answers.plan_question import Named, PlanAsked
    from pacewright.files.plan_features import features_kept
    from pacewright.files.plan_land import cut_map, onto_grid, open_north, place_on
    from pacewright.files.plan_typed import read_known

    terrain = terrain_of(held.ground)
    after = None if wanted.start or held.after is None else _standing(held.after)

    def on_grid(text: str) -> tuple[float, float]:
        return place_on(text, terrain.crs)[0]

    if after is None:
        name, (start_m, begin) = "start", place_on(wanted.start, terrain.crs)
    else:
        name, begin = after.name, after.position
        start_m = onto_grid(begin, terrain.crs)
    places = [(name, start_m), ("goal", on_grid(wanted.goal))]
    places += [(f"Via {k}", on_grid(text)) for k, text in enumerate(wanted.via, 1)]
    start, goal, *via = (Named(name, place) for name, place in places)
    ends_m = [(east, north) for east, north, _ in wanted.ends]
    drawn = [features_kept(text, terrain.crs) for text in held.features]
    land = cut_map(
        terrain, [place for _, place in places] + ends_m, *drawn, read_known(wanted.known, on_grid)
    )
    asked = PlanAsked(
        start=start, goal=goal, via=tuple(via), miss=wanted.miss / 100.0, most_min=wanted.within_min,
        north=open_north(wanted.north, begin, terrain.crs, wanted.date, None),  # type: ignore[arg-type]
        steepest_deg=wanted.steepest_deg, start_spread=None if after is None else after.spread,
        start_mistake=None if after is None else after.mistake,
    )  # fmt: skip
    rng = np.random.default_rng(_SEED)
    who = Walker() if held.walker is None else walker_in(held.walker)
    if wanted.ends:
        answer = prove_through(land, who, asked, wanted.ends, rng)
    else:
        answer = answer_plan(land, who, asked, rng)
    by_day = None
    if wanted.leave is not None and answer.legs:
        by_day = plan_by_day(answer, begin.latitude_deg, begin.longitude_deg, wanted.leave)
    return Worked(answer, by_day)


def _standing(kept: KeptLog) -> StandingAfter:
    from pacewright.desk.notebook.page_reading import estimate_of
    from pacewright.desk.notebook.reading import whole_reading
    from pacewright.files.plan_land import standing_of

    log, walker = whole_reading(kept)
    return standing_of(estimate_of(kept, log, walker))


def _told(worked: Worked) -> dict[str, Any]:
    from pacewright.drawing.plan_chart import draw_plans
    from pacewright.drawing.plan_map import draw_profile
    from pacewright.wording.planning import PLAN_CAUTION, others_table, plan_table, say_plan

    answer, by_day = worked.answer, worked.by_day
    said = [one for one in say_plan(answer, by_day) if one != PLAN_CAUTION]
    told: dict[str, Any] = {"said": said, "caution": PLAN_CAUTION, "by_hand": answer.by_hand}
    if not answer.legs:
        return told
    tables: Sequence[tuple[str, Any]] = (
        ("Leg card", plan_table(answer, by_day)),
        ("Plans side by side", others_table(answer)),
    )
    return {
        **told,
        "tables": tables,
        "chart": draw_plans(answer, _CHART_MM),
        "profile": draw_profile(answer, _CHART_MM),
    }


def _board(board: Board) -> dict[str, float]:
    return {
        "west_m": board.west_m, "north_m": board.north_m, "left_mm": board.left_mm, "top_mm": board.top_mm,
        "mm_per_m": board.mm_per_m, "right_mm": board.right_mm, "foot_mm": board.foot_mm,
    }  # fmt: skip


def _given(held: Held, wanted: Wanted) -> list[dict[str, Any]]:
    """The places that are set already."""
    from pacewright.files.plan_land import onto_grid, place_on

    crs = terrain_of(held.ground).crs
    given = [
        _handle(role, f"{role}", place_on(text, crs)[0])
        for role, text in (("start", wanted.start), ("goal", wanted.goal))
        if text
    ]
    if held.after is not None and not wanted.start:
        after = _standing(held.after)
        given.insert(0, _handle("start", after.name, onto_grid(after.position, crs)))
    return given


def _handles(answer: PlanAnswer) -> list[dict[str, Any]]:
    """What can be moved: the start, and the end of every leg; the last is the goal."""
    asked = answer.asked
    handles = [_handle("start", asked.start.name, asked.start.place_m)]
    for number, one in enumerate(answer.legs, 1):
        leg = one.told.leg
        is_last = number == len(answer.legs)
        name = (
            asked.goal.name
            if is_last
            else f"end of leg {number}, {one.told.sight or one.told.end_kind or 'count'}"
        )
        place = asked.goal.place_m if is_last else leg.to_m
        handles.append({**_handle("goal" if is_last else "end", name, place), "along": leg.follows})
    if not answer.legs:
        handles.append(_handle("goal", asked.goal.name, asked.goal.place_m))
    return handles


def _handle(role: str, name: str, place: tuple[float, float]) -> dict[str, Any]:
    east, north = (round(float(part), 1) for part in place)
    assert math.isfinite(east) and math.isfinite(north)
    return {"role": role, "name": name, "east": east, "north": north, "along": False}
