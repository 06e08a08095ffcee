"""Every change of a log tells who made it."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("desk", "0002_handed_in")]

    operations = [
        migrations.AddField("edit", "who", models.CharField(blank=True, default="", max_length=80)),
    ]
