"""What was handed in is kept as it stood."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("desk", "0001_the_desk")]

    operations = [
        migrations.AddField("entry", "frozen", models.JSONField(null=True)),
    ]
