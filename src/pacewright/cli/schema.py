"""pacewright schema: what every command prints with --json."""

from __future__ import annotations

import json

import click


@click.command()
@click.argument("name", metavar="[COMMAND]", required=False)
def command(name: str | None) -> int:
    """Print the JSON Schema of what the commands print with --json; of one command if it is named.

    `complaint` is the object of a file that was refused.
    """
    from pacewright.files.bundled import bundled

    text = bundled("schema.json").decode("utf-8")
    if name is not None:
        parts = json.loads(text)["$defs"]
        if name not in parts:
            raise click.UsageError(f"There is no schema called {name[:40]}. There are: {', '.join(parts)}.")
        text = json.dumps(parts[name], indent=1, ensure_ascii=False)
    click.echo(text.rstrip("\n"))
    return 0
