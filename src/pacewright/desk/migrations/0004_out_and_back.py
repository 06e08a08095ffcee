"""When a learner set out, and when the learner was seen back."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("desk", "0003_who_changed")]

    operations = [
        migrations.AddField("entry", "out_at", models.DateTimeField(null=True)),
        migrations.AddField("entry", "back_at", models.DateTimeField(null=True)),
    ]
