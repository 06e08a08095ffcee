"""The desk as a Django application."""

from __future__ import annotations

from django.apps import AppConfig


class DeskConfig(AppConfig):
    """The desk."""

    name = "pacewright.desk"
    label = "desk"
    verbose_name = "Desk"

    def ready(self) -> None:
        """Have the files of a photograph go with its record."""
        from django.db.models.signals import post_delete

        from pacewright.desk.models import PagePhoto
        from pacewright.desk.photographs.keeping import forget_files

        post_delete.connect(forget_files, sender=PagePhoto, dispatch_uid="files of a photograph")
