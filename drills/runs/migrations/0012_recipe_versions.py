"""Which version of its recipe an assignment was given in: of those there are, the one that is here."""

from django.db import migrations, models


def take_version(apps, schema_editor):
    for row in apps.get_model('runs', 'Assignment').objects.select_related('recipe'):
        row.recipe_version = row.recipe.version
        row.save(update_fields=['recipe_version'])


class Migration(migrations.Migration):

    dependencies = [
        ('runs', '0011_sheets_at_the_rig'),
        ('scenarios', '0016_versions_kept'),
    ]

    operations = [
        migrations.AddField(
            model_name='assignment',
            name='recipe_version',
            field=models.PositiveIntegerField(default=1),
        ),
        migrations.RunPython(take_version, migrations.RunPython.noop),
    ]
