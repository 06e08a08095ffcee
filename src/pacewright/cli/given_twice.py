"""An option that takes one value and is given two is refused: the first would be dropped without a word."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import click


def refuse_twice(ctx: click.Context, command: click.Command, words: Sequence[str]) -> None:
    """Look over the words of a command line, its own name left away.

    Raises
    ------
    click.UsageError
        An option that is to be given once is given twice.
    """
    while isinstance(command, click.Group) and words:
        found = command.get_command(ctx, words[0])
        if found is None:
            return
        command, words = found, words[1:]
    seen = set()
    for name, option in _options_in(command, words):
        if option in seen and not option.multiple:
            raise click.UsageError(f"{name} is given twice. Give it once.")
        seen.add(option)


def _options_in(command: click.Command, words: Sequence[str]) -> Iterator[tuple[str, click.Option]]:
    """The options that take a value, as they are met; what follows one is its value, however it looks."""
    named = {
        name: option
        for option in command.params
        if isinstance(option, click.Option) and not option.is_flag and not option.count
        for name in option.opts
    }
    at = 0
    while at < len(words) and words[at] != "--":
        name, has_value, _ = words[at].partition("=")
        at += 1
        if option := named.get(name):
            yield name, option
            at += 0 if has_value else option.nargs
