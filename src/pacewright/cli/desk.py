"""pacewright desk: open the desk in a browser on this machine."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.option(
    "--data", "data", metavar="DIR", help="Where the desk keeps its logs (default: your data folder)."
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    help="Default: the port it had last, at first 8731; 0: any free one where that is taken.",
)
@click.option("--network", is_flag=True, help="Let phones and machines on the same network in, by join code.")
@click.option(
    "--https",
    "is_encrypted",
    is_flag=True,
    help="With --network: encrypt what is sent, with a certificate made here.",
)
@click.option("--no-browser", is_flag=True, help="Only print the link.")
def command(data: str | None, port: int | None, network: bool, is_encrypted: bool, no_browser: bool) -> int:
    """Open the desk: type logs, see where you are and the way back, in a browser. Needs no internet.

    The printed link lets one browser in, once. Ctrl+C closes the desk; what was typed is kept.
    """
    from pacewright.desk.serving.serve import DeskAsked, open_desk

    desk = open_desk(DeskAsked(Path(data) if data else None, port, network, is_encrypted))
    click.echo(f"The desk is open. This link lets one browser in, once:\n  {desk.link}")
    click.echo(f"A browser that was let in before goes to {desk.address}")
    if desk.network_address is not None:
        click.echo(f"Others on this network: {desk.network_address} with the join code {desk.join_code}")
        click.echo(_how_it_is_sent(desk.fingerprint))
    click.echo(f"It keeps everything in {desk.folder}. Ctrl+C closes it.")
    if not no_browser:
        # By a file that only this user reads: everybody on the machine sees a browser's command line.
        click.launch(desk.opening_page.as_uri())
    try:
        desk.server.run()
    finally:
        desk.opening_page.unlink(missing_ok=True)
        desk.server.close()
    return 0


def _how_it_is_sent(fingerprint: str) -> str:
    anybody = "Anybody on this network who has the code can come in; what is sent is"
    if not fingerprint:
        return f"{anybody} not encrypted."
    from pacewright.desk.serving.https.certificate import in_lines

    lines = "".join(f"\n  {line}" for line in in_lines(fingerprint))
    return (
        f"{anybody} encrypted.\n"
        "A browser warns once of a certificate that it does not know. It is this desk's own where its "
        f"SHA-256 fingerprint is{lines}"
    )
