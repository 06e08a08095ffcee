"""A class as a table: who, how far off, the mark, the slips, the place."""

from __future__ import annotations

from collections.abc import Sequence

from pacewright.course.class_report import ClassReport, ReportRow, why_nothing
from pacewright.course.skill import Rank
from pacewright.exceptions import Complaint
from pacewright.wording.findings import Rows
from pacewright.wording.numbers import say_whole


def _practise_of(report: ClassReport, row: ReportRow) -> str:
    """Say in a word what to practise; where nothing stands out, why: as the learner's sentence does."""
    learner = report.fit.learner(row.learner)
    if row.practise != "nothing" or learner is None:
        return row.practise
    return why_nothing(learner)


def report_table(report: ClassReport) -> Rows:
    """The class as a table: who, how far off, the mark, the slips, the place."""
    header = ("place", "learner", "walks", "usual miss, a km", "times ordinary", "mark", "slips", "practise")
    rows: list[tuple[str, ...]] = []
    for row in report.rows:
        # Of one whose end nobody knows nothing is told: a place in the class would be made up.
        is_seen = row.multiple is not None or row.mark is not None
        learner = report.fit.learner(row.learner) if is_seen else None
        place = _place_of(row.rank) if row.mark is not None else ""
        rows.append(
            (
                place,
                row.learner,
                str(row.walks),
                ""
                if learner is None
                else f"{say_whole(learner.skill.miss_m)} m ({say_whole(learner.skill.low_m)}-{say_whole(learner.skill.high_m)})",
                "" if row.multiple is None else f"{row.multiple:.1f}",
                _mark_of(row.mark, row.mark_low, row.mark_high),
                f"{row.slips:.1f}" if row.slips >= 0.05 else "",
                _practise_of(report, row),
            )
        )
    return header, rows


def _place_of(rank: Rank) -> str:
    return str(rank.place) if rank.low == rank.high else f"{rank.place} ({rank.low}-{rank.high})"


def _mark_of(mark: float | None, low: float | None, high: float | None) -> str:
    if mark is None:
        return ""
    said = f"{mark:.4g}"
    if low is None or high is None or f"{low:.3g}" == f"{high:.3g}" == said:
        return said
    return f"{said} ({low:.3g}-{high:.3g})"


def say_left_out(nothing: Sequence[str], refused: Sequence[Complaint]) -> list[str]:
    """Say who handed in nothing, and every row that was left out, all at once."""
    said = [f"Handed in nothing: {', '.join(nothing)}."] if nothing else []
    return [*said, *(f"Left out: {complaint}" for complaint in refused)]
