"""pacewright course: set a practice course, print its sheets and key, grade what a class handed in."""

from __future__ import annotations

from typing import Any

import click

from pacewright.cli.course_options import (
    keep_course,
    open_course,
    print_course_sheet,
    setting_options,
    with_outing,
)
from pacewright.cli.measures import AZIMUTH, METRES, NUMBER
from pacewright.cli.options import json_option, open_walker, out_options, walker_option
from pacewright.cli.output import Answer, Table, say
from pacewright.cli.printing import PAPERS

DRILLS = click.Choice(["box", "detour", "azimuth", "bias"])
SHEETS = click.Choice(["cards", "key", "labels", "marking", "safety", "plan"])


class _CourseCommands(click.Group):
    """The parts of the lesson; grading has a file of its own, imported when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names in the order of the lesson."""
        return ["set", "key", "sheet", "grade", "progress", "drill"]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """One part."""
        if cmd_name == "grade":
            from pacewright.cli.course_grade import command as grade_command

            return grade_command
        if cmd_name == "progress":
            from pacewright.cli.course_progress import command as progress_command

            return progress_command
        if cmd_name == "drill":
            from pacewright.cli.course_drill import command as drill_command

            return drill_command
        return super().get_command(ctx, cmd_name)


@click.group("course", cls=_CourseCommands)
def command() -> None:
    """Teach a class: set a practice course, print cards and key, grade what comes back.

    A course that is set is a file (TOML) that can be read, edited and set again: the same seed gives
    the same course.
    """


class _SetCommands(click.Group):
    """The ways to set a course; the one with posts has a file of its own, imported when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names in the order of the lessons."""
        return ["pace", "field", "posts"]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """One way."""
        if cmd_name == "posts":
            from pacewright.cli.course_posts import command as posts_command

            return posts_command
        return super().get_command(ctx, cmd_name)


@command.group(
    "set", cls=_SetCommands, short_help="Set a course: on a field, among posts, or on a line to count paces."
)
def set_command() -> None:
    """Set a course: on a field, among posts whose places are known, or a line to count paces on."""


@set_command.command("field", short_help="Stakes along a base line, closed exercises.")
@setting_options
@walker_option
@click.option("--stakes", type=int, default=10, show_default=True, help="How many stakes there are.")
@click.option("--legs", type=int, default=4, show_default=True, help="How many legs a card has.")
@click.option(
    "--field-m",
    type=(METRES, METRES),
    default=(210.0, 110.0),
    show_default=True,
    metavar="ALONG DEEP",
    help="How far the open ground reaches along the base line, and how deep from it.",
)
@click.option(
    "--shape",
    type=click.Choice(["line", "ring", "grid"]),
    default="line",
    show_default=True,
    help="How the stakes stand.",
)
@click.option(
    "--side",
    type=click.Choice(["left", "right"]),
    default="left",
    show_default=True,
    help="Side of the base line, seen along it, on which the field lies.",
)
@click.option(
    "--base-azimuth", type=AZIMUTH, default=90.0, show_default=True, help="Azimuth of the base line."
)
@click.option(
    "--spacing-m",
    type=METRES,
    default=None,
    help="Distance between stakes; chosen by the scatter if not given.",
)
@click.option(
    "--leg-m",
    type=(METRES, METRES),
    default=(30.0, 60.0),
    show_default=True,
    help="Shortest and longest leg.",
)
@click.option(
    "--drill",
    "drills",
    type=DRILLS,
    multiple=True,
    help="A drill given in turn beside plain cards; bias is the one that shows the compass.",
)
@click.option(
    "--wrong-pct",
    type=NUMBER,
    default=5.0,
    show_default=True,
    help="How often a perfect counter may end at a wrong stake.",
)
@click.option(
    "--seed",
    type=click.IntRange(0),
    default=1,
    show_default=True,
    help="The same seed gives the same course.",
)
def set_field(
    learners: int,
    reference: Any,
    title: str | None,
    walker_file: str | None,
    stakes: int,
    legs: int,
    field_m: tuple[float, float],
    shape: Any,
    side: Any,
    base_azimuth: float,
    spacing_m: float | None,
    leg_m: tuple[float, float],
    drills: tuple[Any, ...],
    wrong_pct: float,
    seed: int,
    **more: Any,
) -> int:
    """Set closed exercises on a field without a map: every card leads from one stake to another.

    Neighbours never share a card, and where they end differs by more than ordinary scatter explains.
    """
    import numpy as np

    from pacewright.course.field_asked import FieldAsked
    from pacewright.course.field_setting import set_field_course

    asked = FieldAsked(
        learners=learners,
        stakes=stakes,
        legs=legs,
        field_m=field_m,
        field_side=side,
        shape=shape,
        base_azimuth_deg=base_azimuth,
        spacing_m=spacing_m,
        shortest_leg_m=leg_m[0],
        longest_leg_m=leg_m[1],
        drills=("", *drills) if drills else (),
        most_wrong_share=wrong_pct / 100.0,
        walker=open_walker(walker_file),
        azimuth_reference=reference,
        title=title or "Field course",
        seed=seed,
    )
    course = set_field_course(asked, np.random.default_rng(seed))
    return keep_course(with_outing(course, more), **more)


