"""Photographs of log pages, with what was read of them."""

import uuid

import django.db.models.deletion
from django.db import migrations, models

from pacewright.desk.clean_fields import CleanCharField, CleanJSONField


class Migration(migrations.Migration):
    dependencies = [("desk", "0008_land_features")]

    operations = [
        migrations.CreateModel(
            name="PagePhoto",
            fields=[
                (
                    "id",
                    models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False),
                ),
                ("batch", models.UUIDField(default=uuid.uuid4)),
                ("number", models.PositiveIntegerField(default=0)),
                ("name", CleanCharField(max_length=80)),
                ("read", CleanJSONField(blank=True, default=dict)),
                ("refused", CleanCharField(blank=True, default="", max_length=300)),
                ("kept_bytes", models.PositiveIntegerField(default=0)),
                ("confirmed_at", models.DateTimeField(null=True)),
                ("made_at", models.DateTimeField(auto_now_add=True)),
                (
                    "log",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="photographs",
                        to="desk.keptlog",
                    ),
                ),
                (
                    "owner",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="photographs",
                        to="desk.member",
                    ),
                ),
            ],
            options={"ordering": ("made_at", "number")},
        )
    ]
