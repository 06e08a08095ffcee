"""What several sheets ask for: files, a unit, and a log put together with all that is known."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pacewright.cli.options import open_log_of, open_walker
from pacewright.cli.placing import open_start

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate

F = TypeVar("F", bound=Callable[..., Any])

UNITS = click.Choice(["degrees", "mils", "gon"])


def unit_option(function: F) -> F:
    """Take `--unit` of the azimuths."""
    return click.option("--unit", type=UNITS, default=None, help="Of the azimuths; degrees if not given.")(
        function
    )


def estimates(
    walker_file: str | None, start_text: str | None, start_sd_m: float
) -> Callable[[str], Estimate]:
    """Give what opens a log, put together with all that is known: the one estimate behind every answer."""
    from pacewright.files.known_places import open_estimate

    walker, start = open_walker(walker_file), open_start(start_text)
    return lambda file: open_estimate(open_log_of(file, walker), walker, start, start_sd_m)


log_files = click.argument("files", nargs=-1, required=True, metavar="FILE...")
