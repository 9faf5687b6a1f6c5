"""The constraints of reports, once the rows keep to them."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("rigs", "0003_one_report_of_a_thing")]

    operations = [
        migrations.AddConstraint(
            model_name="absence",
            constraint=models.UniqueConstraint(
                fields=["rig", "item"],
                condition=models.Q(answered_at=None, item__isnull=False),
                name="one_open_report_of_a_thing",
            ),
        ),
        migrations.AddConstraint(
            model_name="absence",
            constraint=models.CheckConstraint(
                condition=models.Q(item__isnull=False) | models.Q(place__isnull=False),
                name="report_of_a_thing_or_a_place",
            ),
        ),
    ]
