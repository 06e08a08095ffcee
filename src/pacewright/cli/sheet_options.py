"""What several sheets ask for: files, a unit, and a log put together with all that is known."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Any, TypeVar, cast

import click

from pacewright.cli.options import open_log_of, open_walker, walker_option
from pacewright.cli.placing import open_start, start_options
from pacewright.cli.renamed import NewName

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate

    EstimateOf = Callable[[str], Estimate]

F = TypeVar("F", bound=Callable[..., Any])

UNITS = click.Choice(["degrees", "mils", "gon"])


def unit_option(function: F) -> F:
    """Take `--azimuth-unit`; `--unit` is its old name."""
    return click.option(
        "--azimuth-unit",
        "--unit",
        "unit",
        cls=NewName,
        type=UNITS,
        default=None,
        help="Unit of the azimuths; degrees if not given.",
    )(function)


def estimate_options(function: F) -> F:
    """Take `--walker`, `--start` and `--start-sd-m`, and hand over `estimate_of`.

    It opens a log, put together with all that is known: the one estimate behind every answer.
    """

    @walker_option
    @start_options
    @wraps(function)
    def with_estimates(
        walker_file: str | None, start_text: str | None, start_sd_m: float, **more: Any
    ) -> Any:
        return function(estimate_of=_estimates(walker_file, start_text, start_sd_m), **more)

    return cast(F, with_estimates)


def _estimates(walker_file: str | None, start_text: str | None, start_sd_m: float) -> EstimateOf:
    from pacewright.files.known_places import open_estimate

    walker, start = open_walker(walker_file), open_start(start_text)
    return lambda file: open_estimate(open_log_of(file, walker), walker, start, start_sd_m)
