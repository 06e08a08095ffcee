"""Setting a course among posts takes a while: one at a time, in a thread, and pages ask how far it is.

Nothing of it is kept but the course at the end: a desk that is closed meanwhile has lost the time, no more.
"""

from __future__ import annotations

import logging
import threading
import time
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final

from django.db import connections

from pacewright.course.course import Course
from pacewright.desk.classes.courses import keep_course
from pacewright.desk.models import Member
from pacewright.exceptions import Complaint, ValueComplaint

LONGEST_S: Final = 900.0
"""A course that is not set by then is asked too much of, or the machine is too slow for it."""
WAITS: Final = "waiting for another course to be set"
_LOG: Final = logging.getLogger("django")

Tell = Callable[[str, float], None]


class _StoppedError(Exception):
    """Whoever asked does not want the course any more."""


@dataclass(slots=True)
class CourseJob:
    """A course that is being set, or what became of it.

    Attributes
    ----------
    owner
        Whose it is.
    typed
        What the form held.
    doing, share
        What is being done, and the share of all that is done, from 0 to 1.
    told
        Why there is no course; None while it is being set, and where it was.
    course_id
        The course that was kept.
    """

    owner: Member
    typed: Mapping[str, str]
    id: uuid.UUID = field(default_factory=uuid.uuid4)
    doing: str = WAITS
    share: float = 0.0
    told: Complaint | None = None
    course_id: uuid.UUID | None = None
    is_stopped: bool = False
    thread: threading.Thread | None = None

    @property
    def is_running(self) -> bool:
        """True until there is a course or a reason why there is none."""
        return self.told is None and self.course_id is None

    @property
    def percent(self) -> int:
        """How much is done, in whole per cent."""
        return round(100.0 * self.share)


class CourseJobs:
    """The courses that are being set: one at a time, and one for each owner."""

    def __init__(self, longest_s: float = LONGEST_S, now: Callable[[], float] = time.monotonic) -> None:
        self._longest_s, self._now = longest_s, now
        self._lock, self._turn = threading.Lock(), threading.Lock()
        self._jobs: dict[uuid.UUID, CourseJob] = {}

    def of(self, owner: Member) -> CourseJob | None:
        """The last job of an owner, if this desk knows one."""
        with self._lock:
            return self._jobs.get(owner.pk)

    def begin(self, owner: Member, typed: Mapping[str, str], work: Callable[[Tell], Course]) -> CourseJob:
        """Begin to set a course; the same form sent twice is one job.

        Raises
        ------
        ValueComplaint
            Another course of this owner is being set.
        """
        with self._lock:
            last = self._jobs.get(owner.pk)
            if last is not None and last.is_running:
                if dict(last.typed) == dict(typed) and not last.is_stopped:
                    return last
                raise ValueComplaint("a course of yours is being set", "Wait until it is done, or stop it")
            job = CourseJob(owner, dict(typed))
            # The thread of a desk that is closed ends with it.
            job.thread = threading.Thread(target=self._run, args=(job, work), daemon=True)
            self._jobs[owner.pk] = job
        job.thread.start()
        return job

    def stop(self, job: CourseJob) -> None:
        """Stop a job at the next step; a course that was kept meanwhile stays."""
        job.is_stopped = True

    def _run(self, job: CourseJob, work: Callable[[Tell], Course]) -> None:
        kept: uuid.UUID | None = None
        told: Complaint | None = None
        try:
            with self._turn:
                tell = self._teller(job)
                tell("beginning", 0.0)
                course = work(tell)
                tell("keeping the course", 1.0)
                kept = keep_course(job.owner, course).pk
        except _StoppedError:
            told = Complaint("setting the course was stopped", "Nothing of it is kept but what was typed")
        except Complaint as complaint:
            told = complaint
        except Exception:
            # No page would ever hear of it: there is no one above this thread.
            _LOG.exception("a course could not be set")
            told = Complaint(
                "the desk met something it did not expect", "Look into desk.log in the data folder"
            )
        finally:
            connections.close_all()
            job.told, job.course_id = told, kept

    def _teller(self, job: CourseJob) -> Tell:
        until = self._now() + self._longest_s

        def tell(doing: str, share: float) -> None:
            if job.is_stopped:
                raise _StoppedError
            if self._now() > until:
                raise ValueComplaint(
                    f"the course was not set within {self._longest_s / 60:g} minutes",
                    "Ask for fewer learners or legs",
                )
            job.doing, job.share = doing, min(max(share, 0.0), 1.0)

        return tell


JOBS: Final = CourseJobs()
