"""The desk's framework made ready once for a run of tests, on a data folder that goes away with it."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile
from pathlib import Path

HOST = "127.0.0.1:8731"
"""The address that the framework's test client asks for."""


def set_up_desk() -> None:
    """Configure the framework and bring the tests' database up to date; a second call does nothing.

    The database is a file in the folder, unless PACEWRIGHT_DATABASE names another.
    """
    # By process: workers that share the tests inherit the variables of the one that began them.
    if os.environ.get("PACEWRIGHT_TESTS_SET_UP") == str(os.getpid()):
        return
    os.environ["PACEWRIGHT_TESTS_SET_UP"] = str(os.getpid())
    folder = tempfile.mkdtemp(prefix="desk-tests-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    os.environ["PACEWRIGHT_DATA"] = folder
    os.environ["DJANGO_SETTINGS_MODULE"] = "pacewright.desk.settings"
    # The browser driver keeps an event loop in this thread; no test touches the database from within it.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"

    import django
    from django.core.management import call_command
    from django.test.utils import setup_test_environment

    django.setup()
    setup_test_environment()
    call_command("migrate", verbosity=0, interactive=False)


def wipe() -> None:
    """Empty every table of the desk, take its grounds away, and forget the codes that were tried."""
    from django.apps import apps
    from django.core.management.color import no_style
    from django.db import connection, transaction

    from pacewright.desk.notebook.kept_bytes import SHARES
    from pacewright.desk.serving.views_door import JOINS, TRIES

    TRIES.clear()
    JOINS.clear()
    SHARES.clear()
    for kept in ("ground", "photographs"):
        shutil.rmtree(Path(os.environ["PACEWRIGHT_DATA"]) / kept, ignore_errors=True)
    tables = [model._meta.db_table for model in apps.get_models()]
    with transaction.atomic(), connection.cursor() as cursor:
        for statement in connection.ops.sql_flush(no_style(), tables):
            cursor.execute(statement)
