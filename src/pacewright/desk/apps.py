"""The desk as a Django application."""

from __future__ import annotations

from django.apps import AppConfig


class DeskConfig(AppConfig):
    """The desk."""

    name = "pacewright.desk"
    label = "desk"
    verbose_name = "Desk"
