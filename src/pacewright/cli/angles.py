"""Angles on the screen in degrees and minutes, where `--angle dms` asks for them.

The sentences are made in degrees with as many decimals as are sure; here alone they are written otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Any, Final, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])

_KEPT: Final = "pacewright.angle"
_ANGLE: Final = re.compile(
    r"(?P<sign>[+-]?)(?<![\d.])(?P<deg>\d+(?:\.\d+)?) deg(?:rees)?\b"
    r"(?: (?P<min>\d\d)'(?: ?(?P<sec>\d\d)\")?)?"
)
_SECONDS_FROM_DECIMALS: Final = 3
_HEAD: Final = re.compile(r"(?:\s|^)deg\b")
_NUMBER: Final = re.compile(r"[+-]?\d+(?:\.\d+)?")


def angle_option(command: F) -> F:
    """Take `--angle`: how angles are written on the screen. JSON keeps degrees."""
    return click.option(
        "--angle",
        type=click.Choice(["decimal", "dms"]),
        default="decimal",
        show_default=True,
        expose_value=False,
        callback=_keep,
        help="dms: angles in degrees and minutes, as maps print them.",
    )(command)


def asked_for_dms() -> bool:
    """Whether the command that runs was given `--angle dms`."""
    context = click.get_current_context(silent=True)
    return context is not None and context.meta.get(_KEPT) == "dms"


def with_minutes(text: str) -> str:
    """A text with its degrees in degrees and minutes; whole degrees stay whole.

    >>> with_minutes("azimuth 234 deg, 13.6 deg east, +-0.25 deg"), with_minutes("2 deg 15' too low")
    ("azimuth 234°, 13°36' east, +-0°15'", "2°15' too low")
    """
    return _ANGLE.sub(_rewritten, text)


def table_with_minutes(
    heading: Sequence[str], rows: Sequence[Sequence[str]]
) -> tuple[list[str], list[list[str]]]:
    """A table with its degrees in degrees and minutes, also of columns whose heading says `deg`."""
    is_angle = [_HEAD.search(head) is not None for head in heading]
    heads = [_HEAD.sub("", head) if angle else head for head, angle in zip(heading, is_angle, strict=True)]
    return heads, [[_cell(*one) for one in zip(row, is_angle, strict=True)] for row in rows]


def _cell(cell: str, is_angle: bool) -> str:
    return with_minutes(f"{cell} deg" if is_angle and _NUMBER.fullmatch(cell) else cell)


def _rewritten(found: re.Match[str]) -> str:
    from pacewright.core.compass import format_dms

    if found["min"]:
        seconds = f'{found["sec"]}"' if found["sec"] else ""
        return f"{found['sign']}{found['deg']}°{found['min']}'{seconds}"
    decimals = len(found["deg"].partition(".")[2])
    written = format_dms(float(found["deg"]), seconds=decimals >= _SECONDS_FROM_DECIMALS)
    return found["sign"] + (written if decimals else f"{found['deg']}°")


def _keep(context: click.Context, option: click.Parameter, style: str) -> None:
    context.meta[_KEPT] = style
