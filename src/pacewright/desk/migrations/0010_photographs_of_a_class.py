"""Photographs of the cards of a class."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("desk", "0009_page_photographs")]

    operations = [
        migrations.AddField(
            model_name="pagephoto",
            name="exercise",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="photographs",
                to="desk.exercise",
            ),
        )
    ]
