"""Who reported something before hears of it as well; what was answered already is no news."""

from django.db import migrations


def tell_who_reported(apps, schema_editor):
    absences = apps.get_model("rigs", "Absence").objects.exclude(reported_by=None)
    reportings = apps.get_model("rigs", "Reporting").objects
    reportings.bulk_create(
        [
            reportings.model(
                absence_id=each.pk,
                person_id=each.reported_by_id,
                reported_at=each.reported_at,
                seen_at=each.answered_at,
            )
            for each in absences
        ],
        ignore_conflicts=True,
    )


class Migration(migrations.Migration):
    dependencies = [("rigs", "0009_answers_and_differences")]

    operations = [migrations.RunPython(tell_who_reported, migrations.RunPython.noop)]
