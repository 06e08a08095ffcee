"""What a learner sees of the answers before the hand-in."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("desk", "0004_out_and_back")]

    operations = [
        migrations.AddField("exercise", "shows", models.CharField(max_length=8, default="nothing")),
    ]
