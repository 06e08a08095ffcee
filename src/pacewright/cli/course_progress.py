"""pacewright course progress: one learner over weeks, like courses beside like ones."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pacewright.cli.angles import angle_option
from pacewright.cli.course_options import FLAT_PAPERS, open_course, print_course_sheet
from pacewright.cli.options import json_option, open_log, open_walker, out_options
from pacewright.cli.output import Answer, Table, say

if TYPE_CHECKING:
    from pacewright.course.progress import Day


@click.command("progress", short_help="One learner over weeks, by date.")
@click.argument("learner")
@click.option(
    "--day",
    "days",
    type=(str, str, str),
    multiple=True,
    required=True,
    metavar="DATE COURSE HANDED",
    help="A day: its date, its course (TOML) and what the class handed in (CSV); may be repeated.",
)
@click.option("--paper", "paper_name", type=FLAT_PAPERS, default="a4", show_default=True, help="Paper.")
@out_options("the sheet (PDF)")
@angle_option
@json_option
def command(
    learner: str,
    days: tuple[tuple[str, str, str], ...],
    paper_name: Any,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Say how one learner's compass, pace, scatter and slips went from day to day, with their intervals.

    Courses of one kind stand together; nothing is averaged over unlike ones.
    """
    from dataclasses import asdict

    from pacewright.course.progress import find_progress
    from pacewright.exceptions import MissingComplaint
    from pacewright.sheets.paper import PAPERS
    from pacewright.sheets.progress_sheet import progress_sheet
    from pacewright.wording.progress import LEANS, UNLIKE, day_tables, say_progress

    found = [one for one in (_day(*day, learner) for day in sorted(days)) if one is not None]
    if not found:
        raise MissingComplaint(
            f"nothing of {learner} was handed in on these days", "Write the name as in the tables"
        )
    changes = find_progress(found)
    if out is not None:
        paper = PAPERS[paper_name]
        print_course_sheet(progress_sheet(learner, found, paper), paper, out, force)
    keys = {
        "learner": learner,
        "days": [asdict(day) for day in found],
        "changes": [
            {
                "kind": one.kind,
                "figure": one.figure,
                "first": one.first.date,
                "last": one.last.date,
                "change": one.change,
            }
            for one in changes
        ],
    }
    said = say_progress(changes) or [f"{learner}: one day of a kind tells no change."]
    tables = [Table(*rows) for _, rows in day_tables(found)]
    say(Answer(keys, [*said, LEANS, UNLIKE], tables), as_json)
    return 0


def _day(date: str, course_file: str, handed_file: str, learner: str) -> Day | None:
    from pacewright.course.learner_model import fit_class
    from pacewright.course.marking import usual_rule
    from pacewright.course.pace_line import fit_passes
    from pacewright.course.progress import Day, day_of
    from pacewright.files.disk import read_bytes
    from pacewright.files.handed_csv import beside, read_class

    course, folder = open_course(course_file), Path(handed_file).parent
    table = read_class(
        read_bytes(handed_file),
        handed_file,
        course=course,
        open_log=lambda name: open_log(beside(folder, name)),
        open_walker=lambda name: open_walker(beside(folder, name)),
    )
    if course.kind == "pace":
        own = [one for one in table.handed if one.learner == learner]
        if not own:
            return None
        (passes,) = fit_passes(own, course)
        return Day(date, course.title, "pace", None, pace=passes.calibrated.ordinary)
    if not table.handed:
        return None
    return day_of(date, course, fit_class(table.handed, course, usual_rule(course.kind)), learner)
