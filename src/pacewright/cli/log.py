"""pacewright log: the reference of the travel log, read offline; a log begun."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

import click

from pacewright.cli.options import out_options
from pacewright.cli.output import write_out
from pacewright.cli.renamed import NewName

_CODE: Final = re.compile(r"`([^`]*)`")
_STRONG: Final = re.compile(r"\*\*?([^*]+)\*\*?")
_PARTS: Final = re.compile(r"(?<!\\)\|")


@click.command()
@click.option("--new", is_flag=True, help="Begin a log: heading and column line, today's date.")
@click.option("--title", default="", metavar="TEXT", help="Title of the new log.")
@click.option(
    "--name", "--walker", "walker", cls=NewName, default="", metavar="NAME", help="Name of the walker."
)
@click.option(
    "--start-name",
    "--start",
    "start",
    cls=NewName,
    default="",
    metavar="NAME",
    help="Name of the place where the log begins.",
)
@out_options("the new log (CSV)")
def command(new: bool, title: str, walker: str, start: str, out: str | None, force: bool) -> int:
    """Print how a travel log is written: heading, rows, every remark; or begin one.

    \b
    pacewright log
    pacewright log --new --start-name Gate --out walk.csv
    """
    if new:
        text = _begun(title, walker, start)
        if out is None or out == "-":
            click.echo(text, nl=False)
        else:
            write_out(out, text.encode("utf-8"), force)
            click.echo(f"{out} is begun: write a row for every leg below its last line.")
        return 0
    if title or walker or start or out:
        raise click.UsageError("--title, --name, --start-name and --out are for a new log: add --new.")
    from pacewright.files.bundled import bundled

    click.echo("\n".join(_plain(bundled("travel-log.md").decode("utf-8"))))
    return 0


def _begun(title: str, walker: str, start: str) -> str:
    import datetime

    from pacewright.core.log.log_heading import Heading, format_heading
    from pacewright.files.log_csv import COLUMN_LINE

    named = (" ".join(text.split()) for text in (title, walker, start))
    title, walker, start = named
    heading = Heading(title=title, walker=walker, date=datetime.date.today(), start=start or None)
    return "".join(f"# {line}\n" for line in format_heading(heading)) + COLUMN_LINE + "\n"


def _plain(page: str) -> Iterator[str]:
    """Lines that fit the terminal: headings as they are, tables laid out, paragraphs wrapped."""
    from pacewright.cli.terminal import lay_out, wrap

    for block in _blocks(page):
        if block[0].startswith("|"):
            heading, _, *rows = ([_bare(cell) for cell in _cells(line)] for line in block)
            yield from lay_out(heading, rows)
        elif block[0].startswith(("```", "    ")):
            yield from (
                f"    {line.strip() if line[:1] == ' ' else line}" for line in block if line[:3] != "```"
            )
        elif block[0].startswith("#"):
            yield block[0].lstrip("# ").upper()
        else:
            lists = block[0].startswith("- ")
            for text in block if lists else [" ".join(block)]:
                yield from wrap(_bare(text))
        yield ""


def _blocks(page: str) -> Iterator[list[str]]:
    """The parts of a page between blank lines; a block of code is one part, blank lines and all."""
    block: list[str] = []
    is_code = False
    for line in page.splitlines():
        is_code ^= line.startswith("```")
        if line.strip() or is_code:
            block.append(line)
        elif block:
            yield block
            block = []
    if block:
        yield block


def _cells(line: str) -> list[str]:
    return [cell.strip() for cell in _PARTS.split(line.strip().strip("|"))]


def _bare(text: str) -> str:
    return _STRONG.sub(r"\1", _CODE.sub(r"\1", text))
