"""What the desk keeps of photographed pages: the photograph, what was read, where its rows went."""

from __future__ import annotations

import uuid
from typing import Any

from django.db import models

from pacewright.desk.clean_fields import CleanCharField, CleanJSONField

LONGEST_PHOTO_NAME = 80


class PagePhoto(models.Model):
    """A photograph of a log page; it and its page laid flat lie in the data folder under this identity.

    `read` is an object: `photographs.reading` writes and reads it; it is empty until the page was read.
    `refused` is the sentence of a photograph that could not be read. Photographs that were handed in together
    have the same `batch`. `log` is where the rows went, or are to go; `confirmed_at` tells that they went.
    `exercise` is set where each page goes to the learner whose card it shows.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    owner = models.ForeignKey("desk.Member", on_delete=models.CASCADE, related_name="photographs")
    log = models.ForeignKey("desk.KeptLog", on_delete=models.CASCADE, null=True, related_name="photographs")
    exercise = models.ForeignKey(
        "desk.Exercise", on_delete=models.CASCADE, null=True, related_name="photographs"
    )
    batch = models.UUIDField(default=uuid.uuid4)
    number = models.PositiveIntegerField(default=0)
    name = CleanCharField(max_length=LONGEST_PHOTO_NAME)
    read: Any = CleanJSONField(default=dict, blank=True)
    refused = CleanCharField(max_length=300, default="", blank=True)
    kept_bytes = models.PositiveIntegerField(default=0)
    confirmed_at = models.DateTimeField(null=True)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("made_at", "number")
