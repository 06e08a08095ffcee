"""What a shell offers on the tab key: stations of the logs that were named, walker files."""

from __future__ import annotations

from pathlib import Path

import click
from click.shell_completion import CompletionItem


def stations(context: click.Context, option: click.Parameter, begun: str) -> list[CompletionItem]:
    """Names of the stations of the logs on the line that begin so; nothing where none can be read."""
    from pacewright.exceptions import Complaint
    from pacewright.files.disk import read_bytes
    from pacewright.files.log_csv import read_log

    names: dict[str, None] = {}
    # While a line is typed what stands on it may not have been sorted out yet.
    for file in (*(context.params.get("files") or ()), *context.args):
        try:
            names |= dict.fromkeys(name for name in read_log(read_bytes(file)).station_names() if name)
        except Complaint:
            continue
    return [CompletionItem(name) for name in names if name.casefold().startswith(begun.casefold())]


def walkers(context: click.Context, option: click.Parameter, begun: str) -> list[CompletionItem]:
    """Walker files beneath what is typed so far, and folders to look into."""
    folder = Path(begun or ".")
    folder = folder if begun.endswith("/") or (folder.is_dir() and not begun) else folder.parent
    try:
        found = sorted(folder.iterdir())
    except OSError:
        return []
    known = [one for one in found if one.is_dir() or one.suffix == ".toml"]
    shown = [f"{one}/" if one.is_dir() else str(one) for one in known]
    return [CompletionItem(one) for one in shown if one.startswith(begun)]
