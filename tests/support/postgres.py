"""A PostgreSQL of the tests' own: a cluster in a temporary folder, run by a user that may do nothing else."""

from __future__ import annotations

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any


def postgres_programs() -> Path | None:
    """The folder of PostgreSQL's programs; Debian keeps them off the path."""
    found = shutil.which("initdb")
    if found is not None:
        return Path(found).resolve().parent
    kept = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return kept[-1].parent if kept else None


@contextmanager
def running_postgres(programs: Path) -> Iterator[str]:
    """Run a cluster, and give the address of an empty database in it."""
    # Not below the tests' own folder: that is closed to the user the server runs as.
    home = Path(tempfile.mkdtemp(prefix="desk-postgres-"))
    unprivileged = _unprivileged(home)
    made = [programs / "initdb", "-D", home / "data", "-U", "desk", "-A", "trust", "-E", "UTF8", "--no-sync"]
    subprocess.run([*made, "--locale=C"], check=True, stdout=subprocess.DEVNULL, cwd=home, **unprivileged)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    settings = {"listen_addresses": "127.0.0.1", "unix_socket_directories": "", "fsync": "off"}
    chosen = [part for name, value in settings.items() for part in ("-c", f"{name}={value}")]
    server = subprocess.Popen(
        [programs / "postgres", "-D", home / "data", "-p", str(port), *chosen],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        cwd=home,
        **unprivileged,
    )
    try:
        _make_database(port)
        yield f"postgresql://desk@127.0.0.1:{port}/desk"
    finally:
        # Its fast way down: sessions are ended, not waited for.
        server.send_signal(2)
        server.wait(timeout=20)
        shutil.rmtree(home, ignore_errors=True)


def _unprivileged(home: Path) -> dict[str, Any]:
    """A home over to a user that is not root, whom the server refuses to be run by."""
    if os.geteuid() != 0:
        return {}
    names = {user.pw_name: user for user in pwd.getpwall()}
    user = names.get("postgres") or names["nobody"]
    os.chown(home, user.pw_uid, user.pw_gid)
    return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}


def _make_database(port: int, most_s: float = 30.0) -> None:
    import psycopg

    end = time.monotonic() + most_s
    while True:
        try:
            address = f"postgresql://desk@127.0.0.1:{port}/postgres"
            with psycopg.connect(address, autocommit=True) as line:
                line.execute("CREATE DATABASE desk")
            return
        except psycopg.OperationalError:
            if time.monotonic() > end:
                raise
            time.sleep(0.1)
