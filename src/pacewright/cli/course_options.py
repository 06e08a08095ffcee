"""Options that the commands of a course share, and opening and keeping a course."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pacewright.cli.options import json_option, out_options
from pacewright.cli.output import Answer, Table, say, write_out

if TYPE_CHECKING:
    from pacewright.course.course import Course

F = TypeVar("F", bound=Callable[..., Any])

REFERENCES = click.Choice(["magnetic", "true", "grid"])


def setting_options(function: F) -> F:
    """Take what every way to set a course takes."""
    for decorate in (
        json_option,
        out_options("the course (TOML; default: course.toml)"),
        click.option("--title", default=None, help="For the sheets."),
        click.option(
            "--azimuths",
            "reference",
            type=REFERENCES,
            default="magnetic",
            show_default=True,
            help="Their north.",
        ),
        click.option("--learners", type=click.IntRange(1, 1000), required=True, help="One card each."),
    ):
        function = decorate(function)
    return function


def keep_course(course: Course, *, out: str | None, force: bool, as_json: bool) -> int:
    """Write a course that was set, and say what setting found."""
    from pacewright.files.course_json import course_keys
    from pacewright.files.course_toml import write_course
    from pacewright.wording.course_cards import BEFORE_USE, say_fact, say_set

    target = out or "course.toml"
    if target == "-" and as_json:
        raise click.UsageError("--out - and --json both want standard output; give --out a file name.")
    write_out(target, write_course(course), force)
    if target == "-":
        return 0
    facts = Table(("found", ""), [say_fact(fact) for fact in course.facts])
    answer = Answer({"course": target, **course_keys(course)}, [say_set(course, target), BEFORE_USE], [facts])
    say(answer, as_json)
    return 0


def open_course(path: str) -> Course:
    """Read a course, its complaints carrying the file's name."""
    from pacewright.files.course_toml import read_course
    from pacewright.files.disk import read_bytes

    return read_course(read_bytes(path), path)
