"""The debrief sheet: the walk as walked, how it closes, what may be wrong in it, and the way back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from pacewright.answers.closing import adjust_log, search_of
from pacewright.answers.estimate import Estimate
from pacewright.answers.plan_kept import plan_kept
from pacewright.answers.way import WayAsked, answer_way
from pacewright.core.adjust.adjustment import Adjustment
from pacewright.core.log.travel_log import TravelLog
from pacewright.exceptions import Complaint, NoAnswerComplaint
from pacewright.sheets.blocks import Block, Column, caution, heading, keep, lines, ruled, table, text, texts
from pacewright.sheets.debrief_figure import adjusted_figure, suspects_figure
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.adjustment import adjusted_station_table, say_adjustment
from pacewright.wording.check_answer import CheckAnswer, ClosuresOnly, answer_check, answer_closures
from pacewright.wording.estimate import say_condemned
from pacewright.wording.findings import CAUTION
from pacewright.wording.plan_kept import plan_kept_table, say_plan_kept
from pacewright.wording.sheets import PAPER_CAUTION
from pacewright.wording.suspects import say_suspect
from pacewright.wording.walk import say_not_possible, say_reckoning, say_way_back, say_what_is_left_out
from pacewright.wording.way_answer import say_doubt

_MOST_ROWS_KEPT: Final = 14
"""A table of no more rows than this stays on one page."""
_SAID_OF_PLACE: Final = 3
"""Sentences on where the walk ended; what frame that is in, its table says."""


@dataclass(frozen=True, slots=True, eq=False)
class Debrief:
    """What is told of a walk after it.

    Attributes
    ----------
    estimate
        Where the log stands: the same as behind every other answer.
    adjustment
        What least squares makes of it, its places as walked among that.
    closures
        How it closes.
    check
        What the search for a mistake says; None where the log is too long to be searched.
    unsearched
        Why it was not searched.
    """

    estimate: Estimate
    adjustment: Adjustment
    closures: ClosuresOnly
    check: CheckAnswer | None
    unsearched: Complaint | None = None

    @property
    def log(self) -> TravelLog:
        """The log."""
        return self.estimate.log


def debrief_of(estimate: Estimate) -> Debrief:
    """What is told of a walk after it: closures, suspects, the adjusted stations."""
    log, walker, known = estimate.log, estimate.walker, estimate.known
    said = known.said
    adjustment = adjust_log(estimate)
    closures = answer_closures(log, walker, known.frame, known.placed, said)
    try:
        check = answer_check(search_of(estimate), said)
    except NoAnswerComplaint as complaint:
        return Debrief(estimate, adjustment, closures, None, complaint)
    return Debrief(estimate, adjustment, closures, check)


def debrief_sheet(
    told: Debrief, paper: Paper, probability: float = 0.95, plan: TravelLog | None = None
) -> Sheet:
    """The debrief sheet of a walk.

    Parameters
    ----------
    told
        What is told of it.
    paper
        What it is printed on.
    probability
        Share of walks that a stated region holds.
    plan
        The legs as planned, shown beside those walked; None where there was no plan.

    Raises
    ------
    MissingComplaint
        The plan's rows do not pair with the log's.
    """
    log = told.log
    walked = say_reckoning(log, told.estimate.stations("walker"), probability)[:_SAID_OF_PLACE]
    blocks: list[Block] = [
        *texts(walked),
        *map(caution, say_condemned(told.estimate)),
        _figure(told, paper, probability),
        heading("How it closes"),
        *texts(told.closures.said),
        *_search(told, paper),
        *_against_plan(told, plan, paper),
        *_way_back(told, probability),
        *_adjusted(told, paper, probability),
    ]
    return sheet(f"Debrief: {log.heading.title or 'Travel log'}", blocks)


def _figure(told: Debrief, paper: Paper, probability: float) -> Block:
    if told.check is not None and told.check.is_shown:
        return suspects_figure(told.check.findings, told.closures.closures, told.check.islands, paper)
    return adjusted_figure(told.log, told.adjustment, probability, paper)


def _search(told: Debrief, paper: Paper) -> list[Block]:
    check = told.check
    if check is None:
        why = [] if told.unsearched is None else say_not_possible("search", told.unsearched)
        return [heading("What may be wrong in it"), *texts(why), caution(CAUTION)]
    return [
        heading("What may be wrong in it"),
        *texts(check.found),
        *_suspects(told.log, check, paper),
        *texts(check.said_search[len(check.found) :]),
        *texts(check.said_rest, size_em=0.9),
        *_corrected(check),
        caution(CAUTION),
    ]


def _against_plan(told: Debrief, plan: TravelLog | None, paper: Paper) -> list[Block]:
    if plan is None:
        return []
    kept = plan_kept(told.log, plan, told.estimate.walker, told.estimate.known.frame)
    heads, rows = plan_kept_table(kept)
    shown = [0, 1, 2, 3, 4, 6] if paper.is_narrow else range(len(heads))
    columns = [Column(heads[i], align="right", bold=heads[i] == "beyond scatter") for i in shown]
    beside = table(columns, [[row[i] for i in shown] for row in rows], heavy_every=5, pad_mm=0.7)
    return [heading("The walk beside its plan"), *texts(say_plan_kept(kept)), beside]


def _suspects(log: TravelLog, check: CheckAnswer, paper: Paper) -> list[Block]:
    if check.table is None:
        return []
    heads, rows = check.table
    if not paper.is_narrow:
        shares = (0.35, 0.75, 0.9, 1.0, 1.3, 2.4)
        columns = [
            Column(head, share, bold=head == "chance") for head, share in zip(heads, shares, strict=True)
        ]
        return [table(columns, rows)]
    # Narrow columns would break every number: the sentence of a suspect says all of it.
    said = [say_suspect(suspect, log) for suspect in check.findings.suspects[: len(rows)]]
    columns = [Column("no.", mm=6.5), Column("chance", mm=15.0, bold=True), Column("what may have been")]
    return [table(columns, [(*row[:2], one) for row, one in zip(rows, said, strict=True)])]


def _corrected(check: CheckAnswer) -> list[Block]:
    """What was read at stations that pull the compass, as read and as corrected."""
    if check.corrected_readings is None:
        return []
    heads, rows = check.corrected_readings
    return [keep([table([Column(head) for head in heads], rows)])]


def _adjusted(told: Debrief, paper: Paper, probability: float) -> list[Block]:
    adjustment = told.adjustment
    heads, rows = adjusted_station_table(adjustment, probability)
    shown = range(5) if paper.is_card else range(len(heads))
    columns = [
        Column(
            "no." if head == "station" else head,
            {"station": 0.6, "name": 2.2}.get(head, 1.0),
            align="left" if head == "name" else "right",
            bold=head in ("east", "north"),
        )
        for head in (heads[i] for i in shown)
    ]
    stations = table(columns, [[row[i] for i in shown] for row in rows], heavy_every=5, pad_mm=0.7)
    said = [*say_adjustment(told.log, adjustment, probability), *say_what_is_left_out(adjustment.reckoning)]
    stand = "as written" if adjustment.is_as_written else "adjusted"
    parts: list[Block] = [
        heading(f"The stations, {stand}"),
        *texts(said, size_em=0.95),
        stations,
    ]
    # The lines for the pencil never make a page of their own.
    asked = "To do otherwise next time:"
    lesson = [text(asked, size_em=0.9), lines(3, 7.0)]
    if paper.is_card:
        return [*parts, keep(lesson)]
    return [*parts, ruled(asked, 7.0)] if len(rows) > _MOST_ROWS_KEPT else [keep([*parts, *lesson])]


def _way_back(told: Debrief, probability: float) -> list[Block]:
    log = told.log
    warned: list[str] = []
    try:
        found = answer_way(told.estimate, WayAsked(len(log.legs), probability=probability))
        warned, said = list(say_doubt(found)), say_way_back(log, found.way, found.turn)
    except Complaint as complaint:
        said = say_not_possible("way back", complaint)
    return [keep([heading("The way back"), *map(caution, warned), *texts(said), caution(PAPER_CAUTION)])]
