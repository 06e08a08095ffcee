"""One worker as the desk sees it: a process that is asked one question at a time, and can be ended."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from typing import Any, Final

from django.conf import settings

from pacewright.desk.workers.lending import MEMORY_EXIT
from pacewright.desk.workers.worker import PROGRESS, read_message, write_message

_ONE_THREAD: Final = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
OVER_S: Final = 10.0


class WorkerProcess:
    """A process that works answers out. Its starter asks it; any thread may end it."""

    def __init__(self, most_mb: int) -> None:
        own_paths = [path for path in sys.path if path]
        environment = {
            **os.environ,
            **dict.fromkeys(_ONE_THREAD, "1"),
            # Where this desk keeps its data, whatever the environment says by now.
            "PACEWRIGHT_DATA": str(settings.DATA),
            "MALLOC_ARENA_MAX": "2",
            "PYTHONPATH": os.pathsep.join(own_paths),
        }
        # What ends the desk from the keyboard reaches the desk alone, and the desk ends its workers. In a
        # session of its own a worker would not stand back for the desk: Linux shares out time by session.
        apart: dict[str, Any] = {"process_group": 0}
        if sys.platform == "win32":
            quietly = subprocess.CREATE_NO_WINDOW | subprocess.BELOW_NORMAL_PRIORITY_CLASS
            apart = {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP | quietly}
        self._process = subprocess.Popen(
            [sys.executable, "-m", "pacewright.desk.workers.worker", str(most_mb)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=environment,
            **apart,
        )
        assert self._process.stdin is not None and self._process.stdout is not None
        self._to, self._from = self._process.stdin, self._process.stdout
        self._is_ready = False
        self.highest_bytes = 0

    @property
    def number(self) -> int:
        """The number that the system knows the process by."""
        return self._process.pid

    def ask(self, message: bytes, told: Callable[[float, float], None]) -> tuple[str, bytes]:
        """Wait for what becomes of a question: as `worker.answer`, or `ended` where the process did.

        What was found is still pickled: whoever shows it opens it.

        Parameters
        ----------
        message
            As `worker.answer` takes it.
        told
            Called with parts done and all parts, as often as the work tells.
        """
        try:
            if not self._is_ready and read_message(self._from) is None:
                return self._ended()
            self._is_ready = True
            write_message(self._to, message)
            while (data := read_message(self._from)) is not None:
                kind, found, held = pickle.loads(data)
                if kind != PROGRESS:
                    self.highest_bytes = held
                    return kind, found
                told(*pickle.loads(found))
        except (OSError, ValueError):
            return self._ended()
        return self._ended()

    def _ended(self) -> tuple[str, bytes]:
        self._gone()
        return "memory" if self._process.returncode == MEMORY_EXIT else "ended", pickle.dumps(None)

    def _gone(self) -> None:
        self.end()
        try:
            self._process.wait(OVER_S)
        except subprocess.TimeoutExpired:
            return

    def end(self) -> None:
        """End the process, without waiting until it is gone."""
        self._process.kill()

    def close(self) -> None:
        """End the process and let go of its lines; only its starter may."""
        self._gone()
        for line in (self._to, self._from):
            try:
                line.close()
            except OSError:
                continue
