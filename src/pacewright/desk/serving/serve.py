"""Open the desk on this machine: data folder, database, first link, server."""

from __future__ import annotations

import datetime
import os
import socket
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from pacewright.desk.serving.data_folder import keep_port, kept_ports
from pacewright.desk.serving.https.certificate import certificate_of, encrypting_with
from pacewright.exceptions import OutputComplaint, ValueComplaint

USUAL_PORT: Final = 8731
SWITCH_S: Final = 0.0005
"""To save a row takes some thirty steps between which others may go on: each waits so long for its turn."""
MOST_SESSIONS: Final = 3000
"""Of browsers that were let in, ten for each of three hundred guests; the oldest beyond go at a start."""
_OTHERS: Final = (
    "192.0.2.1",
    *("10.42.0.2", "192.168.137.2", "192.168.2.2", "192.168.43.2", "172.20.10.2"),
    *("192.168.1.2", "192.168.0.2", "10.0.0.2"),
)
"""First an address far away (RFC 5737), for a machine that has a way out. Then, for one that has none, a
neighbour in the networks that laptops, phones and small routers make by themselves (from memory)."""


@dataclass(frozen=True, slots=True)
class DeskAsked:
    """How the desk is to be opened.

    Attributes
    ----------
    data
        The data folder; None for the usual one.
    port
        The port; None for the one that the desk had last, 0 for any free one where that is taken.
    on_network
        True where other machines may reach it.
    is_encrypted
        True where they reach it encrypted only.
    """

    data: Path | None = None
    port: int | None = None
    on_network: bool = False
    is_encrypted: bool = False


@dataclass(frozen=True, slots=True)
class OpenDesk:
    """A desk that is set up and holds its port, and has not answered yet.

    Attributes
    ----------
    server
        What `run` runs.
    link
        The address that lets its bearer in once.
    address
        The address for a browser that was let in before.
    network_address
        The address for other machines; None on loopback alone.
    join_code
        The code for guests; None on loopback alone.
    fingerprint
        Of the certificate; empty where nothing is encrypted.
    folder
        The data folder.
    opening_page
        A page that leads a browser to the link, for this user's eyes alone.
    """

    server: Any
    link: str
    address: str
    network_address: str | None
    join_code: str | None
    fingerprint: str
    folder: Path
    opening_page: Path


def open_desk(asked: DeskAsked) -> OpenDesk:
    """Set the desk up and take its port.

    Raises
    ------
    OutputComplaint
        The data folder or the port cannot be had.
    ValueComplaint
        It is to be encrypted and nobody else may reach it.
    MissingComplaint
        It is to be encrypted, and the library for it is not there.
    """
    if asked.is_encrypted and not asked.on_network:
        raise ValueComplaint(
            "--https is for a desk that others reach: on this machine alone nothing is sent anywhere",
            "Give --network as well, or leave --https away",
        )
    host = "0.0.0.0" if asked.on_network else "127.0.0.1"
    # Whoever else works on this machine reads neither logs nor secret, also in a folder that was there.
    os.umask(0o077)
    kept = kept_ports(data_of(asked.data))
    listener = _take_first_port(host, asked.port, kept)
    port = listener.getsockname()[1]
    old_doors = _take_old_doors(host, [one for one in kept if one != port])
    # A thread that works an answer out steps aside often, for those that only save.
    sys.setswitchinterval(SWITCH_S)
    own_address = network_address() if asked.on_network else None
    os.environ["PACEWRIGHT_PORTS"] = ",".join(str(one.getsockname()[1]) for one in (listener, *old_doors))
    hosts = _host_names(own_address)
    certificate = certificate_of(data_of(asked.data), hosts, _now()) if asked.is_encrypted else None
    os.environ["PACEWRIGHT_HTTPS"] = "" if certificate is None else certificate.fingerprint
    application = set_up(asked.data, on_network=asked.on_network, hosts=hosts)

    from django.conf import settings
    from django.db import connection

    from pacewright.desk.serving.access import join_code, new_once_link
    from pacewright.desk.serving.copy_setting import kept_setting
    from pacewright.desk.serving.dated_copies import begin_copying
    from pacewright.desk.serving.lines import serve_lines

    if connection.vendor == "sqlite":
        begin_copying(Path(connection.settings_dict["NAME"]), settings.DATA, kept_setting)
    encryption = None if certificate is None else encrypting_with(certificate)
    server = serve_lines(application, [listener, *old_doors], settings.SESSION_COOKIE_NAME, encryption)
    keep_port(settings.DATA, port)
    address = f"http://127.0.0.1:{port}/"
    link = f"{address}open/{new_once_link()}"
    return OpenDesk(
        server=server,
        link=link,
        address=address,
        network_address=own_address and f"http{'s' if certificate else ''}://{own_address}:{port}/",
        join_code=join_code() if asked.on_network else None,
        fingerprint="" if certificate is None else certificate.fingerprint,
        folder=data_of(asked.data),
        opening_page=write_opening_page(data_of(asked.data), link),
    )


