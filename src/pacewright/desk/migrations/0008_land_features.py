"""Lines, points and areas of the land that plans are made over."""

import uuid

import django.db.models.deletion
from django.db import migrations, models

from pacewright.desk.clean_fields import CleanCharField, CleanTextField


class Migration(migrations.Migration):
    dependencies = [("desk", "0007_habits")]

    operations = [
        migrations.CreateModel(
            "LandFeatures",
            [
                (
                    "id",
                    models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False),
                ),
                ("name", CleanCharField(max_length=80)),
                ("geojson", CleanTextField()),
                ("made_at", models.DateTimeField(auto_now_add=True)),
                (
                    "owner",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="features",
                        to="desk.member",
                    ),
                ),
            ],
            options={"ordering": ("name", "made_at")},
        )
    ]
