"""What the desk keeps of a class: courses, groups, exercises, and each learner's entry in one."""

from __future__ import annotations

import uuid
from typing import Any, Final

from django.db import models

from pacewright.desk.clean_fields import CleanCharField, CleanJSONField, CleanTextField

LONGEST_TITLE: Final = 120


class Group(models.Model):
    """Learners who belong together for a term."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    owner = models.ForeignKey("desk.Member", on_delete=models.CASCADE, related_name="groups")
    name = CleanCharField(max_length=LONGEST_TITLE)
    term = CleanCharField(max_length=LONGEST_TITLE, default="", blank=True)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("-made_at",)


class KeptCourse(models.Model):
    """A practice course: the file as the commands read it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    owner = models.ForeignKey("desk.Member", on_delete=models.CASCADE, related_name="courses")
    title = CleanCharField(max_length=LONGEST_TITLE)
    kind = CleanCharField(max_length=8)
    toml = CleanTextField()
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("-made_at",)


class Exercise(models.Model):
    """One outing of a class with a course. `rule` holds how it is marked, by the name of a ready rule.

    `shows` says what a learner sees of the answers before the hand-in: `nothing`, `rows` or `all`.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    owner = models.ForeignKey("desk.Member", on_delete=models.CASCADE, related_name="exercises")
    course = models.ForeignKey(KeptCourse, on_delete=models.PROTECT, related_name="exercises")
    group = models.ForeignKey(Group, on_delete=models.SET_NULL, null=True, related_name="exercises")
    title = CleanCharField(max_length=LONGEST_TITLE)
    rule: Any = CleanJSONField(default=dict)
    is_open = models.BooleanField(default=True)
    shows = CleanCharField(max_length=8, default="nothing")
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("-made_at",)


class Entry(models.Model):
    """One learner's card in an exercise, with what was written down at the end, as typed.

    `words` is an object: what was copied at a post, by the post's name. `pace_typed` is a pace count that is
    being typed, or that was refused; one that was taken stands with the walker. `frozen` is the page and the
    walker as they stood at the revision that was handed in: `handing_in` writes and reads it. `out_at` and
    `back_at` tell when the learner set out and was seen back: `class_out` writes and reads them.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="entries")
    member = models.ForeignKey("desk.Member", on_delete=models.CASCADE, related_name="entries")
    card = models.PositiveIntegerField()
    log = models.ForeignKey("desk.KeptLog", on_delete=models.SET_NULL, null=True, related_name="entries")
    ends_at = CleanCharField(max_length=LONGEST_TITLE, default="", blank=True)
    along_m = CleanCharField(max_length=20, default="", blank=True)
    off_m = CleanCharField(max_length=20, default="", blank=True)
    words: Any = CleanJSONField(default=dict)
    minutes = CleanCharField(max_length=20, default="", blank=True)
    pace_typed = CleanCharField(max_length=20, default="", blank=True)
    handed_at = models.DateTimeField(null=True)
    frozen: Any = models.JSONField(null=True)
    out_at = models.DateTimeField(null=True)
    back_at = models.DateTimeField(null=True)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("card",)
        constraints = (
            models.UniqueConstraint(fields=("exercise", "member"), name="one_card_a_learner"),
            models.UniqueConstraint(fields=("exercise", "card"), name="one_learner_a_card"),
        )
