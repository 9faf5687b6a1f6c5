"""Which rows were void when a fit began; of earlier fits as the moments of the voids tell."""

from typing import Any

from django.db import migrations, models


def as_the_moments_tell(apps: Any, schema_editor: Any) -> None:
    evidence = apps.get_model("competency", "Evidence").objects.order_by("pk")
    for fit in apps.get_model("competency", "Fit").objects.all():
        void = evidence.filter(pk__lte=fit.through, voided_at__lte=fit.made_at)
        fit.voided = [[number, number] for number in void.values_list("pk", flat=True)]
        fit.save(update_fields=["voided"])


class Migration(migrations.Migration):
    dependencies = [("competency", "0007_whose_refit")]

    operations = [
        migrations.AddField(
            model_name="fit", name="voided", field=models.JSONField(default=list)
        ),
        migrations.RunPython(as_the_moments_tell, migrations.RunPython.noop),
    ]
