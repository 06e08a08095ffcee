"""pacewright course grade: what a class handed in, marked and explained, and what each should practise."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, Any

import click

from pacewright.cli.angles import angle_option
from pacewright.cli.course_options import FLAT_PAPERS, open_course, print_course_sheet
from pacewright.cli.options import json_option, note, open_log, open_walker, out_options
from pacewright.cli.output import Answer, Table, say, write_out
from pacewright.cli.renamed import NewName

if TYPE_CHECKING:
    from pacewright.core.pace.walker import Walker
    from pacewright.course.class_report import ClassReport
    from pacewright.course.course import Course
    from pacewright.course.marking import MarkingRule
    from pacewright.files.handed_csv import ClassTable


@click.command("grade", short_help="Marks, what explains each miss, what to practise.")
@click.argument("course_file", metavar="COURSE.toml")
@click.argument("handed_files", nargs=-1, required=True, metavar="HANDED.csv...")
@click.option(
    "--marking",
    "--rule",
    "rule_name",
    cls=NewName,
    metavar="NAME",
    help="A ready rule: 'ordinary scatter', 'points found', 'three of four in three hours', 'nearest stake', "
    "'miss in per cent', 'length over error' (default: the first; among posts, points found).",
)
@click.option("--rule-file", metavar="FILE", help="A rule of your own (TOML; see --write-rule).")
@click.option("--write-rule", metavar="FILE", help="Write the rule that was used, to be edited.")
@click.option("--target", metavar="FILE", help="Draw where the class ended (.svg, .png or .pdf).")
@click.option("--habits", metavar="FILE", help="Draw compass bias and pace of the class.")
@click.option("--debriefs", metavar="FILE", help="Print a debrief for every learner (PDF).")
@click.option("--class-sheet", metavar="FILE", help="Print the class as a table (PDF).")
@click.option(
    "--paper", "paper_name", type=FLAT_PAPERS, default="a4", show_default=True, help="For both of these."
)
@click.option(
    "--walkers", metavar="FOLDER", help="Of a pace course: write each learner's walker file into FOLDER."
)
@out_options("the table of the class (CSV)")
@angle_option
@json_option
def command(
    course_file: str,
    handed_files: tuple[str, ...],
    rule_name: str | None,
    rule_file: str | None,
    write_rule: str | None,
    target: str | None,
    habits: str | None,
    debriefs: str | None,
    class_sheet: str | None,
    paper_name: Any,
    walkers: str | None,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Grade what a class handed in, and say for each learner what to practise.

    HANDED.csv has the columns learner and card, and may have log and walker (files, named from its own
    folder), finished_at, east_m and north_m or along_m and off_m (taped from there), minutes, pace_count
    and words ("Post = WORD; Post = WORD"). Several files are several days on the same course. A pace course
    gives no marks: from the log, or the column counts ("62 64 63"), comes each learner's pace count.
    """
    from pacewright.course.class_report import class_report
    from pacewright.course.learner_model import fit_class
    from pacewright.files.csv_table import write_table
    from pacewright.files.grade_json import report_keys
    from pacewright.wording.class_table import report_table, say_left_out
    from pacewright.wording.teaching import CAUTION, say_class, say_grade, say_learner, say_rule
    from pacewright.wording.walk import say_questions

    if rule_name is not None and rule_file is not None:
        raise click.UsageError("--marking and --rule-file are two ways to name the rule: give one.")
    course = open_course(course_file)
    rule = _rule(rule_name, rule_file, course.kind)
    # Learners may share a walker file: what it makes one ask is said once.
    open_once = cache(open_walker)
    tables = [_handed(file, course, open_once) for file in handed_files]
    handed = [one for table in tables for one in table.handed]
    nothing = [name for table in tables for name in table.nothing]
    refused = [complaint for table in tables for complaint in table.refused]
    if refused and not handed:
        raise refused[0]
    if course.kind == "pace":
        from pacewright.cli.course_pace import say_pace_counts

        return say_pace_counts(
            course, handed, nothing, refused, walkers=walkers, force=force, as_json=as_json
        )
    if walkers is not None:
        raise click.UsageError("--walkers is for a pace course: no other gives a pace count.")
    for walk in handed:
        if walk.log is not None:
            note(walk.learner, say_questions(walk.log, walk.walker))
    report = class_report(fit_class(handed, course, rule))
    if write_rule is not None:
        _write_rule(rule, write_rule, force)
    _draw(report, target, habits, force)
    _print(course, report, debriefs, class_sheet, paper_name, force)
    heading, rows = report_table(report)
    if out is not None:
        write_out(out, write_table(heading, rows), force)
    by_learner = {one.learner: one for one in report.fit.learners}
    sentences = [*say_left_out(nothing, refused), say_rule(rule), *say_class(report.fit)]
    for row in report.rows:
        sentences += ["", f"{row.learner}:"]
        for one in report.fit.grades:
            if one.handed.learner == row.learner:
                sentences += [f"Card {one.handed.card}. {' '.join(say_grade(one))}"]
        sentences.append(say_learner(by_learner[row.learner]))
    keys = {"course": course.title, "rule": rule.name, **report_keys(report, say_grade, say_learner)}
    keys |= {"nothing": nothing, "refused": [str(complaint) for complaint in refused]}
    say(Answer(keys, [*sentences, "", CAUTION], [Table(heading, rows)]), as_json)
    return 1 if refused else 0


def _print(
    course: Course,
    report: ClassReport,
    debriefs: str | None,
    class_sheet: str | None,
    paper_name: Any,
    force: bool,
) -> None:
    if debriefs is None and class_sheet is None:
        return
    from pacewright.sheets.class_sheets import class_table_sheet, debrief_slips
    from pacewright.sheets.paper import PAPERS

    paper = PAPERS[paper_name]
    for path, make in ((debriefs, debrief_slips), (class_sheet, class_table_sheet)):
        if path is not None:
            print_course_sheet(make(course, report, paper), paper, path, force)


def _rule(name: str | None, file: str | None, kind: str) -> MarkingRule:
    from pacewright.course.marking import ready_rule, usual_rule
    from pacewright.files.disk import read_bytes
    from pacewright.files.marking_toml import read_rule

    if file is not None:
        return read_rule(read_bytes(file), file)
    return usual_rule(kind) if name is None else ready_rule(name)


def _handed(file: str, course: Course, open_once: Callable[[str], Walker]) -> ClassTable:
    from pacewright.files.disk import read_bytes
    from pacewright.files.handed_csv import beside, read_class

    folder = Path(file).parent if file != "-" else Path()
    return read_class(
        read_bytes(file),
        file,
        course=course,
        open_log=lambda name: open_log(beside(folder, name)),
        open_walker=lambda name: open_once(beside(folder, name)),
    )


def _write_rule(rule: MarkingRule, path: str, force: bool) -> None:
    from pacewright.files.marking_toml import write_rule

    write_out(path, write_rule(rule), force)


def _draw(report: ClassReport, target: str | None, habits: str | None, force: bool) -> None:
    from pacewright.drawing.class_charts import draw_habits, draw_target
    from pacewright.drawing.render import render

    for path, draw in ((target, draw_target), (habits, draw_habits)):
        if path is not None:
            write_out(path, render(draw(report), PurePath(path).suffix), force)
