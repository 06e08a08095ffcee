"""How each person reads and writes."""

from django.db import migrations

from pacewright.desk.clean_fields import CleanJSONField


class Migration(migrations.Migration):
    dependencies = [("desk", "0006_learnt_from_several")]

    operations = [migrations.AddField("member", "habits", CleanJSONField(default=dict, blank=True))]
