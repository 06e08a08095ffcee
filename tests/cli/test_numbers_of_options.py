"""What is no number is refused by every option that has a range, on whatever command."""

from __future__ import annotations

from collections.abc import Iterator

import click
import pytest

from pacewright.cli.main import group
from pacewright.cli.measures import Number


def ranged(command: click.Command, context: click.Context) -> Iterator[tuple[str, Number]]:
    """Every option of a command, and of those below it, whose number has a least or a most."""
    if isinstance(command, click.Group):
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            assert below is not None
            yield from ((f"{name} {option}", number) for option, number in ranged(below, context))
    for option in command.params:
        number = option.type
        if isinstance(number, Number) and (number.min is not None or number.max is not None):
            yield option.opts[0], number


def test_no_option_with_a_range_takes_what_is_no_number():
    found = dict(ranged(group, click.Context(group)))
    assert {"reckon --start-sd-m", "plan --miss", "adjust --probability"} <= set(found)
    for number in found.values():
        with pytest.raises(click.BadParameter, match="nan is not in the range "):
            number.convert("nan", None, None)