@set_command.command("pace", short_help="A measured line on which to count paces.")
@setting_options
@click.option(
    "--stretch",
    "stretches",
    type=(METRES, str, click.Choice(["up", "level", "down"])),
    multiple=True,
    metavar="METRES GROUND LIE",
    help="A part of the line, from its first stake on; may be repeated (default: 100 '' level).",
)
@click.option("--azimuth", type=AZIMUTH, default=90.0, show_default=True, help="Azimuth of the line.")
@click.option(
    "--trials", type=int, default=5, show_default=True, help="How often each learner walks the line."
)
def set_pace(
    learners: int,
    reference: Any,
    title: str | None,
    stretches: tuple[tuple[float, str, Any], ...],
    azimuth: float,
    trials: int,
    **more: Any,
) -> int:
    """Set a pace course: a line of 100 to 600 m with stakes at known distances, walked out and back."""
    from pacewright.course.pace_setting import PaceAsked, Stretch, set_pace_course

    asked = PaceAsked(
        learners=learners,
        stretches=tuple(Stretch(*one) for one in stretches) or (Stretch(),),
        azimuth_deg=azimuth,
        trials=trials,
        azimuth_reference=reference,
        title=title or "Pace course",
    )
    return keep_course(with_outing(set_pace_course(asked), more), **more)


@command.command("key", short_help="Where every card ends, and how far off still counts.")
@click.argument("file", metavar="COURSE.toml")
@walker_option
@click.option("--card", "number", type=int, help="One card only.")
@json_option
def key(file: str, walker_file: str | None, number: int | None, as_json: bool) -> int:
    """Say what every leg of a card should read, where it ends, and how far off is still ordinary."""
    from pacewright.course.answer_key import answer_key
    from pacewright.files.course_json import answer_key_keys
    from pacewright.wording.course_cards import ORDINARY, key_table

    course, walker = open_course(file), open_walker(walker_file)
    numbers = [number] if number is not None else [card.number for card in course.cards]
    keys = [answer_key(course, one, walker) for one in numbers]
    data = {"course": course.title, "cards": [answer_key_keys(one) for one in keys]}
    say(Answer(data, [f"{course.title}: key.", ORDINARY], [Table(*key_table(keys))]), as_json)
    return 0


@command.command("sheet", short_help="Cards, key, post labels, marking sheet, safety page, lesson plan: PDF.")
@click.argument("kind", type=SHEETS)
@click.argument("file", metavar="COURSE.toml")
@walker_option
@click.option(
    "--paper",
    "paper_name",
    type=PAPERS,
    default="a4",
    show_default=True,
    help="Paper; a pocket card for cards alone.",
)
@click.option("--no-log-page", is_flag=True, help="Cards without a log to write on; pocket cards have none.")
@out_options("the sheet (PDF)", default="KIND.pdf")
@json_option
def sheet(
    kind: Any,
    file: str,
    walker_file: str | None,
    paper_name: Any,
    no_log_page: bool,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Print the paper of a course: cards for learners, and what the instructor needs."""
    from pacewright.sheets.course_pocket import course_paper
    from pacewright.sheets.paper import PAPERS as KNOWN

    course, paper = open_course(file), KNOWN[paper_name]
    made = course_paper(kind, course, paper, open_walker(walker_file), with_log=not no_log_page)
    target = out or f"{kind}.pdf"
    if target == "-" and as_json:
        raise click.UsageError("--out - and --json both want standard output; give --out a file name.")
    print_course_sheet(made, paper, target, force)
    printed = [] if target == "-" else [f"Printed: {target}"]
    if target != "-" or not as_json:
        say(Answer({"sheet": target, "kind": kind, "paper": paper.name}, printed), as_json)
    return 0
