"""A pace course at the desk: passes handed in join the learner's pace trials and make their pace count."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django.db import transaction

from pacewright.core.pace.pace_trials import CountUnit, PaceRun
from pacewright.course.pace_line import LinePasses, fit_passes, line_runs, ordinary_label
from pacewright.desk.classes.courses import course_of
from pacewright.desk.classes.entries import written_log
from pacewright.desk.classes.grading import handed_of, read_entry
from pacewright.desk.classes.handing_in import hand_in, open_again
from pacewright.desk.models import Entry, Exercise, KeptLog
from pacewright.desk.walkers.keeping import change_walker, named_walker, walker_in
from pacewright.desk.walkers.trial_table import TrialRow, calibrate, csv_of, kept_table
from pacewright.exceptions import Complaint


def hand_in_counted(entry: Entry) -> str:
    """Hand in an entry; of a pace course its passes go to the learner's walker, and are said to.

    Raises
    ------
    Complaint
        The passes make no pace count: then nothing is handed in.
    """
    if entry.exercise.course.kind != "pace" or entry.handed_at is not None:
        hand_in(entry)
        return ""
    with transaction.atomic():
        told = _take_passes(entry)
        entry.refresh_from_db()
        hand_in(entry)
    return told


def open_counted(entry: Entry) -> None:
    """Open an entry again; passes that it gave to the learner's walker are taken out of it."""
    with transaction.atomic():
        if entry.exercise.course.kind == "pace" and entry.handed_at is not None:
            _give_back(entry)
        open_again(entry)


def _take_passes(entry: Entry) -> str:
    from pacewright.files.walker_toml import write_walker
    from pacewright.wording.pace_line import say_own_count

    runs = line_runs(
        read_entry(entry, course_of(entry.exercise.course)).handed, course_of(entry.exercise.course)
    )
    log = written_log(entry)
    kept = log.walker or entry.member.walkers.first() or named_walker(entry.member, entry.member.name)
    table = kept_table(kept.trials_csv, 0)
    new = replace(table, rows=(*table.typed, *(TrialRow(_cells(run, table.unit)) for run in runs)))
    label = "" if new.ordinary or table.typed else ordinary_label(runs)
    new = replace(new, ordinary=new.ordinary or label)
    found = calibrate(new, walker_in(kept))
    change_walker(
        kept.pk,
        f"pace course walked: {entry.exercise.title}",
        toml=write_walker(found.walker).decode("utf-8"),
        trials_csv=csv_of(new).decode("utf-8"),
    )
    KeptLog.objects.filter(pk=log.pk).update(walker=kept)
    return say_own_count(LinePasses(entry.member.name, runs, found))


def _give_back(entry: Entry) -> None:
    """Take the passes of an entry, each once, out of its walker's trials."""
    from pacewright.files.walker_toml import write_walker

    course = course_of(entry.exercise.course)
    kept = None if entry.log is None else entry.log.walker
    if kept is None:
        return
    try:
        table = kept_table(kept.trials_csv, 0)
        gone = [_cells(run, table.unit) for run in line_runs(read_entry(entry, course).handed, course)]
    except Complaint:
        return
    rows = list(table.typed)
    for cells in gone:
        at = next((k for k in reversed(range(len(rows))) if rows[k].cells == cells), None)
        if at is not None:
            del rows[at]
    left = replace(table, rows=tuple(rows))
    before = walker_in(kept)
    walker = calibrate(left, before).walker if rows else replace(before, per_100_m=None, classes=())
    change_walker(
        kept.pk,
        f"pace course opened again: {entry.exercise.title}",
        toml=write_walker(walker).decode("utf-8"),
        trials_csv=csv_of(left).decode("utf-8") if rows else "",
    )


def _cells(run: PaceRun, unit: CountUnit) -> tuple[str, ...]:
    count = run.count * 2 if unit == "steps" else run.count
    return (run.ground, str(run.slope), "", f"{run.distance_m:g}", f"{count:g}")


def pace_found(exercise: Exercise) -> dict[str, Any]:
    """What a class counted on a pace course: sentences a learner, a table, and what makes no count."""
    from pacewright.wording.pace_line import say_passes
    from pacewright.wording.pacing import pace_table_rows

    course = course_of(exercise.course)
    walks: list[tuple[Entry, str, list[str]]] = []
    rows: list[tuple[str, ...]] = []
    header: tuple[str, ...] = ()
    for one in handed_of(exercise):
        try:
            (found,) = fit_passes([one.handed], course)
        except Complaint as complaint:
            walks.append((one.entry, one.handed.learner, [complaint.sentence]))
            continue
        heads, own = pace_table_rows(found.calibrated.table)
        header = ("learner", *heads)
        rows += [(found.learner, *row) for row in own]
        walks.append((one.entry, found.learner, [*say_passes(found), *one.doubts]))
    return {"table": (header, rows), "walks": walks}
