"""The logs that one change of a walker has learnt from, where they are several."""

from django.db import migrations

from pacewright.desk.clean_fields import CleanJSONField


class Migration(migrations.Migration):
    dependencies = [("desk", "0005_answers_shown")]

    operations = [
        migrations.AddField("walkerpast", "learnt_also", CleanJSONField(default=list, blank=True)),
    ]
