"""Setting a course in the background: one at a time, bounded, stopped, and never half kept."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
from django.db import connections

from pacewright.desk.classes.course_jobs import CourseJob, CourseJobs
from pacewright.desk.models import OWNER, KeptCourse, Member
from pacewright.exceptions import NoAnswerComplaint, ValueComplaint
from support.desk_class import field_course

LONG_S = 20


class Gate:
    """Work that waits in the middle until it is let on."""

    def __init__(self) -> None:
        self.is_reached, self.is_open = threading.Event(), threading.Event()
        self.lines: list[object] = []

    def work(self, tell):
        tell("halfway", 0.5)
        self.is_reached.set()
        assert self.is_open.wait(LONG_S)
        tell("nearly there", 0.9)
        self.lines.append(connections["default"])
        return field_course()


@pytest.fixture
def gate() -> Iterator[Gate]:
    made = Gate()
    yield made
    made.is_open.set()


def ended(job: CourseJob) -> CourseJob:
    """The job, when its thread has come to its end."""
    assert job.thread is not None
    job.thread.join(LONG_S)
    assert not job.is_running
    return job


def test_a_job_tells_how_far_it_is_and_keeps_the_course_at_its_end(owner_member, gate):
    jobs = CourseJobs()
    job = jobs.begin(owner_member, {}, gate.work)
    assert gate.is_reached.wait(LONG_S)
    assert (job.is_running, job.doing, job.percent) == (True, "halfway", 50)
    assert not KeptCourse.objects.exists()
    gate.is_open.set()
    assert KeptCourse.objects.get(pk=ended(job).course_id).owner == owner_member


def test_the_thread_gives_its_database_connection_back(owner_member, gate):
    gate.is_open.set()
    job = ended(CourseJobs().begin(owner_member, {}, gate.work))
    (line,) = gate.lines
    assert job.course_id is not None
    assert line is not connections["default"]
    assert line.connection is None


def test_a_job_that_is_stopped_keeps_nothing(owner_member, gate):
    jobs = CourseJobs()
    job = jobs.begin(owner_member, {}, gate.work)
    assert gate.is_reached.wait(LONG_S)
    jobs.stop(job)
    gate.is_open.set()
    assert "was stopped" in ended(job).told.sentence
    assert not KeptCourse.objects.exists()


def test_an_owner_has_one_job_and_the_same_form_sent_twice_is_one(owner_member, gate):
    jobs = CourseJobs()
    job = jobs.begin(owner_member, {"legs": "3"}, gate.work)
    assert jobs.begin(owner_member, {"legs": "3"}, gate.work) is job
    with pytest.raises(ValueComplaint, match="a course of yours is being set"):
        jobs.begin(owner_member, {"legs": "4"}, gate.work)
    gate.is_open.set()
    ended(job)
    assert KeptCourse.objects.count() == 1


def test_one_course_is_set_at_a_time(owner_member, gate):
    jobs, second = CourseJobs(), Gate()
    other = Member.objects.create(name="Corin Ash", role=OWNER)
    first_job = jobs.begin(owner_member, {}, gate.work)
    assert gate.is_reached.wait(LONG_S)
    second_job = jobs.begin(other, {}, second.work)
    assert not second.is_reached.wait(0.2)
    assert second_job.doing == "waiting for another course to be set"
    second.is_open.set()
    gate.is_open.set()
    assert ended(first_job).course_id and ended(second_job).course_id


def test_a_job_that_waits_can_be_stopped(owner_member, gate):
    jobs, second = CourseJobs(), Gate()
    other = Member.objects.create(name="Corin Ash", role=OWNER)
    first_job = jobs.begin(owner_member, {}, gate.work)
    assert gate.is_reached.wait(LONG_S)
    waiting = jobs.begin(other, {}, second.work)
    jobs.stop(waiting)
    gate.is_open.set()
    ended(first_job)
    assert "was stopped" in ended(waiting).told.sentence
    assert not second.is_reached.is_set()


def test_a_complaint_comes_back_with_its_field(owner_member):
    def work(tell):
        raise NoAnswerComplaint("no leg may be walked", "Move posts").at(column="posts")

    told = ended(CourseJobs().begin(owner_member, {}, work)).told
    assert (told.sentence, told.where.column) == ("No leg may be walked. Move posts.", "posts")


def test_what_nobody_expected_ends_the_job_and_stands_in_the_log(owner_member, caplog):
    def work(tell):
        raise ZeroDivisionError

    job = ended(CourseJobs().begin(owner_member, {}, work))
    assert "did not expect" in job.told.sentence
    assert not KeptCourse.objects.exists()


def test_a_job_that_takes_too_long_is_given_up(owner_member, gate):
    times = iter([0.0, 1.0, 901.0, 902.0])
    jobs = CourseJobs(now=lambda: next(times))
    gate.is_open.set()
    told = ended(jobs.begin(owner_member, {}, gate.work)).told
    assert "was not set within 15 minutes" in told.sentence


def test_a_job_whose_owner_is_gone_keeps_nothing(owner_member, gate):
    job = CourseJobs().begin(owner_member, {}, gate.work)
    assert gate.is_reached.wait(LONG_S)
    Member.objects.filter(pk=owner_member.pk).delete()
    gate.is_open.set()
    assert "did not expect" in ended(job).told.sentence
    assert not KeptCourse.objects.exists()
