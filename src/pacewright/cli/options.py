"""Options that several commands share, and opening what they name."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pacewright.cli import completing
from pacewright.cli.measures import Number
from pacewright.cli.output import DETAIL
from pacewright.cli.renamed import NewName
from pacewright.exceptions import Complaint

if TYPE_CHECKING:
    from pacewright.core.compass import AzimuthUnit
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker

F = TypeVar("F", bound=Callable[..., Any])


def log_files(command: F) -> F:
    """Take one or more travel logs; `-` is standard input."""
    return click.argument("files", nargs=-1, required=True, metavar="FILE...", type=click.Path())(command)


def walker_option(command: F) -> F:
    """Take a walker file."""
    return click.option(
        "--walker",
        "walker_file",
        metavar="FILE",
        shell_complete=completing.walkers,
        help="Walker file (TOML): pace count and scatter.",
    )(command)


def json_option(command: F) -> F:
    """Take `--json` (one object a file), and how much to say of an answer: `--brief`, `--explain`."""
    for decorate in (
        click.option(
            "--explain",
            is_flag=True,
            expose_value=False,
            callback=_keep_detail,
            help="Say also what the answer rests on, and what its words mean.",
        ),
        click.option(
            "--brief",
            is_flag=True,
            expose_value=False,
            callback=_keep_detail,
            help="Say the answer in at most three lines.",
        ),
        click.option("--json", "as_json", is_flag=True, help="Print one JSON object a file."),
    ):
        command = decorate(command)
    return command


def _keep_detail(context: click.Context, option: click.Parameter, is_given: bool) -> None:
    if not is_given:
        return
    if context.meta.get(DETAIL, option.name) != option.name:
        raise click.UsageError("--brief and --explain are opposites: give one.")
    context.meta[DETAIL] = option.name


def grid_option(command: F) -> F:
    """Take the grid in which places are said beside the usual forms."""
    return click.option(
        "--grid",
        "grid_code",
        metavar="EPSG:CODE",
        callback=_read_grid,
        help="Say places on this grid as well, such as EPSG:27700.",
    )(command)


def _read_grid(context: click.Context, option: click.Parameter, code: str | None) -> str | None:
    from pacewright.ground.any_grid import check_code

    return None if code is None else check_code(code)


def time_rule_option(command: F) -> F:
    """Take the rule of walking time; `--rule` is its old name."""
    return click.option(
        "--time-rule",
        "--rule",
        "rule",
        cls=NewName,
        type=click.Choice(["naismith", "eight-to-one", "langmuir", "tobler"]),
        default="naismith",
        show_default=True,
        help="Rule of walking time; --explain names its source.",
    )(command)


def out_options(what: str, forced: str = "", default: str = "") -> Callable[[F], F]:
    """Take `--out` and `--force`.

    `what` completes the help line, `forced` says what else is forced, `default` which file is written where
    none is given.
    """

    def decorate(command: F) -> F:
        help_line = f"Write over a file that is already there{forced}."
        otherwise = f" (default: {default})" if default else ""
        command = click.option("--force", is_flag=True, help=help_line)(command)
        out = click.option(
            "--out", metavar="FILE", type=click.Path(), help=f"Write {what} to FILE{otherwise}."
        )
        return out(command)

    return decorate


def frame_option(command: F) -> F:
    """Take the frame of the answer."""
    return click.option(
        "--frame",
        type=click.Choice(["walker", "map"]),
        default=None,
        help="walker: own paces and own compass (the way back is computed here); map: metres.",
    )(command)


def probability_option(command: F) -> F:
    """Take the share of walks that a region holds."""
    return click.option(
        "--probability",
        type=Number(0.01, 0.999),
        default=0.95,
        show_default=True,
        help="Share of walks that a stated region holds.",
    )(command)


def option_azimuth(option: str, text: str, unit: AzimuthUnit) -> float:
    """Read an azimuth that an option was given; a complaint names the option."""
    from pacewright.core.compass import parse_azimuth

    try:
        return parse_azimuth(text.strip(), unit)
    except Complaint as complaint:
        raise type(complaint)(f"{option}: {complaint.what}", complaint.do) from None


def open_log(path: str) -> TravelLog:
    """Read one travel log, its complaints carrying the file's name."""
    from pacewright.files.disk import read_bytes
    from pacewright.files.log_csv import read_log

    return read_log(read_bytes(path), path)


def open_log_of(path: str, walker: Walker | None) -> TravelLog:
    """Read one travel log for a command that writes a file; what it makes one ask is noted beside."""
    from pacewright.wording.walk import say_questions

    log = open_log(path)
    note(path, say_questions(log, walker))
    return log


def open_walker(path: str | None) -> Walker:
    """Read the walker file, or give the walker of the defaults; a figure that looks wrong is asked about."""
    from pacewright.core.pace.walker import Walker
    from pacewright.files.disk import read_bytes
    from pacewright.files.walker_toml import read_walker
    from pacewright.wording.walker import say_doubtful_figures

    if path is None:
        return Walker()
    walker = read_walker(read_bytes(path), path)
    note(path, say_doubtful_figures(walker))
    return walker


def note(of: str, sentences: list[str]) -> None:
    """Say something beside the answer: standard output may be where a drawing, a paper or JSON goes."""
    for sentence in sentences:
        click.echo(f"{of}: {sentence}", err=True)
