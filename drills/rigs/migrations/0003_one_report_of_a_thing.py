"""One open report of a thing on a rig, in place of one for each of its places."""

from django.db import migrations, models
from django.db.models.deletion import PROTECT


def join_open_reports(apps, schema_editor):
    """Of open reports of one thing on one rig the first stays and speaks of all its places."""
    absences = apps.get_model("rigs", "Absence").objects.filter(answered_at=None)
    first = {}
    for report in absences.exclude(item=None).order_by("reported_at", "pk"):
        kept = first.setdefault((report.rig_id, report.item_id), report)
        if kept is report:
            continue
        if kept.place_id != report.place_id:
            kept.place = None
            kept.save(update_fields=["place"])
        report.delete()


class Migration(migrations.Migration):
    dependencies = [("rigs", "0002_one_open_report")]

    operations = [
        migrations.AlterField(
            model_name="absence",
            name="place",
            field=models.ForeignKey(
                null=True, on_delete=PROTECT, related_name="absences", to="rigs.place"
            ),
        ),
        migrations.RemoveConstraint(model_name="absence", name="one_open_report_of_a_thing"),
        migrations.RunPython(join_open_reports, migrations.RunPython.noop),
    ]
