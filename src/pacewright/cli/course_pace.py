"""What a class counted on a pace course: each learner's pace count, and their walker files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pacewright.cli.output import Answer, Table, say, write_out

if TYPE_CHECKING:
    from pacewright.course.course import Course
    from pacewright.course.finish import Handed
    from pacewright.course.pace_line import LinePasses
    from pacewright.exceptions import Complaint


def say_pace_counts(
    course: Course,
    handed: Sequence[Handed],
    nothing: list[str],
    refused: list[Complaint],
    *,
    walkers: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Say each learner's pace count, and write a walker file for each where a folder is given.

    One whose counts make none does not stop the others.
    """
    from pacewright.course.pace_line import fit_passes
    from pacewright.exceptions import Complaint
    from pacewright.wording.class_table import say_left_out
    from pacewright.wording.pace_line import say_passes
    from pacewright.wording.pacing import pace_table_rows

    found: list[LinePasses] = []
    for name in dict.fromkeys(one.learner for one in handed):
        try:
            found += fit_passes([one for one in handed if one.learner == name], course)
        except Complaint as complaint:
            refused = [*refused, complaint]
    if refused and not found:
        raise refused[0]
    files = _write(found, walkers, force) if walkers is not None else {}
    sentences = say_left_out(nothing, refused)
    rows: list[tuple[str, ...]] = []
    for one in found:
        heading, own = pace_table_rows(one.calibrated.table)
        rows += [(one.learner, *row) for row in own]
        sentences += ["", *say_passes(one)]
    sentences += [f"Written: {file}" for file in files.values()]
    data = {
        "course": course.title,
        "learners": [_keys(one, files.get(one.learner)) for one in found],
        "nothing": nothing,
        "refused": [str(complaint) for complaint in refused],
    }
    say(Answer(data, sentences, [Table(("learner", *heading), rows)]), as_json)
    return 1 if refused else 0


def _write(found: Sequence[LinePasses], folder: str, force: bool) -> dict[str, str]:
    from pacewright.core.plain_text import slug
    from pacewright.files.walker_toml import write_walker

    Path(folder).mkdir(parents=True, exist_ok=True)
    files: dict[str, str] = {}
    for one in found:
        stem = slug(one.learner, "learner")
        taken = [path.casefold() for path in files.values()]
        path = str(Path(folder) / f"{stem}.toml")
        if path.casefold() in taken:
            path = str(Path(folder) / f"{stem}-{len(taken) + 1}.toml")
        write_out(path, write_walker(one.calibrated.walker), force)
        files[one.learner] = path
    return files


def _keys(one: LinePasses, file: str | None) -> dict[str, Any]:
    from pacewright.core.pace.pace_table import PIN_PCT
    from pacewright.files.asked_json import calibration_keys

    found = one.calibrated
    keys = calibration_keys(found.table, found.ordinary, found.walker, PIN_PCT)
    return {"learner": one.learner, "file": file, **keys}