def _now() -> datetime.datetime:
    return datetime.datetime.now(datetime.UTC)


def write_opening_page(folder: Path, link: str) -> Path:
    """Write the page that leads a browser to a link, and give where it lies."""
    path = folder / "open.html"
    path.unlink(missing_ok=True)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(
            f'<!doctype html><html lang="en"><meta charset="utf-8"><title>pacewright</title>'
            f'<meta http-equiv="refresh" content="0;url={link}"><p><a href="{link}">Open the desk</a>'
        )
    return path


def set_up(data: Path | None, *, on_network: bool = False, hosts: tuple[str, ...] = ()) -> Any:
    """The desk's WSGI application, its database brought up to date."""
    if data is not None:
        os.environ["PACEWRIGHT_DATA"] = str(data)
    os.environ["PACEWRIGHT_NETWORK"] = "1" if on_network else "0"
    os.environ["PACEWRIGHT_HOSTS"] = ",".join(hosts)
    os.environ["DJANGO_SETTINGS_MODULE"] = "pacewright.desk.settings"
    data_of(data)

    import django
    from django.core.wsgi import get_wsgi_application
    from django.db import Error

    django.setup()
    try:
        _bring_up_to_date()
    except Error as refused:
        raise OutputComplaint(
            f"the database cannot be opened ({_first_line(refused)})",
            "Check the data folder, or the address in PACEWRIGHT_DATABASE",
        ) from None
    return get_wsgi_application()


def _bring_up_to_date() -> None:
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    from pacewright.desk.serving.start_check import check_file, check_version

    if connection.vendor == "sqlite":
        check_file(Path(connection.settings_dict["NAME"]))
    executor = MigrationExecutor(connection)
    check_version(set(executor.loader.applied_migrations), set(executor.loader.disk_migrations))
    # Asking costs a tenth of what the command does, and all but the first start have nothing to do.
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        from django.core.management import call_command

        call_command("migrate", verbosity=0, interactive=False)

    _drop_surplus_sessions()


def _drop_surplus_sessions() -> None:
    # By their number and not by the clock: one that jumped ahead would throw everybody out.
    from django.contrib.sessions.models import Session

    surplus = Session.objects.order_by("-expire_date").values_list("pk", flat=True)[MOST_SESSIONS:]
    Session.objects.filter(pk__in=list(surplus)).delete()


def data_of(data: Path | None) -> Path:
    """The data folder that a desk uses."""
    from pacewright.desk.serving.data_folder import data_folder

    if data is not None:
        os.environ["PACEWRIGHT_DATA"] = str(data)
    return data_folder()


def _first_line(refused: Exception) -> str:
    return (str(refused).strip().splitlines() or ["no reason given"])[0]


def _take_first_port(host: str, port: int | None, kept: list[int]) -> socket.socket:
    """Take the port that is asked for, or the one that the desk had last."""
    if port == 0 and kept:
        try:
            return _take_port(host, kept[0])
        except OutputComplaint:
            return _take_port(host, 0)
    return _take_port(host, port if port is not None else kept[0] if kept else USUAL_PORT)


def _take_old_doors(host: str, ports: list[int]) -> list[socket.socket]:
    """Take the ports that the desk had before, as far as nobody has them: browsers may still send there."""
    taken = []
    for port in ports:
        try:
            taken.append(_take_port(host, port))
        except OutputComplaint:
            continue
    return taken


def _take_port(host: str, port: int) -> socket.socket:
    if not 0 <= port <= 65535:
        raise ValueComplaint(f"{port} is not a port", "Give a number from 0 to 65535")
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":
        # A desk that was closed a moment ago may be opened again.
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except OSError as refused:
        listener.close()
        raise OutputComplaint(
            f"port {port} cannot be had ({refused.strerror}); is the desk open already?",
            "Go to the browser where it is open, or give another with --port",
        ) from None
    return listener


def network_address() -> str:
    """This machine's address on the network that others reach it by; nothing is sent.

    A machine with no way out, such as one that makes the network of a class in the field itself, is asked
    by which address it would reach its own network.
    """
    for other in _OTHERS:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((other, 9))
            except OSError:
                continue
            return str(probe.getsockname()[0])
    return "127.0.0.1"


def _host_names(own_address: str | None) -> tuple[str, ...]:
    if own_address is None:
        return ()
    name = socket.gethostname()
    return tuple(dict.fromkeys((own_address, name, f"{name}.local")))
