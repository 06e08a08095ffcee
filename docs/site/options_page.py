"""The page of all options, made from the commands: each option once, what it means, who takes it."""

from __future__ import annotations

import importlib
from collections import defaultdict
from collections.abc import Iterator

import click

from pacewright.cli.main import COMMANDS
from pacewright.cli.renamed import RENAMED

HEAD = """# All options

Made from the commands by `make docs`; a test holds it against them. An option means the same
thing wherever it stands. `--json`, `--brief` and `--explain` say an answer to a program, in
three lines, or with what it rests on.

| option | what it is | commands |
|---|---|---|
"""
OLD = """
## Old names

They work for one release more, with a note.

| command | old | now |
|---|---|---|
"""


def every_option() -> Iterator[tuple[str, click.Option]]:
    """Every command by its whole name, with each of its options."""
    for name, (module, _) in COMMANDS.items():
        command: click.Command = importlib.import_module(f"pacewright.cli.{module}").command
        yield from _options_of(name, command)


def _options_of(name: str, command: click.Command) -> Iterator[tuple[str, click.Option]]:
    if isinstance(command, click.Group):
        context = click.Context(command)
        for sub in command.list_commands(context):
            found = command.get_command(context, sub)
            assert found is not None
            yield from _options_of(f"{name} {sub}", found)
        return
    yield from ((name, one) for one in command.params if isinstance(one, click.Option))


def value_of(option: click.Option) -> str:
    """What stands behind an option: nothing for a flag, else its metavar or its choices."""
    if option.is_flag:
        return ""
    if isinstance(option.type, click.Choice):
        return " ".join(map(str, option.type.choices))
    return option.metavar or "N"


def options_page() -> str:
    """The page as Markdown."""
    by_name: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    values: dict[str, dict[str, None]] = defaultdict(dict)
    for command, option in every_option():
        by_name[option.opts[0]][option.help or ""].append(command)
        values[option.opts[0]][value_of(option)] = None
    rows = []
    for name in sorted(by_name):
        shown = f"`{name} {' or '.join(values[name])}`".replace(" `", "`")
        several = len(by_name[name]) > 1
        says = [
            f"{text}{' (' + _listed(commands) + ')' if several and len(commands) < 4 else ''}"
            for text, commands in by_name[name].items()
        ]
        takers = [command for commands in by_name[name].values() for command in commands]
        rows.append(f"| {_cell(shown)} | {_cell(' '.join(says))} | {_listed(takers)} |")
    old = [f"| `{command}` | `{name}` | `{now}` |" for (command, name), now in sorted(RENAMED.items())]
    return HEAD + "\n".join(rows) + "\n" + OLD + "\n".join(old) + "\n"


def _listed(commands: list[str]) -> str:
    """Commands in a row; those of one group share its name."""
    groups: dict[str, list[str]] = {}
    for command in commands:
        group, _, sub = command.partition(" ")
        groups.setdefault(group, []).append(sub)
    return "; ".join(f"{group} {', '.join(filter(None, subs))}".strip() for group, subs in groups.items())


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ").strip()
