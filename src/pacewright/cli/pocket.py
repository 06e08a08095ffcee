"""pacewright pocket: the small part of the tool that a phone can do, in one file."""

from __future__ import annotations

import click

from pacewright.cli.options import open_log, open_walker, out_options, walker_option
from pacewright.cli.output import Answer, say, write_out


@click.command()
@click.argument("files", nargs=-1, metavar="[LOG...]")
@walker_option
@out_options("the page (HTML)")
def command(files: tuple[str, ...], walker_file: str | None, out: str | None, force: bool) -> int:
    """Write one HTML file that a phone opens with no signal: type a row, see the way back.

    LOG is a travel log that travels inside, as do the walker's figures. Copy the file to the phone before you
    go, open it there once, and take paper all the same.
    """
    from pacewright.files.disk import read_bytes
    from pacewright.pocket.carried import carry
    from pacewright.pocket.page_text import page_text
    from pacewright.wording.pocket import say_written

    if out is None:
        raise click.UsageError("The page goes to a file: add --out pocket.html.")
    walker = open_walker(walker_file)
    for file in files:
        open_log(file)
    texts = [read_bytes(file).decode("utf-8-sig") for file in files]
    page = page_text(carry(walker, texts)).encode("utf-8")
    write_out(out, page, force)
    say(Answer({}, say_written(out, len(page), walker)), as_json=False)
    return 0
