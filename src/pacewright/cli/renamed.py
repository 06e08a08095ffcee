"""Options that have another name now: the old one works for one release, with a note, and is not shown."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])

RENAMED: Final[dict[tuple[str, str], str]] = {
    ("course", "--rule"): "--marking",
    ("course", "--start"): "--lane-start",
    ("fix", "--from"): "--taken-at",
    ("leg", "--rule"): "--time-rule",
    ("locate", "--picture"): "--draw",
    ("log", "--start"): "--start-name",
    ("log", "--walker"): "--name",
    ("north", "--from"): "--from-north",
    ("north", "--map-declination"): "--declination",
    ("north", "--out"): "--draw",
    ("north", "--to"): "--to-north",
    ("north", "--unit"): "--azimuth-unit",
    ("plan", "--line"): "--known-line",
    ("plan", "--point"): "--known-point",
    ("plan", "--rule"): "--time-rule",
    ("range", "--out"): "--draw",
    ("sheet", "--unit"): "--azimuth-unit",
    ("sun", "--climb"): "--climb-m",
    ("sun", "--descent"): "--descent-m",
    ("sun", "--line"): "--read-along",
    ("sun", "--out"): "--draw",
    ("sun", "--rule"): "--time-rule",
}
"""Command and old name of an option -> its name now. The old ones go with the next release."""


class NewName(click.Option):
    """An option that had another name; the new one is given first, and alone shown."""

    def get_help_record(self, ctx: click.Context) -> tuple[str, str] | None:
        """The line of the help, with the new name alone."""
        names = self.opts
        self.opts = names[:1]
        try:
            return super().get_help_record(ctx)
        finally:
            self.opts = names


def note_old_names(words: list[str]) -> None:
    """Say of every old name among the words of a command line what it is called now."""
    for word in words[1:]:
        old = word.partition("=")[0]
        if now := RENAMED.get((words[0], old)):
            click.echo(f"Note: {old} is now {now}; the old name goes with the next release.", err=True)


def picture_option(what: str) -> Callable[[F], F]:
    """Take `--draw` and `--force` where a command answers in words; `--out` was its name."""

    def decorate(command: F) -> F:
        force = click.option("--force", is_flag=True, help="Write over a file that is already there.")
        draw = click.option(
            "--draw",
            "--out",
            "out",
            cls=NewName,
            metavar="FILE",
            type=click.Path(),
            help=f"Draw {what} (.svg, .png or .pdf).",
        )
        return draw(force(command))

    return decorate
