"""Who works what out, and in which order: one question a member at a time, each once, within limits.

A browser asks again every second while its page waits. So a question that nobody asks any more is dropped,
and one that is being worked out for nobody is ended.
"""

from __future__ import annotations

import logging
import pickle
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Any, Final

from pacewright.desk.workers.process import WorkerProcess
from pacewright.desk.workers.progress import Progress

LONGEST_S: Final = 60.0
FAIR_S: Final = 15.0
"""Once somebody else waits, an answer has had its time after so long."""
LEFT_S: Final = 20.0
"""Longer than the slowest browser pauses between two questions of a page that is still open."""
IDLE_S: Final = 300.0
MOST_WAITING_OF_ONE: Final = 4
MOST_KEPT_BYTES: Final = 32_000_000
LARGE_WORKER_BYTES: Final = 350_000_000
"""A worker that once held so much is not kept for the next question: memory is not given back."""
_LOOK_S: Final = 0.25
_SPENT: Final = ("ended", "memory")
_LASTING: Final = ("done", "complaint", "memory")
"""Asked again, these would be the same."""
_LOG: Final = logging.getLogger("django")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a question.

    Attributes
    ----------
    kind
        `done`, `complaint`, `memory`, `time`, `fair`, `left`, `ended` or `broken`.
    found
        The answer or the complaint, pickled.
    """

    kind: str
    found: bytes = field(default=pickle.dumps(None), repr=False)

    def opened(self) -> Any:
        """The answer, or the complaint."""
        return pickle.loads(self.found)


@dataclass(slots=True, eq=False)
class Job:
    """A question that waits or is being worked out.

    Attributes
    ----------
    whose, key, message
        Whose it is, what it is known by, and what the worker is sent.
    asked_s, begun_s
        Until when somebody last asked (who waits for it, asks), and when work began.
    worker
        Who works at it; None while it waits.
    ended_by
        Why it was ended.
    progress
        How far the work is, once it told.
    """

    whose: Hashable
    key: str
    message: bytes
    asked_s: float
    begun_s: float = 0.0
    worker: WorkerProcess | None = None
    ended_by: str = ""
    progress: Progress | None = None

    def tell(self, done: float, of: float) -> None:
        """Note how far the work is."""
        now = time.monotonic()
        before = self.progress or Progress(done, of, done, now, now)
        self.progress = Progress(done, of, before.first, before.begun_s, now)


class Workshop:
    """Some workers, the questions that wait for them, and the answers that were found lately.

    Parameters
    ----------
    workers
        How many work at once.
    most_mb
        How much memory each may take beyond what it holds at its start.
    now
        The clock.
    """

    def __init__(
        self,
        workers: int,
        most_mb: int,
        *,
        longest_s: float = LONGEST_S,
        fair_s: float = FAIR_S,
        left_s: float = LEFT_S,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self._most_workers, self._most_mb, self._now = workers, most_mb, now
        self._longest_s, self._fair_s, self._left_s = longest_s, fair_s, left_s
        self._changed = threading.Condition()
        self._jobs: dict[str, Job] = {}
        self._served: dict[Hashable, float] = {}
        self._kept: OrderedDict[str, Outcome] = OrderedDict()
        self._kept_bytes = 0
        self._hands = 0
        self._idle = 0
        self._is_closed = False
        self._warden: threading.Thread | None = None

    def ask(
        self, whose: Hashable, key: str, message: Callable[[], bytes], wait_s: float = 0.0
    ) -> Outcome | None:
        """What became of a question; None while it waits or is being worked out.

        Parameters
        ----------
        whose
            The member who asks: one question of theirs is worked out at a time.
        key
            What the answer rests on: the same key is the same answer.
        message
            Gives what the worker is sent, as `worker.answer` takes it.
        wait_s
            How long to wait for it here.
        """
        with self._changed:
            if not self._found(key):
                self._put(whose, key, message, self._now() + wait_s)
                self._changed.wait_for(lambda: self._found(key) or key not in self._jobs, wait_s)
            found = self._kept.get(key)
            if found is not None and found.kind not in _LASTING:
                # The next who asks has it tried again.
                self._forget(key)
            return found

    def known(self, key: str) -> Outcome | None:
        """What became of a question, without asking it."""
        with self._changed:
            return self._kept.get(key)

    def how_far(self, key: str) -> Progress | None:
        """How far the work at a question is; None where it does not tell."""
        with self._changed:
            job = self._jobs.get(key)
            return None if job is None else job.progress

    def workers(self) -> list[int]:
        """The process numbers of those that work at this moment."""
        with self._changed:
            at_work = [job.worker for job in self._jobs.values() if job.worker is not None]
            return [worker.number for worker in at_work if worker is not _STARTING]

    def close(self) -> None:
        """End all that is being worked out."""
        with self._changed:
            self._is_closed = True
            for job in list(self._jobs.values()):
                self._end(job, "ended")
            self._changed.notify_all()

    def _found(self, key: str) -> bool:
        if key in self._kept:
            self._kept.move_to_end(key)
            return True
        return False

    def _put(self, whose: Hashable, key: str, message: Callable[[], bytes], asked_s: float) -> None:
        job = self._jobs.get(key)
        if job is not None:
            job.asked_s = max(job.asked_s, asked_s)
            return
        if self._is_closed:
            return
        waiting = [one for one in self._jobs.values() if one.whose == whose and one.worker is None]
        for one in waiting[: max(0, len(waiting) + 1 - MOST_WAITING_OF_ONE)]:
            del self._jobs[one.key]
        self._jobs[key] = Job(whose, key, message(), asked_s)
        if self._warden is None:
            self._warden = threading.Thread(target=self._watch, daemon=True)
            self._warden.start()
        if not self._idle and self._hands < self._most_workers:
            self._hands += 1
            threading.Thread(target=self._work, daemon=True).start()
        self._changed.notify_all()

    def _next(self) -> Job | None:
        """The question that is next: of those at whom nobody works, whoever was served longest ago."""
        busy = {job.whose for job in self._jobs.values() if job.worker is not None}
        free = [job for job in self._jobs.values() if job.worker is None and job.whose not in busy]
        return min(free, key=lambda job: self._served.get(job.whose, 0.0), default=None)

    def _work(self) -> None:
        """Work as long as there are questions: the thread that asks one process."""
        worker: WorkerProcess | None = None
        try:
            while (job := self._take()) is not None:
                worker = self._answered(job, worker)
        finally:
            if worker is not None:
                worker.close()
            with self._changed:
                self._hands -= 1

    def _answered(self, job: Job, worker: WorkerProcess | None) -> WorkerProcess | None:
        """Work a question out; give the worker that is kept for the next one."""
        kind, found = "ended", pickle.dumps(None)
        try:
            worker = worker or WorkerProcess(self._most_mb)
            with self._changed:
                job.worker, job.begun_s = worker, self._now()
                self._end(job, job.ended_by)
            kind, found = worker.ask(job.message, job.tell)
        except Exception:
            # No page would ever hear of it: there is no one above this thread.
            _LOG.exception("a worker could not be asked")
        finally:
            self._finish(job, kind, found)
        if worker is not None and (kind in _SPENT or worker.highest_bytes > LARGE_WORKER_BYTES):
            worker.close()
            return None
        return worker

    def _take(self) -> Job | None:
        with self._changed:
            self._idle += 1
            self._changed.wait_for(lambda: self._is_closed or self._next() is not None, IDLE_S)
            self._idle -= 1
            job = None if self._is_closed else self._next()
            if job is not None:
                # Nobody else takes it, and its member has had a turn.
                job.worker, job.begun_s = _STARTING, self._now()
                self._served[job.whose] = self._now()
            return job

    def _finish(self, job: Job, kind: str, found: bytes) -> None:
        with self._changed:
            del self._jobs[job.key]
            if job.ended_by:
                kind = job.ended_by
            if kind == "broken":
                _LOG.error("an answer could not be worked out\n%s", pickle.loads(found))
            if kind != "left":
                self._keep(job.key, Outcome(kind, found))
            self._changed.notify_all()

    def _keep(self, key: str, outcome: Outcome) -> None:
        self._kept[key] = outcome
        self._kept_bytes += len(outcome.found)
        while self._kept_bytes > MOST_KEPT_BYTES and len(self._kept) > 1:
            self._forget(next(iter(self._kept)))

    def _forget(self, key: str) -> None:
        gone = self._kept.pop(key, None)
        self._kept_bytes -= 0 if gone is None else len(gone.found)

    def _watch(self) -> None:
        """Drop what nobody asks any more, and end what takes too long."""
        while not self._is_closed:
            time.sleep(_LOOK_S)
            with self._changed:
                now = self._now()
                for job in list(self._jobs.values()):
                    if now - job.asked_s > self._left_s:
                        self._end(job, "left")
                    elif job.worker is not None:
                        self._end(job, self._overdue(job, now - job.begun_s))

    def _overdue(self, job: Job, taken_s: float) -> str:
        if taken_s > self._longest_s:
            return "time"
        others = any(one.worker is None and one.whose != job.whose for one in self._jobs.values())
        return "fair" if others and taken_s > self._fair_s else ""

    def _end(self, job: Job, why: str) -> None:
        if not why:
            return
        if job.worker is None:
            self._jobs.pop(job.key, None)
            return
        job.ended_by = why
        if job.worker is not _STARTING:
            job.worker.end()


_STARTING: Final[Any] = object()
"""Stands for a worker that is being started."""
