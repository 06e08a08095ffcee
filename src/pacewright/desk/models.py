"""What the desk keeps: who comes in, logs as typed with every change, walkers, ground."""

from __future__ import annotations

import uuid
from typing import Any, Final

from django.db import models

from pacewright.desk.clean_fields import CleanCharField, CleanJSONField, CleanTextField

OWNER: Final = "owner"
GUEST: Final = "guest"
LONGEST_NAME: Final = 80
LONGEST_CELL: Final = 2_000


class Member(models.Model):
    """One who came in: the owner of this desk, or a guest who joined by code.

    `habits` is an object of texts: `serving/habits.py` writes and reads it.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = CleanCharField(max_length=LONGEST_NAME)
    role = CleanCharField(max_length=8, choices=[(OWNER, OWNER), (GUEST, GUEST)], default=GUEST)
    joined_at = models.DateTimeField(auto_now_add=True)
    habits: Any = CleanJSONField(default=dict, blank=True)
    group = models.ForeignKey("desk.Group", on_delete=models.SET_NULL, null=True, related_name="members")

    @property
    def is_owner(self) -> bool:
        """True for the owner of the desk."""
        return bool(self.role == OWNER)


class OnceLink(models.Model):
    """A link that lets its bearer in once, as owner or as the member it names; its fingerprint is kept."""

    fingerprint = CleanCharField(max_length=64, unique=True)
    member = models.ForeignKey(Member, on_delete=models.CASCADE, null=True, related_name="links")
    made_at = models.DateTimeField(auto_now_add=True)
    used_at = models.DateTimeField(null=True)


class Setting(models.Model):
    """A value of the desk itself, such as the join code."""

    key = CleanCharField(max_length=40, primary_key=True)
    value = CleanTextField(default="")


class KeptWalker(models.Model):
    """A walker: the file as the commands read it, and the pace trials behind it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    owner = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="walkers")
    name = CleanCharField(max_length=LONGEST_NAME)
    toml = CleanTextField(default="")
    trials_csv = CleanTextField(default="", blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ("name", "made_at")


class WalkerPast(models.Model):
    """How a walker stood before a change, and why it changed.

    `learnt_from` is the log whose walking is in the new state; where there are several, `learnt_also` is a
    list of the identities of the others.
    """

    walker = models.ForeignKey(KeptWalker, on_delete=models.CASCADE, related_name="past")
    toml = CleanTextField()
    trials_csv = CleanTextField(default="", blank=True)
    why = CleanCharField(max_length=200)
    learnt_from = models.ForeignKey("KeptLog", on_delete=models.SET_NULL, null=True, related_name="+")
    learnt_also: Any = CleanJSONField(default=list, blank=True)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("-at", "-pk")


class Ground(models.Model):
    """A terrain file that was handed in; it lies in the data folder under this identity, no other name.

    The land of the demo ships with the tool: nothing lies in the folder for it.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    owner = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="grounds")
    name = CleanCharField(max_length=LONGEST_NAME)
    is_demo = models.BooleanField(default=False)
    made_at = models.DateTimeField(auto_now_add=True)


class LandFeatures(models.Model):
    """Lines, points and areas of the land that were handed in: GeoJSON in degrees, as plans read it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    owner = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="features")
    name = CleanCharField(max_length=LONGEST_NAME)
    geojson = CleanTextField()
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("name", "made_at")


class KeptLog(models.Model):
    """A travel log as typed.

    `rows` is a list of objects with `id`, `azimuth`, `count`, `notes` (texts) and `struck` (true or
    false); `heading` holds the heading lines without their mark.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    owner = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="logs")
    walker = models.ForeignKey(KeptWalker, on_delete=models.SET_NULL, null=True, related_name="logs")
    ground = models.ForeignKey(Ground, on_delete=models.SET_NULL, null=True, related_name="logs")
    start_place = CleanCharField(max_length=200, default="", blank=True)
    start_sd_m = models.FloatField(default=10.0)
    title = CleanCharField(max_length=200, default="", blank=True)
    heading = CleanTextField(default="", blank=True)
    rows: Any = CleanJSONField(default=list)
    revision = models.PositiveIntegerField(default=0)
    words = CleanTextField(default="", blank=True)
    came_as = models.BinaryField(null=True)
    made_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)
    thrown_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-changed_at", "-made_at")


class Edit(models.Model):
    """One change of a log, with the change that takes it back.

    `key` is chosen by the browser: the same change posted twice is made once. `who` is the name of whoever
    made it, as it was then.
    """

    log = models.ForeignKey(KeptLog, on_delete=models.CASCADE, related_name="edits")
    key = CleanCharField(max_length=64)
    number = models.PositiveIntegerField()
    change: Any = CleanJSONField()
    inverse: Any = CleanJSONField()
    is_undone = models.BooleanField(default=False)
    is_undo = models.BooleanField(default=False)
    who = CleanCharField(max_length=LONGEST_NAME, default="", blank=True)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("number",)
        constraints = (
            models.UniqueConstraint(fields=("log", "key"), name="edit_made_once"),
            models.UniqueConstraint(fields=("log", "number"), name="edit_in_order"),
        )


# Last, for they name the models above.
from pacewright.desk.models_class import Entry, Exercise, Group, KeptCourse  # noqa: E402
from pacewright.desk.models_page import PagePhoto  # noqa: E402

__all__ = (
    "GUEST",
    "LONGEST_CELL",
    "LONGEST_NAME",
    "OWNER",
    "Edit",
    "Entry",
    "Exercise",
    "Ground",
    "Group",
    "KeptCourse",
    "KeptLog",
    "KeptWalker",
    "LandFeatures",
    "Member",
    "OnceLink",
    "PagePhoto",
    "Setting",
    "WalkerPast",
)
