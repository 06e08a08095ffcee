"""Options that the commands of a course share, and opening and keeping a course."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pacewright.cli.measures import AZIMUTH, METRES, NUMBER
from pacewright.cli.options import json_option, out_options
from pacewright.cli.output import Answer, Table, say, write_out

if TYPE_CHECKING:
    from pacewright.course.course import Course
    from pacewright.course.safety import Safety, Timing
    from pacewright.sheets.paper import Paper, Sheet

F = TypeVar("F", bound=Callable[..., Any])

FLAT_PAPERS = click.Choice(["a4", "letter", "a5"])
REFERENCES = click.Choice(["magnetic", "true", "grid"])


_SAFETY = (
    click.option("--backstop", default="", metavar="NAME", help="Where whoever is lost walks to."),
    click.option(
        "--backstop-azimuth",
        type=AZIMUTH,
        default=None,
        help="Azimuth that leads to the backstop from anywhere.",
    ),
    click.option(
        "--backstop-within-m", type=METRES, default=None, help="How far off the backstop is at most."
    ),
    click.option("--back-by", default="", metavar="HH:MM", help="Time by which everybody is to be back."),
    click.option("--recall", default="", metavar="SIGNAL", help="Signal that calls everybody in."),
    click.option("--call", default="", metavar="NUMBER", help="Telephone number to call in trouble."),
)
_TIMING = (
    click.option(
        "--metres-per-hour",
        type=NUMBER,
        default=3000.0,
        show_default=True,
        help="Walking speed, in metres an hour.",
    ),
    click.option("--at-post-min", type=int, default=3, show_default=True, help="Minutes at each post."),
    click.option(
        "--search-min",
        type=NUMBER,
        default=20.0,
        show_default=True,
        help="Minutes to search and rest on each card.",
    ),
)
SAFETY_NAMES = ("backstop", "backstop_azimuth", "backstop_within_m", "back_by", "recall", "call")
TIMING_NAMES = ("metres_per_hour", "at_post_min", "search_min")


def asked_safety(more: dict[str, Any]) -> Safety:
    """Take the options of the strip out of what a command was given."""
    from pacewright.course.safety import Safety

    given = {name: more.pop(name) for name in SAFETY_NAMES}
    return Safety(backstop_azimuth_deg=given.pop("backstop_azimuth"), **given)


def asked_timing(more: dict[str, Any]) -> Timing:
    """Take the options of the expected return out of what a command was given."""
    from pacewright.course.safety import Timing

    return Timing(**{name: float(more.pop(name)) for name in TIMING_NAMES})


def with_outing(course: Course, more: dict[str, Any]) -> Course:
    """A course with its strip and what its returns are reckoned with."""
    from dataclasses import replace

    return replace(course, safety=asked_safety(more), timing=asked_timing(more))


def setting_options(function: F) -> F:
    """Take what every way to set a course takes."""
    for decorate in (
        *reversed(_SAFETY + _TIMING),
        json_option,
        out_options("the course (TOML)", default="course.toml"),
        click.option("--title", default=None, help="Title of the course, for its sheets."),
        click.option(
            "--azimuths",
            "reference",
            type=REFERENCES,
            default="magnetic",
            show_default=True,
            help="North of the azimuths on the cards.",
        ),
        click.option(
            "--learners",
            type=click.IntRange(1, 1000),
            required=True,
            help="How many learners; each has a card.",
        ),
    ):
        function = decorate(function)
    return function


def keep_course(course: Course, *, out: str | None, force: bool, as_json: bool) -> int:
    """Write a course that was set, and say what setting found."""
    from dataclasses import asdict

    from pacewright.course.what_it_shows import what_it_shows
    from pacewright.files.course_json import course_keys
    from pacewright.files.course_toml import write_course
    from pacewright.wording.course_cards import BEFORE_USE, say_fact, say_set
    from pacewright.wording.what_it_shows import say_shows, shows_table

    target = out or "course.toml"
    if target == "-" and as_json:
        raise click.UsageError("--out - and --json both want standard output; give --out a file name.")
    write_out(target, write_course(course), force)
    if target == "-":
        return 0
    facts = Table(("found", ""), [say_fact(fact) for fact in course.facts])
    shows = what_it_shows(course)
    keys = {"course": target, **course_keys(course), "shows": [asdict(one) for one in shows]}
    sentences = [say_set(course, target), *say_shows(shows), BEFORE_USE]
    say(Answer(keys, sentences, [facts, Table(*shows_table(shows))]), as_json)
    return 0


def open_course(path: str) -> Course:
    """Read a course, its complaints carrying the file's name."""
    from pacewright.files.course_toml import read_course
    from pacewright.files.disk import read_bytes

    return read_course(read_bytes(path), path)


def print_course_sheet(made: Sheet | Sequence[Sheet], paper: Paper, path: str, force: bool) -> None:
    """Print a sheet of a course, or its cards, as a PDF."""
    from pacewright.exceptions import OutputComplaint, Where
    from pacewright.sheets.paper import Sheet
    from pacewright.sheets.typesetting import typeset

    if path != "-" and not path.lower().endswith(".pdf"):
        raise OutputComplaint("a sheet is a PDF", "End the file name in .pdf", Where(path))
    sheets = [made] if isinstance(made, Sheet) else made
    write_out(path, typeset(sheets, paper, printed_on=datetime.date.today().isoformat()), force)
