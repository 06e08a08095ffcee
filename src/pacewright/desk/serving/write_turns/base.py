"""SQLite for the web framework, with the writers of this process in a line.

The framework looks for a database's classes in a module of this name.
"""

from __future__ import annotations

from django.db.backends.sqlite3 import base

from pacewright.desk.serving.write_turns.line import WRITERS


class DatabaseWrapper(base.DatabaseWrapper):
    """A connection that begins a transaction when its turn to write has come."""

    _has_pen = False

    def _start_transaction_under_autocommit(self) -> None:
        # Where the turn does not come in time, the database itself says that it is locked.
        self._has_pen = self._has_pen or WRITERS.take()
        try:
            super()._start_transaction_under_autocommit()
        except BaseException:
            self._lay_down()
            raise

    def _set_autocommit(self, autocommit: bool) -> None:
        # The end of every transaction, however it ended: until then nobody else could write either.
        try:
            super()._set_autocommit(autocommit)
        finally:
            self._lay_down()

    def _close(self) -> None:
        try:
            super()._close()
        finally:
            self._lay_down()

    def _lay_down(self) -> None:
        if self._has_pen:
            self._has_pen = False
            WRITERS.lay_down()
