"""What the standing fit expects of each answer; of earlier fits the next refit works it out."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("competency", "0008_voided_before")]

    operations = [
        migrations.CreateModel(
            name="Expected",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("rows", models.BinaryField()),
                ("chances", models.BinaryField()),
                (
                    "fit",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="expected",
                        to="competency.fit",
                    ),
                ),
            ],
        ),
    ]
